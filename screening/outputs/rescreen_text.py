"""People's text about a rescreen: what flips, worst first; levels that moved; the portfolio; what could not be answered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from screening.decision.flips import KINDS
from screening.decision.words import place_text
from screening.outputs.change_words import factor_text, levels_text, result_text
from screening.outputs.lines import LONGEST, bullets, head, rest, row, table
from screening.outputs.rescreen_words import headline, moves, not_answered, stale_sites, summary, warnings, why_group

PORTFOLIO = 40
"""Rows of the portfolio shown in the terminal."""


def show_rescreen(out: Console, document: Mapping[str, Any]) -> None:
    """The whole document, the caution last."""
    out.print()
    out.print(Text(headline(document), style="bold reverse" if document["flips"] else "bold"))
    for line in summary(document):
        out.print(Text(f"  {line}"))
    for kind, changes in document["flips"].items():
        _flips(out, kind, changes)
    _moved(out, moves(document))
    _portfolio(out, document["portfolio"])
    bullets(out, "Not answered", not_answered(document))
    bullets(out, "Answered on data or facts since revised", stale_sites(document))
    bullets(out, "Warnings", warnings(document))
    head(out, "Caution")
    out.print(Text(document["caution"]))
    for file in document.get("files", ()):
        out.print(Text(f"written: {file}"))


def _flips(out: Console, kind: str, changes: Sequence[Mapping[str, Any]]) -> None:
    head(out, f"{KINDS[kind].capitalize()}: {len(changes)}")
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for change in changes[:LONGEST]:
        groups.setdefault(why_group(change), []).append(change)
    for group, found in groups.items():
        out.print(Text(group))
        made = table("site", "location", "analyte", "result", "x level", "level", "move", right=("result", "x level"))
        for change in found:
            row(
                made, change["site"], place_text({**change, "depth_unit": ""}), change["analyte"], result_text(change),
                (change["after"] or {}).get("ratio"), levels_text(change), factor_text(change), unbroken=12,
            )  # fmt: skip
        out.print(made)
    rest(out, changes)


def _read(mark: str) -> str:
    return f"levels {mark}" if mark else ""


def _moved(out: Console, found: Sequence[Mapping[str, Any]]) -> None:
    if not found:
        return
    head(out, f"Levels that moved: {len(found)}")
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for one in found[:LONGEST]:
        versions = one["before"] if one["before"] == one["after"] else f"{one['before']} to {one['after']}"
        groups.setdefault(
            "; ".join(part for part in (f"{one['table']}, {versions}", _read(one["transcription"])) if part), []
        ).append(one)
    for group, members in groups.items():
        out.print(Text(group))
        made = table("analyte", "medium", "level", "sites", "flips", "move", right=("sites", "flips"))
        for one in members:
            row(
                made, one["analyte"], one["medium"].replace("_", " "), one["levels"], one["sites"], one["flips"], factor_text(one),
                unbroken=20,
            )  # fmt: skip
        out.print(made)
    rest(out, found)


def _portfolio(out: Console, found: Mapping[str, Any]) -> None:
    if not found["rows"]:
        return
    head(out, "Portfolio by version")
    made = table(
        "table",
        "version",
        "side",
        "sites",
        "exceeding",
        "open",
        "E",
        "?",
        "n",
        "pass",
        right=("sites", "exceeding", "open", "E", "?", "n", "pass"),
    )
    for one in found["versions"]:
        row(
            made, one["table"], one["version"], one["side"], one["sites"], one["sites_exceeding"], one["sites_open"], one["exceeds"],
            one["open"], one["no_level"], one["does_not_exceed"],
        )  # fmt: skip
    out.print(made)
    head(out, f"Portfolio by site: {len({one['site'] for one in found['rows']})} sites (E exceeds, ? open, n no level)")
    made = table("site", "table", "before", "E", "?", "n", "after", "E", "?", "n", "flips", right=("E", "?", "n", "flips"))
    shown = sorted(found["rows"], key=lambda one: (-one["flips"], one["site"], one["table"]))[:PORTFOLIO]
    for one in shown:
        row(made, one["site"], one["table"], *_cell(one["before"]), *_cell(one["after"]), one["flips"])
    out.print(made)
    if len(found["rows"]) > PORTFOLIO:
        out.print(Text(f"... and {len(found['rows']) - PORTFOLIO} more; --json and --to list all"))


def _cell(side: Mapping[str, Any] | None) -> tuple[Any, ...]:
    return ("not used", "", "", "") if side is None else (side["version"], side["exceeds"], side["open"], side["no_level"])
