"""People's text about custody records, revisions and accepted rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

LONGEST = 50
"""Lines of one list shown in the terminal; the rest is counted and stands in the JSON."""


def show_custody(out: Console, record: Mapping[str, Any]) -> None:
    """What was taken over from a custody record."""
    out.print(
        Text(
            f"{record['file']}: {record['status'].replace('_', ' ')} as {record['id']}; {record['samples']} samples, "
            f"{record['sample_analyses']} sample-analyses asked for"
        )
    )
    if record["unlisted"]:
        out.print(Text(f"  in no list, met only by a method delivered under that name: {', '.join(record['unlisted'])}"))


def show_match(out: Console, match: Mapping[str, Any]) -> None:
    """Asked, delivered, waiting, missing, unasked; then what to run after."""
    counts = match["counts"]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in counts:
        table.add_column(name, justify="right")
    table.add_row(*(str(count) for count in counts.values()))
    out.print(table)
    _lines(out, "Never delivered", [f"{item['sample']} (on {item['on']})" for item in match["never_delivered"]])
    for name, title in (
        ("missing", "Missing: asked for and not delivered"),
        ("waiting", "Waiting for a person: screening held list"),
        ("unasked", "Unasked: delivered and not asked for"),
    ):
        _lines(out, title, [f"{item['sample']}: {item['analysis']}" for item in match[name]])
    _lines(out, "On neither custody record nor plan", match["on_neither"])
    _lines(
        out, "Names that may be one", [f"{item['delivered']} may be {item['proposed']}" for item in match["near_names"]]
    )  # fmt: skip


def show_revisions(out: Console, documents: Sequence[Mapping[str, Any]]) -> None:
    """What each revision changed in the deliverable it replaces."""
    for document in documents:
        changes = document.get("changes")
        if changes is None:
            continue
        counts = ", ".join(f"{changes[name]} {name}" for name in ("added", "removed", "same"))
        waiting = f"; {changes['waiting']} rows of it wait and are not compared" if changes["waiting"] else ""
        out.print(Text(f"  replaces {document['replaces']}: {len(changes['changed'])} changed, {counts}{waiting}"))
        _lines(out, "", [_change(item) for item in changes["changed"]])


def _change(item: Mapping[str, Any]) -> str:
    before, after = (" ".join(filter(None, item[side].values())) for side in ("before", "after"))
    return f"{item['sample_id']} {item['analyte']}: {before} -> {after}"


def show_accepted(out: Console, document: Mapping[str, Any], by_whom: str, why: str) -> None:
    """What an acceptance did and what is left to do after it."""
    out.print(Text(f"{', '.join(item['id'] for item in document['held'])} accepted by {by_whom}: {why}"))
    _lines(
        out, "A further question about the row",
        [f"{item['id']} row {item['row']}: {item['reason']}" for item in document["further"]],
    )  # fmt: skip
    _lines(out, "Alike, and not settled by this text", document["unsettled"])
    _lines(out, "Waiting with the same text, would be read the same way", document["also_waiting"])
    _lines(
        out, "Settled before with the same text, stays as it is",
        [f"{item['file']} row {item['row']} {item['sample_id']}: {item['now']}" for item in document["read_otherwise"]],
    )  # fmt: skip


def _lines(out: Console, title: str, lines: Sequence[str]) -> None:
    if not lines:
        return
    if title:
        out.print(Text(title, style="bold"))
    for line in lines[:LONGEST]:
        out.print(Text(f"  - {line}"))
    if len(lines) > LONGEST:
        out.print(Text(f"  ... and {len(lines) - LONGEST} more; --json lists all"))
