"""Crosstabs as rows: analytes down with samples across, or samples down with analytes across."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from screening.deliverable.cells import Sheet
from screening.deliverable.facts import stated
from screening.deliverable.grid import (
    LIMIT_FIELDS,
    STATISTIC,
    cell,
    is_analyte,
    is_date,
    is_flag,
    is_level_heading,
    is_result,
    is_unit,
    name_and_unit,
)
from screening.vocabulary.headings import Heading
from screening.vocabulary.headings import recognise as recognised
from screening.vocabulary.terms import read_term

SHARED = ("unit", "cas", "method", "limit_unit", "comment", "basis", "fraction")
ATTRIBUTES = [
    "sample_id",
    "lab_sample_id",
    "location",
    "sample_kind",
    "parent_sample",
    "medium",
    "depth_top",
    "depth_bottom",
    "depth_unit",
    "sampled_at",
    "received_at",
    "prepared_at",
    "analysed_at",
    "lab",
    "batch",
    "dilution",
    "percent_solids",
    "fraction",
    "basis",
    "unit",
]


def recognise(text: str) -> Heading:
    """A heading's field; a bare 'Date' is the day of sampling in a crosstab, which has one date a sample."""
    return Heading("sampled_at") if text.strip(" :").lower() in ("date", "fecha") else recognised(text)


@dataclass
class Unfolded:
    """The result cells of one block: texts by field with row and column (from 1 and 0), rows passed over, evidence."""

    shape: str
    cells: list[dict[str, str]] = field(default_factory=list)
    places: list[tuple[int, int]] = field(default_factory=list)
    ignored: list[tuple[int, str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    question: str | None = None

    def add(self, row: int, column: int, texts: dict[str, str]) -> None:
        """One result cell."""
        self.places.append((row, column))
        self.cells.append(texts)


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
        made = _analytes_down(sheet, first, end) if shape == "analytes down" else _samples_down(sheet, first, end)
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
        elif shape == "analytes down" and pending is not None and _header_like(sheet.rows[slice(*pending)]):
            blocks.append((pending[0], end, shape))
            pending = None
        elif blocks and pending is None and _goes_on(rows):
            blocks[-1] = (blocks[-1][0], end, blocks[-1][2])
        else:
            pending = (first, end) if not blocks or shape is not None or _header_like(rows) else None
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
            if (
                recognise(label).field in ("analyte", "sample_id", "location")
                and sum(map(bool, row)) >= 3
                and not _values(row, 0)
            ):
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


def _goes_on(rows: list[list[str]]) -> bool:
    """Rows of results below a blank row, with the columns of the table above it."""
    full = [row for row in rows if sum(map(bool, row)) > 1]
    labelled = [bool(recognise(next(filter(None, row)).rstrip(":")).field) for row in full]
    results = [any(row[:4]) and any(map(is_result, row[1:])) for row in full]
    return any(results) and all(one or two for one, two in zip(labelled, results, strict=True))


def _shape(rows: list[list[str]]) -> str | None:
    down = max((sum(is_analyte(cell(row, at)) for row in rows) for at in range(min(4, _width(rows)))), default=0)
    across = max((sum(is_analyte(text) for text in row) for row in rows), default=0)
    if max(down, across) < 2:
        return None
    return "analytes down" if down >= across else "samples down"


def _width(rows: list[list[str]]) -> int:
    return max((len(row) for row in rows), default=0)


def _has_header(rows: list[list[str]], shape: str) -> bool:
    if shape == "samples down":
        return True
    at = _analyte_column(rows)
    first = next(number for number, row in enumerate(rows) if is_analyte(cell(row, at)))
    return any(_header_like([row]) for row in rows[:first])


def _header_like(rows: list[list[str]]) -> bool:
    return any(sum(bool(text) for text in row) >= 2 for row in rows)


def _analyte_column(rows: list[list[str]]) -> int:
    return max(range(min(4, _width(rows))), key=lambda at: (sum(is_analyte(cell(row, at)) for row in rows), -at))


# ------------------------------------------------------------------ analytes down, samples across


def _analytes_down(sheet: Sheet, first: int, end: int) -> Unfolded:
    rows = sheet.rows[first:end]
    made = Unfolded("analytes down")
    at = _analyte_column(rows)
    top = next((number for number, row in enumerate(rows) if is_analyte(cell(row, at)) and _values(row, at)), None)
    if top is None:
        return made
    head, body = rows[:top], rows[top:]
    labels = [_label(row, at) for row in head]
    width = _width(rows)
    names = _sample_names(head, labels, at, width)
    roles = {index: _role(index, head, labels, body, names, at) for index in range(width) if index != at}
    _tell_roles(made, roles, head, first)
    attributes = _attributes(head, labels, roles, names, width)
    shared = {role: index for index, (role, _) in roles.items() if role in SHARED}
    of_all = next((unit for row in head if is_unit(unit := recognise(cell(row, at)).unit or name_and_unit(cell(row, at))[1])), "")
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
                },
            )
    for number, row in enumerate(head, start=first + 1):
        made.ignored.append((number, "a header row", " | ".join(filter(None, row))[:200]))
    return made


