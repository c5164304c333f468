"""Finding what a sheet is: long form under a header, an open standard, or crosstabs; and which column is which field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from screening.deliverable.cells import Book, Sheet
from screening.deliverable.crosstab import refusals, unfold
from screening.deliverable.facts import stated
from screening.deliverable.grid import LIMIT_FIELDS, cell, is_analyte
from screening.deliverable.layout import BESIDE, Layout, built_in_layouts
from screening.deliverable.limit_list import LimitList, give_limits, limit_list
from screening.deliverable.rows import Below
from screening.deliverable.unfolded import LIMIT_UNITS, Unfolded
from screening.errors import Refused
from screening.vocabulary.headings import recognise
from screening.vocabulary.terms import listed_term

ROWS_SEARCHED = 60
JOINED = {"qualifiers", "comment"}
TIMES = {"time", "hour"}
ZONES = {"zone", "timezone"}


@dataclass(frozen=True)
class Placed:
    """A layout bound to a sheet: the header row (numbered from 1) and each field's column numbers (from 0)."""

    sheet: Sheet
    layout: Layout
    header_row: int
    columns: Mapping[str, tuple[int, ...]]
    headings: tuple[str, ...]
    unread: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Folded:
    """A sheet with one or more crosstabs, already read cell by cell."""

    sheet: Sheet
    layout: Layout
    blocks: tuple[Unfolded, ...]


def place(book: Book, layout: Layout | None, settings: Mapping[str, str]) -> tuple[list[Placed | Folded], list[str]]:
    """Bind the given layout, or the one found by reading, to every sheet that holds results.

    Returns the placed sheets and, as notes, the sheets passed over. Raises `Refused` with the question to answer
    where no header is found or where a column could be read in two ways.
    """
    placed: list[Placed | Folded] = []
    notes: list[str] = []
    failures: list[str] = []
    lists: list[LimitList] = []
    for sheet in book.sheets:
        if layout is not None and layout.sheet is not None and sheet.name != layout.sheet:
            notes.append(f"sheet '{sheet.name}' was not read: the layout names sheet '{layout.sheet}'")
            continue
        found: Placed | Folded | str
        if layout is not None and layout.columns:
            found = _bind(book.file, sheet, layout, settings)
        else:
            found = _search(book.file, sheet, settings, layout)
        if isinstance(found, str):
            if layout is None and (listed := limit_list(sheet)):
                lists.append(listed)
            filled = int((sheet.below(0).filled > 0).sum())
            failures += [found] if filled else []
            notes.append(f"sheet '{sheet.name}' was not read ({filled} rows): {found}")
        else:
            placed.append(found)
    if not placed:
        raise Refused(f"{book.file}: {failures[0] if failures else notes[0]}")
    if len(lists) == 1:  # of two lists nobody knows which one a sample follows
        blocks = [(item.sheet.name, block) for item in placed if isinstance(item, Folded) for block in item.blocks]
        notes = [note for note in notes if f"sheet '{lists[0].sheet}' was not read" not in note] + give_limits(lists[0], blocks)
    placed = _named_by_sheet(placed)
    for item in placed:
        _complete(book.file, item)
    return placed, notes


def _named_by_sheet(placed: list[Placed | Folded]) -> list[Placed | Folded]:
    """One sheet a sample: where no sheet names its sample, the sheets' own names do."""
    nameless = [
        item
        for item in placed
        if isinstance(item, Placed) and not {"sample_id", "location", "lab_sample_id"} & {*item.columns, *item.layout.fixed}
    ]
    if len(nameless) != len(placed) or len(placed) < 2:
        return placed
    named: list[Placed | Folded] = []
    for item in nameless:
        note = f"sheet '{item.sheet.name}': the sample is named by the sheet"
        layout = item.layout.with_fixed({"sample_id": item.sheet.name})
        named.append(replace(item, layout=layout, notes=(*item.notes, note)))
    return named


def _bind(file: str, sheet: Sheet, layout: Layout, settings: Mapping[str, str]) -> Placed | str:
    wanted = {heading for headings in layout.columns.values() for heading in headings} | _across(layout)
    searched = [layout.header_row] if layout.header_row else range(1, min(len(sheet.rows), ROWS_SEARCHED) + 1)
    best, row_number = -1, 1
    for number in searched:
        if number <= len(sheet.rows) and (hits := len(wanted & set(sheet.rows[number - 1]))) > best:
            best, row_number = hits, number
    headings = tuple(sheet.rows[row_number - 1])
    if absent := sorted(wanted - set(headings)):
        return f"layout {layout.name} wants the heading '{absent[0]}', which no header row of sheet '{sheet.name}' has"
    columns = {field: tuple(headings.index(heading) for heading in names) for field, names in layout.columns.items()}
    return _placed(sheet, layout.with_fixed(settings), row_number, columns)


def _across(layout: Layout) -> set[str]:
    """The headings of the columns of results, one an analyte, and of the flags and limits beside them."""
    beside = {heading for told in layout.across.values() for field, heading in told.items() if field in BESIDE}
    return beside | set(layout.across)


