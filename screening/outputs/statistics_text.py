"""People's text about statistics: the answer sample by sample first, then what the rule allows, then the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from screening.decision.statistics import NOT_ALLOWED, NOT_MADE, TREND
from screening.decision.words import STATUS_WORDS

ANSWERS = {True: "met", False: "NOT met", None: "open"}


def show_statistics(out: Console, document: Mapping[str, Any]) -> None:
    """Everything of the document, the caution last; what a table does not allow stands under its own heading."""
    out.print()
    out.print(Text(f"{document['analyte']} at {document['site_name']} (site {document['site']}), beside run {document['run']}"))
    out.print(Text(f"Sample by sample, all analytes: {STATUS_WORDS[document['status']]}", style="bold"))
    for group in document["groups"]:
        _group(out, group, document["tests"])
    if document["trends"]:
        _head(out, "Trends, held against no level")
        for trend in document["trends"]:
            out.print(Text(f"  - {_trend(trend)}"))
    if document["backgrounds"]:
        _head(out, "Background by the table's rule")
        for one in document["backgrounds"]:
            made = f"{one['value']} {one['unit']}, the lower of the percentile {one['percentile']} and {one['times_median']} ({one['distribution']} values)"
            note = "; ".join(filter(None, [made if one["value"] else "", one["note"], one["citation"]]))
            out.print(Text(f"  - {one['kind']}, {one['n']} samples: {note}"))
    _head(out, "Caution")
    out.print(Text(f"{document['caution']} Random draws begin at seed {document['seed']}."))


def _group(out: Console, group: Mapping[str, Any], tests: Sequence[Mapping[str, Any]]) -> None:
    place = f" at {group['location']}" if group["location"] else ""
    _head(out, f"{group['medium'].replace('_', ' ')}{place}: {group['table']} version {group['version']}, level {group['level']}")
    counts = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in group["sample_by_sample"].items())
    out.print(Text(f"  {group['n']} samples, {group['detected']} detected; sample by sample: {counts}"))
    for note in group["notes"]:
        out.print(Text(f"  {note}"))
    for one in group["distributions"]:
        out.print(Text(f"  {one['told']}"))
    for one in group["estimates"]:
        told = f"{one['middle']}{' (spread ' + one['spread'] + ')' if one['spread'] else ''} {group['unit']}"
        out.print(Text(f"  {one['method']}: {told if one['middle'] is not None else one['why']}"))
    if group["median"]:
        out.print(Text(f"  {group['median']}"))
    flagged = ", ".join(group["outliers"]) or "none"
    out.print(Text(f"  outliers flagged, none removed: {flagged} ({group['outlier_test']})"))
    mine = [
        one
        for one in tests
        if one["name"] != TREND
        and all(one[key] == group[key] for key in ("table", "version", "medium", "fraction", "location", "level"))
    ]
    _tests(out, "Allowed by the table's rule, beside the answer above", [one for one in mine if one["allowed"]])
    _tests(out, "Not allowed by this table, shown for information only", [one for one in mine if not one["allowed"]])


def _tests(out: Console, title: str, tests: Sequence[Mapping[str, Any]]) -> None:
    """The tests that were made as a table; those that were not in one line a reason."""
    if not tests:
        return
    out.print(Text(f"  {title}", style="bold"))
    made = [one for one in tests if NOT_MADE not in one["note"]]
    if made:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        for column in ("test", "estimate", "limit", "answer", "note"):
            table.add_column(column, justify="right" if column in ("estimate", "limit") else "left", overflow="fold")
        for one in made:
            table.add_row(*(Text(cell) for cell in _cells(one)))
        out.print(table)
    reasons: dict[str, list[str]] = {}
    for one in tests:
        if NOT_MADE in one["note"]:
            reasons.setdefault(one["note"].split(NOT_MADE, 1)[1], []).append(one["name"].replace("_", " "))
    for reason, names in reasons.items():
        out.print(Text(f"  {NOT_MADE}{', '.join(names)}: {reason}"))


def _cells(one: Mapping[str, Any]) -> tuple[str, ...]:
    parts = "; ".join(f"{part['name'].replace('_', ' ')} {ANSWERS[part['met']]}: {part['told']}" for part in one["parts"])
    note = "; ".join(filter(None, [parts, one["note"].removeprefix(NOT_ALLOWED).removeprefix("; "), one["citation"]]))
    answer = ANSWERS[one["holds"]] if one["holds"] is not None or one["parts"] else ""
    return one["name"].replace("_", " "), one["estimate"] or "", one["limit"] or "", answer, note


def _trend(trend: Mapping[str, Any]) -> str:
    slope = (
        f", slope {trend['slope_a_year']} ({trend['slope_low']} to {trend['slope_high']}) {trend['unit']} a year"
        if trend["slope_a_year"] is not None else ""
    )  # fmt: skip
    test = f"S {trend['s']}, one-sided p {trend['p_one_sided']}" if trend["s"] is not None else "no test"
    note = f"; {trend['note']}" if trend["note"] else ""
    return f"{trend['location']}, {trend['rounds']} rounds from {trend['first']} to {trend['last']}: {trend['direction']} ({test}){slope}{note}"


def _head(out: Console, text: str) -> None:
    out.print()
    out.print(Text(text, style="bold underline"))