def _missing(attributes: dict[str, str], common: dict[str, str]) -> dict[str, str]:
    return {name: text for name, text in attributes.items() if not common.get(name)}


def _values(row: list[str], at: int) -> bool:
    return any(is_result(text) for index, text in enumerate(row) if index > at)


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
            and not _belongs_to(text, last)
            and recognise(text).field not in (*LIMIT_FIELDS, *SHARED, "qualifiers", "result")
        ):
            last = text
        out.append(last if index > at else "")
    return out


def _belongs_to(text: str, name: str) -> str | None:
    """The role of 'MW-1 Qual' or 'Qual (MW-1)' beside a column 'MW-1'; None where the text is no such heading."""
    if not name or text == name or name.lower() not in text.lower():
        return None
    at = text.lower().index(name.lower())
    rest = (text[:at] + " " + text[at + len(name) :]).strip(" -_:()[],/")
    found = recognise(rest).field
    return found if found in ("qualifiers", "result", *LIMIT_FIELDS) else None


def _sample_names(head: list[list[str]], labels: list[str], at: int, width: int) -> list[str]:
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
        if label_field in (None, "method") and (cell(row, at) or all(any(letter.isdigit() for letter in name) for name in names)):
            rank = 2  # a heading above the analytes; an unlabelled row names samples only where every name carries a number
        if rank:
            ranked.append((rank, len(set(names)), -number, number))
    if not ranked:
        return [""] * width
    return _filled_right(head[max(ranked)[3]], width, at)


def _role(
    index: int, head: list[list[str]], labels: list[str], body: list[list[str]], names: list[str], at: int
) -> tuple[str, str]:
    """What a column holds and the sample it belongs to: (role, sample)."""
    own = [cell(row, index) for row in head]
    below = [cell(row, index) for row in body if cell(row, at) and not recognise(cell(row, at).rstrip(":")).field]
    filled = [text for text in below if text]
    sample = names[index]
    fields = [_belongs_to(text, sample) or recognise(text).field for text in own if text]
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
    head: list[list[str]], labels: list[str], roles: dict[int, tuple[str, str]], names: list[str], width: int
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
            if heading.field == "sample_kind" and read_term("medium", text).value:
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


def _tell_roles(made: Unfolded, roles: dict[int, tuple[str, str]], head: list[list[str]], first: int) -> None:
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


# ------------------------------------------------------------------ samples down, analytes across


def _samples_down(sheet: Sheet, first: int, end: int) -> Unfolded:
    rows = sheet.rows[first:end]
    made = Unfolded("samples down")
    top = max(range(len(rows)), key=lambda number: (sum(map(is_analyte, rows[number])), -number))
    width = _width(rows)
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


def _column_role(index: int, head: list[list[str]], named: list[str], below: list[list[str]], last: int) -> str:
    own = [cell(row, index) for row in head if cell(row, index)]
    filled = [cell(row, index) for row in below if cell(row, index)]
    beside = name_and_unit(cell(named, last))[0] if last >= 0 else ""
    if role := next((role for text in own if (role := _belongs_to(text, beside))), None):
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


def _media_column(roles: dict[int, tuple[str, int]], below: list[list[str]]) -> int | None:
    """A 'sample type' column in which only media stand; None where there is none."""
    for index, (role, _) in roles.items():
        texts = [cell(row, index) for row in below if cell(row, index)]
        if role == "sample_kind" and texts and all(read_term("medium", text).value for text in texts):
            return index
    return None


def _units_row(head: list[list[str]], roles: dict[int, tuple[str, int]]) -> dict[int, str]:
    columns = [index for index, (role, _) in roles.items() if role == "analyte"]
    for row in head:
        texts = {index: cell(row, index) for index in columns if cell(row, index)}
        if texts and all(map(is_unit, texts.values())):
            return texts
    return {}


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


def refusals(made: list[Unfolded]) -> Iterator[str]:
    """The questions that stop a file."""
    for block in made:
        if block.question:
            yield block.question