def _search(file: str, sheet: Sheet, settings: Mapping[str, str], base: Layout | None) -> Placed | Folded | str:
    """Long form under a recognised header, an open standard's layout, or crosstabs."""
    start = base or Layout(name="found by reading")
    best = (0, -1)
    for number, row in enumerate(sheet.rows[:ROWS_SEARCHED], start=1):
        said = [recognise(text).field for text in row if text]
        if said.count("result") != 1:
            continue
        fields = set(said) - {None}
        is_long = bool({"analyte", "cas"} & fields) or _analytes_below(sheet.rows[number : number + 40], row) is not None
        best = max(best, (len(fields) if is_long else 0, -number))
    row_number = -best[1]
    for layout in built_in_layouts():
        fitted = _fit(sheet, layout)
        if fitted is not None and len(fitted[1].columns) > best[0]:
            number, kept = fitted
            headings = sheet.rows[number - 1]
            fitting = {field: tuple(headings.index(heading) for heading in names) for field, names in kept.columns.items()}
            return _placed(sheet, kept.with_fixed(settings), number, fitting)
    if best[0] < 2:
        return _crosstabs(sheet, start.with_fixed(settings))
    headings = sheet.rows[row_number - 1]
    columns: dict[str, tuple[int, ...]] = {}
    fixed: dict[str, str] = {}
    claims: dict[str, list[int]] = {}
    for index, heading in enumerate(headings):
        if heading and (field := recognise(heading).field):
            claims.setdefault(field, []).append(index)
    notes = _by_content(sheet.below(row_number), headings, claims)
    for field, indexes in claims.items():
        columns[field] = _one_claim(file, sheet, row_number, field, indexes, headings)
        unit = recognise(headings[columns[field][0]]).unit
        if unit and field.startswith("depth"):
            fixed["depth_unit"] = unit
        elif unit and field == "result" and "unit" not in claims:
            fixed["unit"] = unit
        elif unit and field in LIMIT_FIELDS and f"{field}_unit" not in claims:
            fixed[f"{field}_unit"] = unit
    _add_times(columns, headings)
    facts, told = _facts_around(sheet, row_number, columns, fixed)
    notes += told
    named = {field: tuple(headings[index] for index in indexes) for field, indexes in columns.items()}
    values = {field: dict(words) for field, words in start.values.items()}
    if contradiction := facts.pop("contradicted_unit", None):  # it stands for the unit, so that every row is held with it
        values["unit"] = dict.fromkeys(_units_used(sheet, row_number, columns), contradiction)
        fixed["unit"] = contradiction
    found = replace(start, header_row=row_number, columns=named, fixed={**facts, **fixed, **start.fixed}, values=values)
    return replace(_placed(sheet, found.with_fixed(settings), row_number, columns), notes=tuple(notes))


def _analytes_below(rows: Sequence[list[str]], headings: list[str]) -> int | None:
    """The column in which most texts are analytes, whatever its heading; None where there is none."""
    for index in range(min(len(headings), 30)):
        texts = [cell(row, index) for row in rows if cell(row, index)]
        if len(texts) >= 2 and sum(map(is_analyte, texts)) > 0.6 * len(texts):
            return index
    return None


def _by_content(below: Below, headings: list[str], claims: dict[str, list[int]]) -> list[str]:
    """Headings that mean something else than usual, shown by what stands below them."""
    notes = []
    if "analyte" not in claims and (index := _analytes_below(below.rows[:200], headings)) is not None:
        for indexes in claims.values():
            if index in indexes:
                indexes.remove(index)
        claims["analyte"] = [index]
        notes.append(f"'{headings[index]}' read as the analyte: that is what stands below it")
    if "medium" not in claims and len(claims.get("sample_kind", [])) == 1:
        index = claims["sample_kind"][0]
        texts = set(below.column(index).unique()) - {""}
        if texts and all(listed_term("medium", text) for text in texts):
            claims["medium"] = claims.pop("sample_kind")
            notes.append(f"'{headings[index]}' read as the medium: that is what stands below it")
    for field in [field for field, indexes in claims.items() if not indexes]:
        del claims[field]
    return notes


def _units_used(sheet: Sheet, row_number: int, columns: Mapping[str, tuple[int, ...]]) -> set[str]:
    unit_at = columns.get("unit", (-1,))[0]
    return set(sheet.below(row_number).column(unit_at).unique()) - {""} if unit_at >= 0 else set()


def _facts_around(
    sheet: Sheet, row_number: int, columns: Mapping[str, tuple[int, ...]], fixed: Mapping[str, str]
) -> tuple[dict[str, str], list[str]]:
    units = _units_used(sheet, row_number, columns) | ({fixed["unit"]} if "unit" in fixed else set())
    notes_below = [row for _, row in sheet.below(row_number).with_at_most(1) if any(row)]
    facts, notes = stated(sheet.rows[: row_number - 1], notes_below, sheet.name, units)
    kept = {field: text for field, text in facts.items() if field not in columns and field not in fixed}
    told = [note for note in notes if note.split(" ")[0] not in facts or note.split(" ")[0] in kept]
    return kept, told


