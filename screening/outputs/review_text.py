"""People's text about a review: summary, findings worst first, a grid of samples and checks, what could not be checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

LONGEST = 60
"""Lines of one list shown in the terminal; the rest is counted and stands in the JSON."""
MARKS = {
    "rejected": "R", "not_detected_at_limit": "U", "open": "?", "biased_low": "-", "biased_high": "+", "estimated": "e", "note": "i",
    "ok": "o", "partly": "p", "not_checked": ".",
}  # fmt: skip
KEY = (
    "R rejected   U not detected at its limit (blank)   ? late, open   - likely too low   + likely too high   e estimated   "
    "i told only   o checked, nothing found   p checked in part   . not checkable"
)


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
    out.print(Text(f"  {document['summary']}"))
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
    _lines(out, "Checked", [f"{_plain(item['check'])}: {item['text']}" for item in document["checked"]])
    _lines(out, "Not checkable", [f"{_plain(item['check'])}: {item['text']}" for item in document["not_checkable"]])
    _lines(out, "Of the edition", edition["notes"])


def show_override(out: Console, made: Mapping[str, Any]) -> None:
    """What a person said of a result, beside what the review said."""
    before = ", ".join(_plain(one) or "no qualifier" for one in made["automatic"])
    out.print(
        Text(
            f"{made['sample_id']} {made['analyte']}: {made['results']} result{'' if made['results'] == 1 else 's'} {_plain(made['qualifier'])} by "
            f"{made['by']}: {made['why']} (automatic: {before})"
        )
    )


def _findings(out: Console, findings: Sequence[Mapping[str, Any]]) -> None:
    """One line for each check, sample and reason, with the analytes that share it and the first observation."""
    groups: dict[tuple[str, ...], list[Mapping[str, Any]]] = {}
    for item in findings:
        key = tuple(str(item[name]) for name in ("state", "check", "sample_id", "reason", "action", "transcription"))
        groups.setdefault(key, []).append(item)
    _head(out, f"Findings: {len(findings)}" if findings else "Findings: none")
    if not groups:
        return
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in ("", "check", "sample", "analytes", "observed against the criterion", "effect", "criterion"):
        table.add_column(column, overflow="fold")
    lines: dict[tuple[str, ...], list[str]] = {}
    for (state, check, sample, _, action, transcription), items in groups.items():
        names = list(dict.fromkeys(item["analyte"] for item in items if item["analyte"]))
        analytes = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
        told = list(dict.fromkeys(f"{item['observed']}; {item['criterion']}" for item in items))
        observed = told[0] + (f" (and {len(told) - 1} more alike)" if len(told) > 1 else "")
        lines.setdefault((state, check, analytes, observed, action, transcription), []).append(sample)
    for (state, check, analytes, observed, action, transcription), samples in list(lines.items())[:LONGEST]:
        named = ", ".join(samples[:4]) + (f" and {len(samples) - 4} more" if len(samples) > 4 else "")
        table.add_row(*(Text(cell) for cell in (MARKS[state], _plain(check), named, analytes, observed, action, transcription)))
    out.print(table)
    if len(lines) > LONGEST:
        out.print(Text(f"... and {len(lines) - LONGEST} more; --json lists all"))


def _grid(out: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    if not rows or not rows[0]["checks"]:
        return
    checks = list(rows[0]["checks"])
    _head(out, "Samples and checks")
    for number, check in enumerate(checks, start=1):
        out.print(Text(f"{number:>2} {_plain(check)}"), end="   " if number % 4 and number < len(checks) else "\n")
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold")
    table.add_column("sample", overflow="fold")
    for number in range(1, len(checks) + 1):
        table.add_column(str(number), justify="right")
    for row in rows[:LONGEST]:
        table.add_row(Text(row["sample_id"]), *(MARKS[row["checks"][check]] for check in checks))
    out.print(table)
    if len(rows) > LONGEST:
        out.print(Text(f"... and {len(rows) - LONGEST} more; --json lists all"))
    out.print(Text(KEY))


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
