"""Crosstabs with analytes down and samples across, each sample with its flags and limits beside it."""

from __future__ import annotations

from collections.abc import Sequence

from screening.deliverable.cells import Sheet
from screening.deliverable.grid import (
    LIMIT_FIELDS,
    STATISTIC,
    analyte_column,
    cell,
    is_analyte,
    is_date,
    is_flag,
    is_level_heading,
    is_result,
    is_unit,
    name_and_unit,
    values,
    widest,
)
from screening.deliverable.unfolded import ATTRIBUTES, SHARED, Unfolded, belongs_to, recognise, unit_behind
from screening.vocabulary.terms import listed_term


def analytes_down(sheet: Sheet, first: int, end: int) -> Unfolded:
    rows = sheet.rows[first:end]
    made = Unfolded("analytes down")
    at = analyte_column(rows)
    top = next((number for number, row in enumerate(rows) if is_analyte(cell(row, at)) and values(row, at)), None)
    if top is None:
        return made
    head, body = rows[:top], rows[top:]
    labels = [_label(row, at) for row in head]
    width = widest(rows)
    names = _sample_names(head, labels, at, width)
    roles = {index: _role(index, head, labels, body, names, at) for index in range(width) if index != at}
    _tell_roles(made, roles, head, first)
    attributes = _attributes(head, labels, roles, names, width)
    shared = {role: index for index, (role, _) in roles.items() if role in SHARED}
    limit_units = _limit_units(head, roles)
    of_all = next((unit for row in head if is_unit(unit := recognise(cell(row, at)).unit or name_and_unit(cell(row, at))[1])), "")
    if not of_all and (alone := _unit_alone(head, at, roles)):
        if all(texts.get("unit", alone) == alone for texts in attributes.values()):
            of_all = alone
            made.notes.append(f"the unit '{alone}' stands once above the columns: taken for all of them")
    for number, row in enumerate(body, start=first + top + 1):
        name = cell(row, at)
        if not any(row):
            made.ignored.append((number, "a blank row", ""))
            continue
        reason = _no_analyte(name, row, at, roles)
        if reason:
            made.ignored.append((number, reason, name))
            continue
        analyte, unit = name_and_unit(name)
        common = {
            "analyte": analyte,
            "unit": unit or of_all,
            **{role: cell(row, index) for role, index in shared.items() if cell(row, index)},
        }
        groups: dict[str, dict[str, str]] = {}
        value_at: dict[str, int] = {}
        for index, (role, sample) in roles.items():
            if role == "result" and sample not in value_at:
                value_at[sample] = index
            if role in ("result", "qualifiers", *LIMIT_FIELDS) and sample:
                groups.setdefault(sample, {})[role] = cell(row, index)
        limits = {role: cell(row, index) for index, (role, sample) in roles.items() if role in LIMIT_FIELDS and not sample}
        limits |= limit_units.get("", {})
        for sample, texts in groups.items():
            if sample not in value_at:
                continue
            if not any(texts.get(role) for role in ("result", "qualifiers")):
                made.ignored.append(
                    (number, "a blank cell: not analysed", f"{analyte} | {attributes[sample].get('sample_id', sample)}")
                )
                continue
            made.add(
                number,
                value_at[sample],
                {
                    **limits,
                    **{k: v for k, v in common.items() if v},
                    **_missing(attributes[sample], common),
                    **{k: v for k, v in texts.items() if v},
                    **limit_units.get(sample, {}),
                },
            )
    for number, row in enumerate(head, start=first + 1):
        made.ignored.append((number, "a header row", " | ".join(filter(None, row))[:200]))
    return made


def _missing(attributes: dict[str, str], common: dict[str, str]) -> dict[str, str]:
    return {name: text for name, text in attributes.items() if not common.get(name)}


def _label(row: list[str], at: int) -> str:
    """The label of a header row: the first text at or left of the analyte column, else the first text if it is a label."""
    for index in range(at + 1):
        if cell(row, index):
            return cell(row, index).rstrip(":")
    first = next((text for text in row if text), "")
    return first.rstrip(":") if recognise(first.rstrip(":")).field in ATTRIBUTES else ""


def _filled_right(row: list[str], width: int, at: int) -> list[str]:
    """Merged headings: a text stands for the blank cells right of it, and for the flags and limits beside it."""
    out, last = [], ""
    for index in range(width):
        text = cell(row, index)
        if (
            index > at
            and text
            and not belongs_to(text, last)
            and recognise(text).field not in (*LIMIT_FIELDS, *SHARED, "qualifiers", "result")
        ):
            last = text
        out.append(last if index > at else "")
    return out


def _sample_names(head: Sequence[list[str]], labels: list[str], at: int, width: int) -> list[str]:
    """The sample that each column belongs to, '' where none."""
    ranked = []
    for number, (row, label) in enumerate(zip(head, labels, strict=True)):
        label_field = recognise(label).field if label else None
        texts = [cell(row, index) for index in range(at + 1, width) if cell(row, index)]
        names = [
            text for text in texts if not (recognise(text).field or is_unit(text) or is_date(text) or is_level_heading(text))
        ]
        if len(names) < 1:
            continue
        rank = {"sample_id": 4, "location": 3, "analyte": 2, "lab_sample_id": 1}.get(label_field or "", 0)
        numbered = sum(any(letter.isdigit() for letter in name) for name in names)
        # under no heading of ours a row names samples only where nearly every name carries a number, as samples do
        if label_field is None and numbered >= (len(names) * 2 / 3 if cell(row, at) else len(names)):
            rank = 2
        if label_field == "method":
            rank = 2
        if rank:
            ranked.append((rank, len(set(names)), -number, number))
    if not ranked:
        return [""] * width
    return _filled_right(head[max(ranked)[3]], width, at)