def _crosstabs(sheet: Sheet, layout: Layout) -> Folded | str:
    blocks = [block for block in unfold(replace(sheet, rows=list(sheet.rows))) if block.cells or block.question]
    if question := next(refusals(blocks), None):
        return question
    if not blocks:
        return (
            "no header row was recognised, neither long form nor crosstab; name the columns in a layout (--layout) "
            "or use the plain headings of README"
        )
    return Folded(sheet, replace(layout, name=f"found by reading: {blocks[0].shape}"), tuple(blocks))


def _fit(sheet: Sheet, layout: Layout) -> tuple[int, Layout] | None:
    """A standard's layout cut to the columns that are there; None where too few are."""
    for number, row in enumerate(sheet.rows[:ROWS_SEARCHED], start=1):
        present = set(row)
        kept = {
            field: tuple(name for name in names if name in present)
            for field, names in layout.columns.items()
            if any(name in present for name in names)
        }
        ignore = {heading: texts for heading, texts in layout.ignore.items() if heading in present}
        if {"analyte", "result"} <= kept.keys() and len(kept) >= 5:
            patterns = {field: text for field, text in layout.patterns.items() if field in kept}
            return number, replace(layout, columns=kept, ignore=ignore, patterns=patterns)
    return None


def _one_claim(file: str, sheet: Sheet, row_number: int, field: str, indexes: list[int], headings: list[str]) -> tuple[int, ...]:
    own = [index for index in indexes if headings[index].strip().lower() in (field, field.replace("_", " "))]
    if field in JOINED:
        return tuple(indexes)
    if len(own) == 1 or len(indexes) == 1:
        return ((own or indexes)[0],)
    below = sheet.below(row_number)
    if all((below.column(index) == below.column(indexes[0])).all() for index in indexes):
        return (indexes[0],)
    names = " and ".join(f"'{headings[index]}'" for index in indexes)
    raise Refused(
        f"{file}, sheet '{sheet.name}', row {row_number}: {names} may both be the {field.replace('_', ' ')}; "
        "name the right one in a layout (--layout)"
    )


def _add_times(columns: dict[str, tuple[int, ...]], headings: list[str]) -> None:
    """A 'Time' column right of a date column belongs to that date, and so does a time zone's column right of it."""
    for field in ("sampled_at", "received_at", "prepared_at", "analysed_at"):
        if len(columns.get(field, ())) == 1 and (after := columns[field][0] + 1) < len(headings):
            if headings[after].strip().lower().split(" ")[-1] in TIMES:
                columns[field] = (columns[field][0], after)
        after = columns[field][-1] + 1 if field in columns else len(headings)
        free = after < len(headings) and all((after,) != indexes for indexes in columns.values())
        if free and headings[after].strip().lower().split(" ")[-1] in ZONES:
            columns[field] = (*columns[field], after)


def _placed(sheet: Sheet, layout: Layout, row_number: int, columns: Mapping[str, tuple[int, ...]]) -> Placed:
    headings = tuple(sheet.rows[row_number - 1])
    used = {index for indexes in columns.values() for index in indexes}
    used |= {headings.index(heading) for heading in _across(layout)}
    unread = tuple(heading for index, heading in enumerate(headings) if heading and index not in used)
    return Placed(sheet, layout, row_number, columns, headings, unread)


def _complete(file: str, placed: Placed | Folded) -> None:
    """Refuse with the question where a field without which nothing can be compared is nowhere stated."""
    where = f"{file}, sheet '{placed.sheet.name}'" if placed.sheet.name else file
    if isinstance(placed, Folded):
        stated = {field for block in placed.blocks for texts in block.cells for field in texts} | set(placed.layout.fixed)
    else:
        stated = {*placed.columns, *placed.layout.fixed}
        for told in placed.layout.across.values():
            stated |= {"result", *told}
        for pattern in placed.layout.patterns.values():
            stated |= set(re.findall(r"\(\?P<(\w+)>", pattern))
    if not {"analyte", "cas"} & stated:
        raise Refused(f"{where}: no column names the analyte; name it in a layout (--layout)")
    if "result" not in stated:
        raise Refused(f"{where}: no column holds the results; name it in a layout (--layout)")
    if not {"sample_id", "location", "lab_sample_id"} & stated:
        raise Refused(f"{where}: no column names the sample; name it in a layout (--layout) or say --set sample_id=NAME")
    if not {"unit", "limit_unit", *LIMIT_UNITS} & stated:
        raise Refused(f"{where}: the unit is nowhere stated; ask the laboratory and say --set unit=mg/kg or the like")
    if "medium" not in stated:
        raise Refused(f"{where}: the medium is nowhere stated; say --set medium=soil, groundwater or the like")
