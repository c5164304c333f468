"""Crosstabs as rows: where on a sheet they stand, of which kind they are, and what the lines around them say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from screening.deliverable.analytes_down import analytes_down
from screening.deliverable.cells import Sheet
from screening.deliverable.facts import stated
from screening.deliverable.grid import (
    analyte_column,
    cell,
    header_like,
    is_analyte,
    is_result,
    values,
    widest,
)
from screening.deliverable.samples_down import samples_down
from screening.deliverable.unfolded import Unfolded, recognise


def chunks(sheet: Sheet) -> list[tuple[int, int]]:
    """Runs of rows between blank rows: (first, end) counted from 0, end not included."""
    found, start = [], None
    for at, row in enumerate([*sheet.rows, []]):
        if any(row):
            start = at if start is None else start
        elif start is not None:
            found.append((start, at))
            start = None
    return found


def unfold(sheet: Sheet) -> list[Unfolded]:
    """Every crosstab of a sheet; an empty list where there is none."""
    blocks = _blocks(sheet)
    if not blocks:
        return []
    below = [sheet.rows[row] for row in range(blocks[-1][1], len(sheet.rows))]
    done = []
    for number, (first, end, shape) in enumerate(blocks):
        above_from = blocks[number - 1][1] if number else 0
        above = [sheet.rows[row] for row in range(above_from, first)]
        above += [row for row in sheet.rows[first:end] if sum(map(bool, row)) == 1]
        made = analytes_down(sheet, first, end) if shape == "analytes down" else samples_down(sheet, first, end)
        own_units = {texts["unit"] for texts in made.cells if texts.get("unit")}
        facts, notes = stated(above, below, sheet.name, own_units)
        contradiction = facts.pop("contradicted_unit", None)
        for texts in made.cells:
            for name, text in facts.items():
                if not texts.get(name):
                    texts[name] = text
            if contradiction:
                texts["unit"] = contradiction
        made.notes += notes
        for row in range(above_from, first):
            made.ignored.append((row + 1, "a title or note above the table" if any(sheet.rows[row]) else "a blank row", ""))
        if number + 1 == len(blocks):
            for row in range(end, len(sheet.rows)):
                made.ignored.append((row + 1, "a note below the table" if any(sheet.rows[row]) else "a blank row", ""))
        done.append(made)
    return done


def _blocks(sheet: Sheet) -> list[tuple[int, int, str]]:
    """The crosstabs: runs of rows with a header; a run without one that holds results goes on with the last."""
    blocks: list[tuple[int, int, str]] = []
    pending: tuple[int, int] | None = None
    for first, end in _segments(sheet):
        rows = sheet.rows[first:end]
        shape = _shape(rows)
        if shape is not None and _has_header(rows, shape):
            blocks.append((first, end, shape))
            pending = None
        elif shape == "analytes down" and pending is not None and header_like(sheet.rows[slice(*pending)]):
            blocks.append((pending[0], end, shape))
            pending = None
        elif blocks and pending is None and _goes_on(rows):
            blocks[-1] = (blocks[-1][0], end, blocks[-1][2])
        else:
            pending = (first, end) if not blocks or shape is not None or header_like(rows) else None
    return blocks


def _segments(sheet: Sheet) -> list[tuple[int, int]]:
    """The runs of rows, parted once more where another header begins without a blank row before it."""
    parted = []
    for first, end in chunks(sheet):
        header: list[str] = []
        start = first
        for at in range(first, end):
            row = sheet.rows[at]
            label = next((text for text in row[:4] if text), "")
            if recognise(label).field in ("analyte", "sample_id", "location") and sum(map(bool, row)) >= 3 and not values(row, 0):
                if header and [text for text in row if text] != header and at > start + 1:
                    title = at - 1 if sum(map(bool, sheet.rows[at - 1])) == 1 else at
                    if (
                        sum(is_analyte(cell(other, 0)) or any(map(is_result, other[1:])) for other in sheet.rows[start:title])
                        >= 2
                    ):
                        parted.append((start, title))
                        start = title
                header = [text for text in row if text]
        parted.append((start, end))
    return parted


def _goes_on(rows: Sequence[list[str]]) -> bool:
    """Rows of results below a blank row, with the columns of the table above it."""
    full = [row for row in rows if sum(map(bool, row)) > 1]
    labelled = [bool(recognise(next(filter(None, row)).rstrip(":")).field) for row in full]
    results = [any(row[:4]) and any(map(is_result, row[1:])) for row in full]
    return any(results) and all(one or two for one, two in zip(labelled, results, strict=True))


def _shape(rows: Sequence[list[str]]) -> str | None:
    down = max((sum(is_analyte(cell(row, at)) for row in rows) for at in range(min(4, widest(rows)))), default=0)
    across = max((sum(is_analyte(text) for text in row) for row in rows), default=0)
    if max(down, across) < 2:
        return None
    return "analytes down" if down >= across else "samples down"


def _has_header(rows: Sequence[list[str]], shape: str) -> bool:
    if shape == "samples down":
        return True
    at = analyte_column(rows)
    first = next(number for number, row in enumerate(rows) if is_analyte(cell(row, at)))
    return any(header_like([row]) for row in rows[:first])


def refusals(made: list[Unfolded]) -> Iterator[str]:
    """The questions that stop a file."""
    for block in made:
        if block.question:
            yield block.question