def _role(
    index: int, head: Sequence[list[str]], labels: list[str], body: Sequence[list[str]], names: list[str], at: int
) -> tuple[str, str]:
    """What a column holds and the sample it belongs to: (role, sample)."""
    own = [cell(row, index) for row in head]
    below = [cell(row, index) for row in body if cell(row, at) and not recognise(cell(row, at).rstrip(":")).field]
    filled = [text for text in below if text]
    sample = names[index]
    fields = [belongs_to(text, sample) or recognise(text).field for text in own if text]
    if index < at:
        return ("cas" if "cas" in fields else "passed over", "")
    for role in (*SHARED, "qualifiers", *LIMIT_FIELDS):
        if role in fields:
            return role, sample if role in ("qualifiers", *LIMIT_FIELDS) else ""
    if any(is_level_heading(text) for text in own) or (sample and is_level_heading(sample)):
        return "level", ""
    if sample and STATISTIC.match(sample):
        return "statistic", ""
    if filled and sum(map(is_unit, filled)) > len(filled) / 2:
        return "unit", ""
    if filled and sum(map(is_result, filled)) >= 0.6 * len(filled) and sample:
        return "result", sample
    if sample and filled and all(map(is_flag, filled)):
        return "qualifiers", sample
    if not filled and sample and not any(own):
        return "qualifiers", sample
    return "passed over", ""


def _attributes(
    head: Sequence[list[str]], labels: list[str], roles: dict[int, tuple[str, str]], names: list[str], width: int
) -> dict[str, dict[str, str]]:
    """Each sample's own texts from the header rows: date, depth, medium, unit."""
    found: dict[str, dict[str, str]] = {}
    for index, (role, sample) in roles.items():
        if role != "result":
            continue
        bare, unit = name_and_unit(sample)
        texts = {"sample_id": bare, **({"unit": unit} if unit else {})}
        for row, label in zip(head, labels, strict=True):
            text = cell(row, index) or _merged_left(row, index, names)
            heading = recognise(label)
            if heading.field == "sample_kind" and listed_term("medium", text):
                texts["medium"] = text
            elif heading.field in ATTRIBUTES and text and heading.field != "sample_id":
                texts[heading.field] = text
                if heading.unit and heading.field.startswith("depth"):
                    texts["depth_unit"] = heading.unit
            elif is_unit(text):
                texts["unit"] = text
            elif is_unit(unit := recognise(text).unit or ""):
                texts["unit"] = unit
            elif is_date(text) and "sampled_at" not in texts:
                texts["sampled_at"] = text
        found.setdefault(sample, texts)
    return found


def _unit_alone(head: Sequence[list[str]], at: int, roles: dict[int, tuple[str, str]]) -> str:
    """A unit that is the only text of its header row and stands above the first column of results; '' where none."""
    first = next((index for index, (role, _) in roles.items() if role == "result"), -1)
    for row in head:
        texts = [(index, text) for index, text in enumerate(row) if text]
        if len(texts) == 1 and texts[0][0] == first and is_unit(texts[0][1]):
            return texts[0][1]
    return ""


def _limit_units(head: Sequence[list[str]], roles: dict[int, tuple[str, str]]) -> dict[str, dict[str, str]]:
    """The units that the headings of limits state, by the sample they belong to ('' for a column of all samples)."""
    found: dict[str, dict[str, str]] = {}
    for index, (role, sample) in roles.items():
        if role in LIMIT_FIELDS:
            texts = [cell(row, index) for row in head if cell(row, index)]
            unit = next((text for text in (unit_behind(text, sample) for text in texts) if text), "")
            if unit:
                found.setdefault(sample, {})[f"{role}_unit"] = unit
    return found


def _merged_left(row: list[str], index: int, names: list[str]) -> str:
    """The text of a merged heading that begins further left over the same sample."""
    for left in range(index - 1, -1, -1):
        if names[left] != names[index]:
            return ""
        if cell(row, left):
            return cell(row, left)
    return ""


def _no_analyte(name: str, row: list[str], at: int, roles: dict[int, tuple[str, str]]) -> str | None:
    values = [cell(row, index) for index, (role, _) in roles.items() if role in ("result", "qualifiers") and cell(row, index)]
    if not name:
        return "no analyte is named" if values else "a note"
    if STATISTIC.match(name) and not is_analyte(name):
        return "a statistic, no analyte"
    if is_level_heading(name) and not is_analyte(name):
        return "a row of levels"
    if not any(is_result(text) for text in values):
        known = recognise(name).field
        return "a header row" if known else "a section title or note" if not values else None
    if recognise(name.rstrip(":")).field in ATTRIBUTES:
        return "a header row"
    return None


def _tell_roles(made: Unfolded, roles: dict[int, tuple[str, str]], head: Sequence[list[str]], first: int) -> None:
    levels = [
        next((cell(row, index) for row in head if cell(row, index)), f"column {index + 1}")
        for index, (role, _) in roles.items()
        if role == "level"
    ]
    if levels:
        made.notes.append("columns of levels, not taken for samples: " + ", ".join(levels))
    passed = [
        next((cell(row, index) for row in head if cell(row, index)), "")
        for index, (role, _) in roles.items()
        if role == "passed over"
    ]
    if any(passed):
        made.notes.append("columns not read: " + ", ".join(filter(None, passed)))
    samples = list(dict.fromkeys(sample for role, sample in roles.values() if role == "result"))
    made.notes.append(f"read as analytes down, {len(samples)} samples across: {', '.join(samples)[:300]}")
    if not samples:
        made.question = f"row {first + 1}: analytes stand below each other, but no column beside them holds results of a sample"
