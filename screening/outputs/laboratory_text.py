"""People's text about the laboratory's arithmetic made again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text


def show_limits(out: Console, document: Mapping[str, Any]) -> None:
    """Detection limits, one line an analyte, with what of the procedure was not kept."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    beside = any(one.get("delivered") for one in document["limits"] if one["limit"])
    headings = (
        "analyte",
        "method",
        "detection limit",
        "unit",
        "95 % bounds",
        "n",
        "mean",
        "sd",
        "t",
        "from",
        *(["delivered"] if beside else []),
    )
    for column in headings:
        table.add_column(column, overflow="fold")
    made = [one for one in document["limits"] if one["limit"] is not None]
    for one in made:
        bounds = f"{one['low']} to {one['high']}" if one["low"] else ""
        given = one.get("delivered")
        cells = [one["analyte"], one["method"], one["limit"], one["unit"], bounds, str(one["n"]), one["mean"], one["sd"], one["t"],
                 f"{one['from']}, {one['source']}"]  # fmt: skip
        if beside:
            cells.append(
                "" if not given else given["low"] if given["low"] == given["high"] else f"{given['low']} to {given['high']}"
            )
        table.add_row(*(Text(cell or "") for cell in cells))
    if made:
        out.print(table)
    else:
        out.print(Text("No detection limit could be made.", style="bold"))
    notes: dict[str, dict[str, None]] = {}
    for one in document["limits"]:
        for note in filter(None, one["note"].split("; ")):
            notes.setdefault(note, {})[one["analyte"]] = None
    for note, analytes in notes.items():
        named = list(analytes)
        out.print(Text(f"- {note} ({', '.join(named[:8])}{f' and {len(named) - 8} more' if len(named) > 8 else ''})"))
    for note in document["notes"]:
        out.print(Text(f"- {note}"))
    for citation in dict.fromkeys(one["citation"] for one in document["limits"]):
        out.print(Text(f"Procedure: {citation}"))


def show_sample_limit(out: Console, document: Mapping[str, Any]) -> None:
    """The limit of one sample with its formula."""
    out.print(Text(document["text"], style="bold"))
    out.print(
        Padding(Text(f"{document['method_limit']} x {document['factor']}: {document['formula']}"), (0, 0, 0, 2), expand=False)
    )
    out.print(Padding(Text(document["citation"]), (0, 0, 0, 2), expand=False))


def show_methanol(out: Console, document: Mapping[str, Any]) -> None:
    """The extract with the soil's water, and results with and without it."""
    out.print(
        Text(
            f"{document['extract_ml']} mL of extract, {document['water_ml']} mL of them the water of the soil; {document['dry_g']} g of dry "
            f"soil; results that leave the water out are multiplied by {document['factor']}"
        )
    )
    if document["corrected"]:
        out.print(Text(f"{document['result']} becomes {document['corrected']}", style="bold"))
    if document["ug_per_kg_dry"]:
        out.print(
            Text(f"{document['ug_per_kg_dry']} ug/kg dry ({document['without_water']} with the water left out)", style="bold")
        )
    out.print(Padding(Text(document["citation"]), (0, 0, 0, 2), expand=False))
