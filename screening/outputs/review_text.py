"""People's text about a review: summary, findings worst first, a grid of samples and checks, what could not be checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.columns import Columns
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from screening.decision.review_words import CHECKS, SEEN, joined
from screening.quality.shown import counted

LONGEST = 60
"""Lines of one list shown in the terminal; the rest is counted and stands in the JSON."""
OF_A_KIND = 6
"""Observations shown of findings of one kind."""
MARKS = {
    "rejected": "R", "not_detected_at_limit": "U", "open": "?", "biased_low": "-", "biased_high": "+", "estimated": "e", "note": "i",
    "ok": "o", "partly": "p", "not_checked": ".",
}  # fmt: skip
"""The states of the grid, the worst first, and the mark of each."""
STATES = {
    "rejected": "rejected", "not_detected_at_limit": "not detected at its limit (blank)", "open": "late, open",
    "biased_low": "likely too low", "biased_high": "likely too high", "estimated": "estimated", "note": "told only",
    "ok": "checked, nothing found", "partly": "checked in part", "not_checked": "not checkable",
}  # fmt: skip


def show_review(out: Console, document: Mapping[str, Any]) -> None:
    """The whole review."""
    edition = document["edition"]
    out.print()
    name = (
        f"edition {edition['edition']}, version {edition['version']}"
        if edition["edition"]
        else "no edition: nothing was reviewed"
    )
    out.print(Text(f"Quality review of site {document['site']}, {name}", style="bold"))
    out.print(Padding(Text(document["summary"]), (0, 0, 0, 2), expand=False))
    _findings(out, document["findings"])
    _grid(out, document["grid"])
    _lines(
        out, "Overrides",
        [f"{item['sample_id']} {item['analyte']}: {_plain(item['qualifier'])} by {item['by']}: {item['why']} (automatic: {_plain(item['automatic']) or 'no qualifier'})"
         for item in document["overrides"]],
    )  # fmt: skip
    _lines(
        out, f"Chosen results: {document['chosen_rule']['text']}. Switching the rule would change these",
        [f"{item['sample_id']} {item['analyte']}: {item['chosen']} -> {item['under_other_rule']} {item['unit']}"
         for item in document["chosen_rule"]["switching_would_change"]],
    )  # fmt: skip
    _checked(out, document["checked"])
    _lines(out, "Not checkable", [f"{CHECKS[item['check']]}: {item['text']}" for item in document["not_checkable"]])
    _lines(out, "Of the edition", edition["notes"])


def show_override(out: Console, made: Mapping[str, Any]) -> None:
    """What a person said of a result, beside what the review said."""
    before = ", ".join(_plain(one) or "no qualifier" for one in made["automatic"])
    out.print(
        Text(
            f"{made['sample_id']} {made['analyte']}: {counted(made['results'], 'result')} {_plain(made['qualifier'])} by "
            f"{made['by']}: {made['why']} (automatic: {before})"
        )
    )


def show_criteria(out: Console, document: Mapping[str, Any]) -> None:
    """Every criterion of an edition with how it was seen and where it stands."""
    out.print(Text(f"{document['title']}, edition {document['edition']}, version {document['version']}", style="bold"))
    out.print(Text(f"{document['citation']}; {document['status']}"))
    for file in dict.fromkeys(item["file"] for item in document["criteria"]):
        _head(out, _plain(file))
        table = _table("criterion", "seen", "citation")
        for item in document["criteria"]:
            if item["file"] == file:
                said = ", ".join(f"{_plain(key)} {_plain(value)}" for key, value in item["cells"].items() if value)
                table.add_row(Text(said), SEEN[item["transcription"]], Text(item["citation"]))
        out.print(table)


def _findings(out: Console, findings: Sequence[Mapping[str, Any]]) -> None:
    """One block for all findings of a kind: what they are held against, their effect, and what was observed where."""
    _head(out, f"Findings: {len(findings)}" if findings else "Findings: none")
    kinds: dict[tuple[str, ...], list[Mapping[str, Any]]] = {}
    for item in findings:
        key = ("state", "check", "reason", "action", "citation", "transcription")
        told = str(item["action"]) if item["qualifier"] else "told only"
        kinds.setdefault(tuple(told if name == "action" else str(item[name]) for name in key), []).append(item)
    judged = {(check, reason) for state, check, reason, *_ in kinds if state != "note"}
    repeated = [key for key in kinds if key[0] == "note" and (key[1], key[2]) in judged]
    own = sum(len(kinds.pop(key)) for key in repeated)
    for (state, check, _, action, citation, transcription), items in list(kinds.items())[:LONGEST]:
        criteria = list(dict.fromkeys(item["criterion"] for item in items))
        samples = {sample for item in items for sample in item["sample_id"].split(", ")}
        of = f", {counted(len(samples), 'sample')}" if samples != {""} else ""
        out.print(Text(f"{MARKS[state]} {CHECKS[check]}: {STATES[state]} ({counted(len(items), 'finding')}{of})", style="bold"))
        if action not in ("told only", *STATES.values()):
            out.print(Padding(Text(f"effect: {action}"), (0, 0, 0, 4), expand=False))
        out.print(
            Padding(
                Text(f"criterion ({SEEN[transcription]}): {f'{criteria[0]}; ' if len(criteria) == 1 else ''}{citation}"),
                (0, 0, 0, 4),
            )
        )
        out.print(Padding(_observed(items, with_criterion=len(criteria) > 1), (0, 0, 0, 4), expand=False))
    if len(kinds) > LONGEST:
        out.print(Text(f"... and {len(kinds) - LONGEST} more kinds of findings; --json lists all"))
    if own:
        out.print(Text(f"{counted(own, 'finding')} on the quality-control rows behind these marks: --json lists them"))


def _observed(items: Sequence[Mapping[str, Any]], *, with_criterion: bool) -> Table:
    """What was observed, each observation once with the analytes and samples that share it."""
    analytes: dict[tuple[str, str], dict[str, None]] = {}
    for item in items:
        told = f"{item['observed']} ({item['criterion']})" if with_criterion else str(item["observed"])
        told += f"; {item['action']}" if not item["qualifier"] else ""
        analytes.setdefault((item["sample_id"], told), {})[item["analyte"]] = None
    shared: dict[tuple[str, str], dict[str, None]] = {}
    for (sample, told), names in analytes.items():
        shared.setdefault((told, _few(list(names), 3)), {})[sample] = None
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    for ratio in (2, 2, 5):
        table.add_column(overflow="fold", ratio=ratio)
    for (told, few), samples in list(shared.items())[:OF_A_KIND]:
        table.add_row(Text(_few(list(samples), 4)), Text(few), Text(told))
    if len(shared) > OF_A_KIND:
        table.add_row(Text(f"... and {len(shared) - OF_A_KIND} more"))
    return table


def _few(names: Sequence[str], most: int) -> str:
    named = [name for name in names if name]
    return f"{', '.join(named[:most])} and {len(named) - most} more" if len(named) > most else joined(named)


def _grid(out: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    """Samples, the worst first, against the checks that reached any of them."""
    if not rows or not rows[0]["checks"]:
        return
    worth = list(MARKS)
    checks = [check for check in rows[0]["checks"] if any(row["checks"][check] != "not_checked" for row in rows)]
    bare = [CHECKS[check] for check in rows[0]["checks"] if check not in checks]
    _head(out, "Samples and checks")
    out.print(
        Columns(
            [Text(f"{number:>2} {CHECKS[check]}") for number, check in enumerate(checks, start=1)], equal=True, padding=(0, 2)
        )
    )
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold")
    table.add_column("sample", overflow="fold")
    for number in range(1, len(checks) + 1):
        table.add_column(str(number), justify="right")
    ordered = sorted(rows, key=lambda row: (sorted(worth.index(state) for state in row["checks"].values()), row["sample_id"]))
    for row in ordered[:LONGEST]:
        table.add_row(Text(row["sample_id"]), *(MARKS[row["checks"][check]] for check in checks))
    out.print(table)
    if len(rows) > LONGEST:
        out.print(Text(f"... and {len(rows) - LONGEST} more; --json lists all"))
    out.print(Columns([Text(f"{mark} {STATES[state]}") for state, mark in MARKS.items()], padding=(0, 3)))
    if bare:
        out.print(Text(f"Not checkable for any sample: {joined(bare)}"))


def _checked(out: Console, items: Sequence[Mapping[str, Any]]) -> None:
    if not items:
        return
    _head(out, "Checked")
    table = _table("check", "looked at", "samples", "criteria seen")
    for item in items:
        reached = f"{item['samples']} of {item['of']}" + (f", {item['in_part']} in part" if item["in_part"] else "")
        seen = ", ".join(f"{count} {SEEN[name]}" for name, count in item["criteria"].items()) or "common practice"
        table.add_row(Text(CHECKS[item["check"]]), Text(item["text"]), reached, seen)
    out.print(table)


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _head(out: Console, text: str) -> None:
    out.print()
    out.print(Text(text, style="bold underline"))


def _lines(out: Console, title: str, lines: Sequence[str]) -> None:
    if not lines:
        return
    _head(out, title)
    for line in lines[:LONGEST]:
        out.print(Text(f"- {line}"))
    if len(lines) > LONGEST:
        out.print(Text(f"... and {len(lines) - LONGEST} more; --json lists all"))
