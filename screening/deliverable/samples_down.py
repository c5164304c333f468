"""Crosstabs with samples down and analytes across, each analyte with its flags and limits beside it."""

from __future__ import annotations

from collections.abc import Sequence

from screening.deliverable.cells import Sheet
from screening.deliverable.grid import (
    LIMIT_FIELDS,
    STATISTIC,
    cell,
    is_analyte,
    is_flag,
    is_level_heading,
    is_result,
    is_unit,
    name_and_unit,
    widest,
)
from screening.deliverable.unfolded import ATTRIBUTES, Unfolded, belongs_to, recognise, unit_behind
from screening.vocabulary.terms import listed_term


def samples_down(sheet: Sheet, first: int, end: int) -> Unfolded:
    rows = sheet.rows[first:end]
    made = Unfolded("samples down")
    top = max(range(len(rows)), key=lambda number: (sum(map(is_analyte, rows[number])), -number))
    width = widest(rows)
    body_from = next((number for number in range(top + 1, len(rows)) if _is_sample_row(rows[number], rows[top])), len(rows))
    head = rows[:body_from]
    named = rows[top]
    below = [row for row in rows[body_from:] if any(row)]
    roles: dict[int, tuple[str, int]] = {}
    last = -1
    for index in range(width):
        role = _column_role(index, head, named, below, last)
        if role == "analyte":
            last = index
        roles[index] = (role, last if role in ("analyte", "qualifiers", *LIMIT_FIELDS) else -1)
    sample_at = next((index for index, (role, _) in roles.items() if role == "sample_id"), None)
    if sample_at is None:
        sample_at = next((index for index, (role, _) in roles.items() if role in ("location", "lab_sample_id")), 0)
    units = _units_row(head, roles)
    limit_units = _limit_units(head, roles, named)
    media_at = _media_column(roles, below)
    _tell_columns(made, roles, named, first, sample_at)
    carried = ""
    for number, row in enumerate(rows[body_from:], start=first + body_from + 1):
        name = cell(row, sample_at)
        if not any(row):
            made.ignored.append((number, "a blank row", ""))
            continue
        if name and (STATISTIC.match(name) or is_level_heading(name)):
            made.ignored.append((number, "a statistic or level, no sample", name))
            continue
        values = [cell(row, index) for index, (role, _) in roles.items() if role == "analyte" and cell(row, index)]
        if sum(map(is_analyte, row)) > 1 or not any(map(is_result, values)):
            made.ignored.append((number, "a header, note or section title", " | ".join(filter(None, row))[:200]))
            continue
        if not name and carried:
            name = carried
            made.notes.append(f"row {number}: no sample is named, the one above ('{name}') stands for it")
        carried = name
        texts = {"sample_id": name}
        if media_at is not None and cell(row, media_at):
            texts["medium"] = cell(row, media_at)
        for index, (role, _) in roles.items():
            if role in ATTRIBUTES and index not in (sample_at, media_at) and cell(row, index):
                texts[role] = cell(row, index)
                unit = recognise(named[index] if index < len(named) else "").unit
                if role.startswith("depth") and unit:
                    texts["depth_unit"] = unit
        for index, (role, _) in roles.items():
            if role != "analyte":
                continue
            extra = {
                other: cell(row, at) for at, (other, of) in roles.items() if of == index and other != "analyte" and cell(row, at)
            }
            extra |= limit_units.get(index, {})
            analyte, unit = name_and_unit(cell(named, index))
            if not cell(row, index) and "qualifiers" not in extra:
                made.ignored.append((number, "a blank cell: not analysed", f"{name} | {analyte}"))
                continue
            of_column = unit or units.get(index, "")
            made.add(
                number,
                index,
                {**texts, **extra, "analyte": analyte, "result": cell(row, index), **({"unit": of_column} if of_column else {})},
            )
    for number, row in enumerate(head, start=first + 1):
        made.ignored.append((number, "a header row", " | ".join(filter(None, row))[:200]))
    return made


def _is_sample_row(row: list[str], named: list[str]) -> bool:
    """A row of results: a name first that is no label of a header row, and results below the analytes."""
    name = next((text for text in row if text), "")
    values = [cell(row, index) for index, text in enumerate(named) if is_analyte(text) and cell(row, index)]
    if not values or recognise(name.rstrip(":")).field or is_level_heading(name):
        return False
    return sum(map(is_result, values)) >= max(1, len(values) / 2)


def _column_role(index: int, head: Sequence[list[str]], named: list[str], below: Sequence[list[str]], last: int) -> str:
    own = [cell(row, index) for row in head if cell(row, index)]
    filled = [cell(row, index) for row in below if cell(row, index)]
    beside = name_and_unit(cell(named, last))[0] if last >= 0 else ""
    if role := next((role for text in own if (role := belongs_to(text, beside))), None):
        return role
    if is_analyte(cell(named, index)):
        return "analyte"
    for text in own:
        found = recognise(text).field
        if found in ("qualifiers", *LIMIT_FIELDS):
            return found if last >= 0 else "passed over"
        if found in ATTRIBUTES:
            return found
    if any(is_level_heading(text) for text in own):
        return "level"
    if last >= 0 and not cell(named, index) and filled and all(map(is_flag, filled)):
        return "qualifiers"
    if last >= 0 and cell(named, index) and filled and sum(map(is_result, filled)) >= 0.6 * len(filled):
        return "analyte"
    return "passed over"


def _media_column(roles: dict[int, tuple[str, int]], below: Sequence[list[str]]) -> int | None:
    """A 'sample type' column in which only media stand; None where there is none."""
    for index, (role, _) in roles.items():
        texts = [cell(row, index) for row in below if cell(row, index)]
        if role == "sample_kind" and texts and all(listed_term("medium", text) for text in texts):
            return index
    return None


def _units_row(head: Sequence[list[str]], roles: dict[int, tuple[str, int]]) -> dict[int, str]:
    columns = [index for index, (role, _) in roles.items() if role == "analyte"]
    for row in head:
        texts = {index: cell(row, index) for index in columns if cell(row, index)}
        if texts and all(map(is_unit, texts.values())):
            return texts
    return {}


def _limit_units(head: Sequence[list[str]], roles: dict[int, tuple[str, int]], named: list[str]) -> dict[int, dict[str, str]]:
    """The units that the headings of limits state, or the row of units below them, by the column of their analyte."""
    found: dict[int, dict[str, str]] = {}
    for index, (role, of) in roles.items():
        if role in LIMIT_FIELDS:
            texts = [cell(row, index) for row in head if cell(row, index)]
            unit = next((unit for text in texts if (unit := unit_behind(text, name_and_unit(cell(named, of))[0]))), "")
            if unit:
                found.setdefault(of, {})[f"{role}_unit"] = unit
    return found


def _tell_columns(made: Unfolded, roles: dict[int, tuple[str, int]], named: list[str], first: int, sample_at: int) -> None:
    for wanted, words in (("level", "columns of levels, not taken for analytes: "), ("passed over", "columns not read: ")):
        told = [
            cell(named, index)
            for index, (role, _) in roles.items()
            if role == wanted and cell(named, index) and index != sample_at
        ]
        if told:
            made.notes.append(words + ", ".join(told))
    analytes = [cell(named, index) for index, (role, _) in roles.items() if role == "analyte"]
    made.notes.append(
        f"read as samples down (named in '{cell(named, sample_at) or 'column ' + str(sample_at + 1)}'), {len(analytes)} analytes across"
    )
