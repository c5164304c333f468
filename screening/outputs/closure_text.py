"""People's text about coverage, deadlines and papers, with the cautions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

APPLIES = {True: "yes", False: "no", None: "open"}
STATUS_STYLE = {"overdue": "bold red", "running": "bold", "met": "green"}


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for name in columns:
        table.add_column(name, overflow="fold")
    return table


def _cited(one: Mapping[str, Any]) -> str:
    """Where it stands, and how it was read; once where both are common practice."""
    return str(one["citation"]) if one["citation"] == one["transcription"] else f"{one['citation']} [{one['transcription']}]"


def _lines(out: Console, title: str, lines: Sequence[str]) -> None:
    if lines:
        out.print(Text(f"\n{title}", style="bold"))
        for line in lines:
            out.print(Text(f"  {line}"))


def show_coverage(out: Console, found: Mapping[str, Any]) -> None:
    """Required, taken, missing; faults; analytes; gaps with the acts that close them."""
    for tank, method in found["closure_methods"].items():
        out.print(Text(f"{tank}: {method}"))
    table = _table("component", "what", "required", "taken", "missing", "rule", "citation")
    for one in found["requirements"]:
        offered = "" if one["decides"] else " (offered, not asked)"
        known = one["required"] is not None
        table.add_row(
            Text(one["component"]), Text(one["what"]), Text(str(one["required"]) if known else "unknown"), Text(str(one["taken"])),
            Text(str(one["missing"]) if known else "unknown", style="bold" if one["missing"] and one["decides"] else ""),
            Text(one["rule"] + offered + (f"; {one['waived']}" if one["waived"] else "")), Text(_cited(one)),
        )  # fmt: skip
    if found["requirements"]:
        out.print(table)
    missing = [
        f"{one['sample']}: {one['analyte']} ({one['medium']}, {one['product'].replace('_', ' ')}): {one['because']}; {one['citation']}"
        + ("" if one["decides"] else " - offered, not asked") + (f" - {one['waived']}" if one["waived"] else "")
        for one in found["analytes_missing"]
    ]  # fmt: skip
    _lines(out, "Analytes missing", missing)
    _lines(out, "Gaps", [gap["text"] for gap in found["gaps"]])
    _lines(out, "What closes them", list(dict.fromkeys(gap["action"] for gap in found["gaps"])))
    _lines(out, "Signs", [seen["text"] for seen in found["signs"]])
    _lines(out, "Taken as so", found["assumptions"])
    _lines(out, "Notes", found["notes"])
    out.print(Text("\nComplete by the rules taken." if found["complete"] else "\nNot complete.", style="bold"))
    from screening.closure.safety import SITE_CAUTION  # imported here: the rules of closure take their time

    out.print(Text(f"\n{SITE_CAUTION}", style="italic"))


def show_deadlines(out: Console, found: Mapping[str, Any]) -> None:
    """Every clock, those that do not apply last."""
    of = f"run {found['run']}: {found['verdict'].replace('_', ' ')}" if found["run"] else "no run yet"
    out.print(Text(f"{found['site']}, seen from {found['today']}; {of}", style="bold"))
    table = _table("due", "status", "applies", "what", "counted from", "rule", "note")
    for one in found["deadlines"]:
        status = one["status"].replace("_", " ")
        style = STATUS_STYLE.get(one["status"], "") if one["applies"] is not False else "dim"
        table.add_row(
            Text(one["due"] or "-"), Text(status, style=style), Text(APPLIES[one["applies"]]),
            Text(one["what"] + (f" (to: {one['to']})" if one["to"] else "")),
            Text(f"{one['span']} {one['counted_from']}".strip()), Text(_cited(one)),
            Text("; ".join(part for part in (one["because"] if one["because"] != "always" else "", one["note"]) if part)),
        )  # fmt: skip
    out.print(table)
    _lines(out, "Notes", found["notes"])
    for path in found.get("files", ()):
        out.print(Text(f"written: {path}"), soft_wrap=True)
    out.print(Text(f"\n{found['caution']}", style="italic"))


def show_papers(out: Console, found: Mapping[str, Any]) -> None:
    """Held and missing, checks, accounts, atmosphere readings with the caution beside them."""
    table = _table("", "document", "item", "papers", "rule")
    for one in found["papers"]:
        if one["applies"] is False:
            continue
        mark = "held" if one["held"] else "missing" if one["applies"] else "open"
        table.add_row(
            Text(mark, style="bold" if mark == "missing" else ""), Text(one["document"]), Text(one["item"]),
            Text("; ".join(one["papers"])), Text(_cited(one)),
        )  # fmt: skip
    out.print(table)
    word = {True: "yes", False: "NO", None: "not shown"}
    _lines(out, "Checks", [f"{word[one['passes']]}: {one['text']}" for one in found["checks"]])
    _lines(out, "Quantities", [f"{one['status']}: {one['text']}" for one in found["balances"]])
    _lines(out, "Atmosphere readings", [
        " ".join(part for part in (one["at"], one["tank"], one["position"], "before", one["before"] + ":", one["text"], f"({_cited(one)})") if part)
        for one in found["atmosphere"]
    ])  # fmt: skip
    _lines(
        out,
        "Published limits and duties",
        [f"{row['topic']}: {row['rule']} ({_cited(row)})" for row in found["safety_rules"]],
    )
    _lines(out, "Notes", found["notes"])
    out.print(Text("\nEvery paper asked for is held." if found["complete"] else "\nNot complete.", style="bold"))
    out.print(Text(f"\n{found['caution']}", style="italic"))


def show_actions(out: Console, advice: Mapping[str, Any]) -> None:
    """How the tanks are closed, and the smallest set of acts after which nothing is open."""
    methods = advice.get("closure_methods", {})
    if any(method != "removed" for method in methods.values()):
        _lines(out, "Method of closure", [f"{tank}: {method}" for tank, method in methods.items()])
    _lines(out, "What would close what is open", advice.get("actions", ()))
