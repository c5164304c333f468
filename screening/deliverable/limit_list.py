"""A sheet that lists the laboratory's limit of each analyte, for crosstabs of the same file that state none."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from screening.deliverable.cells import Sheet
from screening.deliverable.grid import LIMIT_FIELDS, cell, is_analyte, is_result, name_and_unit, widest
from screening.deliverable.unfolded import Unfolded, recognise
from screening.vocabulary.names import key

ROWS_SEARCHED = 10


@dataclass(frozen=True)
class LimitList:
    """The limits by the key of the analyte's name, all of one kind (``field``) and unit ('' where none is stated)."""

    sheet: str
    field: str
    unit: str
    limits: dict[str, str]


def limit_list(sheet: Sheet) -> LimitList | None:
    """The list that a sheet holds: names of analytes, one column of limits and nothing else; None for any other sheet."""
    for number, row in enumerate(sheet.rows[:ROWS_SEARCHED], start=1):
        headed = [index for index, text in enumerate(row) if recognise(text).field in LIMIT_FIELDS]
        if not headed:
            continue
        below = [row for row in sheet.rows[number:] if any(row)]
        filled = [index for index in range(widest(below)) if any(cell(row, index) for row in below)]
        if len(headed) != 1 or len(filled) != 2 or headed[0] not in filled:
            return None
        limit_at, name_at = headed[0], next(index for index in filled if index != headed[0])
        names = [cell(row, name_at) for row in below]
        if sum(map(is_analyte, names)) < 2 or not all(is_result(cell(row, limit_at)) for row in below if cell(row, limit_at)):
            return None
        limits = {
            key(name_and_unit(name)[0]): cell(row, limit_at)
            for name, row in zip(names, below, strict=True)
            if name and re.search(r"\d", cell(row, limit_at))
        }
        heading = recognise(row[limit_at])
        return LimitList(sheet.name, str(heading.field), heading.unit or "", limits)
    return None


def give_limits(listed: LimitList, blocks: Iterable[tuple[str, Unfolded]]) -> list[str]:
    """Put the listed limits beside the results of crosstabs (with their sheets' names) that have none; tell where."""
    notes = []
    for sheet, block in blocks:
        if any(texts.get(field) for texts in block.cells for field in LIMIT_FIELDS):
            continue
        given = set()
        for texts in block.cells:
            name = key(texts.get("analyte", ""))
            if limit := listed.limits.get(name):
                given.add(name)
                texts[listed.field] = limit
                if listed.unit:
                    texts[f"{listed.field}_unit"] = listed.unit
        if given:
            notes.append(
                f"sheet '{listed.sheet}' lists the {listed.field.replace('_', ' ')} of {len(given)} analytes: taken for every sample "
                f"of sheet '{sheet}' as it stands"
            )
    return notes
