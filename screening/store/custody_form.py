"""Custody records as forms: samples down, a column for each analysis, a tick or a number of bottles where it is asked for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from screening.deliverable.sheet_notes import column_letter
from screening.errors import Refused
from screening.vocabulary.analysis_groups import asked_for
from screening.vocabulary.headings import recognise
from screening.vocabulary.spelling import plain
from screening.vocabulary.terms import listed_term

if TYPE_CHECKING:
    from screening.deliverable.cells import Sheet

TICKS = frozenset({"x", "xx", "✓", "✔", "√", "☑", "☒", "✗", "✘", "•", "●", "■", "yes", "y", "asked", "requested", "true"})
NO_TICKS = frozenset({"", "-", "--", "–", "—", "no", "n", "0", "☐", "□", "○", "na", "n/a", "false"})
BOTTLES = re.compile(r"[1-9]\d?(?:\s*(?:x\s*)?\d+\s*ml|\s*(?:bottles?|vials?|jars?|containers?))?", re.IGNORECASE)
BESIDE = re.compile(
    r"bottles?|containers?|number of|no\. of|quantity|preserv\w*|remarks?|comments?|notes?|time|grab|comp(?:osite)?|filtered|"
    r"turn\w*|rush|hold|sampler|initials|temp\w*|ph|field|lab(?:oratory)?|total|#|item|line|matrix|type|cooler|id",
    re.IGNORECASE,
)
"""Words in headings beside the analyses that ask for none (common practice, no source)."""


@dataclass(frozen=True)
class Form:
    """Where the samples begin (rows from 0), the columns of their facts, the columns of analyses and of media ticked."""

    body: int
    facts: Mapping[str, int]
    analyses: Mapping[int, str]
    media: Mapping[int, str]
    unread: tuple[str, ...]


def form_at(sheet: Sheet, at: int, facts: Mapping[str, int]) -> Form | None:
    """The form whose samples' heading stands in a row (from 0); None where no column beside it is an analysis.

    The analyses may stand in the row below, under one heading for all, or in the row above.
    """
    facts = {name: column for name, column in facts.items() if name != "analyses"}
    own = sheet.rows[at]
    rows = [own]
    body = at + 1
    if (
        body < len(sheet.rows)
        and not _cell(sheet.rows[body], facts["sample"])
        and any(map(asked_for, filter(None, sheet.rows[body])))
    ):
        rows.insert(0, sheet.rows[body])
        body += 1
    elif at and not any(map(_asks, filter(None, own))):
        rows.insert(0, sheet.rows[at - 1])
    analyses: dict[int, str] = {}
    media: dict[int, str] = {}
    unread: list[str] = []
    below = [row for row in sheet.rows[body:] if _cell(row, facts["sample"])]
    for column in range(max(map(len, rows))):
        texts = [text for row in rows if (text := _cell(row, column))]
        heading = next((text for text in texts if asked_for(text)), texts[0] if texts else "")
        if not heading or column in facts.values():
            continue
        marks = [plain(_cell(row, column)) for row in below]
        if _asks(heading):
            analyses[column] = heading
        elif (medium := listed_term("medium", heading)) and any(mark in TICKS for mark in marks):
            media[column] = medium
        elif any(mark in TICKS for mark in marks) and not BESIDE.search(heading) and not recognise(heading).field:
            analyses[column] = heading  # ticked under a name in no list: asked for all the same
        else:
            unread.append(heading)
    listed = any(_asks(heading) and any(_cell(row, column) for row in below) for column, heading in analyses.items())
    return Form(body, facts, analyses, media, tuple(unread)) if listed else None


def _asks(heading: str) -> bool:
    return bool(asked_for(heading)) and not recognise(heading).field and not listed_term("medium", heading)


def ticked(path: Path, sheet: Sheet, form: Form) -> list[tuple[int, dict[str, str]]]:
    """Each sample's row number with its facts and the analyses ticked for it, parted by semicolons.

    Raises `Refused` for a mark that is neither a tick nor a number of bottles, for a sample without any, and for
    ticks without a sample.
    """
    place = f"{path}: sheet '{sheet.name}', " if sheet.name else f"{path}: "
    found = []
    for number, row in enumerate(sheet.rows[form.body :], start=form.body + 1):
        sample = _cell(row, form.facts["sample"])
        asked, media = [], []
        for column, heading in form.analyses.items():
            text = _cell(row, column)
            if _is_tick(text):
                asked.append(heading)
            elif sample and plain(text) not in NO_TICKS:
                raise Refused(
                    f"{place}row {number}, column {column_letter(column)} ('{heading}'): '{text}' is neither a tick nor a number "
                    f"of bottles; is {heading} asked for on {sample}? Write x, or leave it blank"
                )
        media = [medium for column, medium in form.media.items() if _is_tick(_cell(row, column))]
        if not sample and not asked:
            continue
        if not sample or not asked:
            missing = "no sample is named" if not sample else f"no analysis is ticked for {sample}"
            raise Refused(f"{place}row {number}: {missing}; complete the line or take it out")
        if len(media) > 1:
            raise Refused(f"{place}row {number}: {sample} is ticked as {' and as '.join(media)}; leave one")
        facts = {name: _cell(row, column) for name, column in form.facts.items()}
        found.append((number, {**facts, **({"medium": media[0]} if media else {}), "analyses": "; ".join(asked)}))
    return found


def _is_tick(text: str) -> bool:
    return plain(text).strip("()[]. ") in TICKS or bool(BOTTLES.fullmatch(text.strip()))


def _cell(row: Sequence[str], at: int) -> str:
    return row[at].strip() if at < len(row) else ""
