"""A placed sheet as a frame of delivered texts: one row a result cell, one column a field of the normal form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Column, Frame
from screening.deliverable.detect import Folded, Placed
from screening.deliverable.layout import BESIDE, Layout
from screening.deliverable.sheet_notes import column_letter, sheet_notes
from screening.deliverable.unfolded import Unfolded
from screening.errors import Refused
from screening.vocabulary.headings import FIELDS
from screening.vocabulary.sample_names import kind_in_name

if TYPE_CHECKING:
    import regex

NOT_ANALYSED = "a blank cell: not analysed"
PATIENCE = 5
"""Seconds after which a layout's pattern that does not come to an end is given up."""


@dataclass(frozen=True)
class Extract:
    """Delivered texts and the rows that are no results.

    ``rows`` has the columns of FIELDS (text, '' where blank) and sheet, column, text (the result cell as it
    stands). ``ignored`` has sheet, reason, text. The two together are every row below the header; in a
    crosstab every cell of the table and every row below its header that holds none.
    """

    rows: Frame
    ignored: Frame
    notes: tuple[str, ...]


def extract(file: str, placed: Placed | Folded) -> Extract:
    """Read the texts of one sheet. Raises `Refused` where a pattern of the layout is no pattern."""
    if isinstance(placed, Folded):
        return _extract_folded(file, placed)
    return _extract_across(file, placed) if placed.layout.across else _extract_long(file, placed)


def _extract_across(file: str, placed: Placed) -> Extract:
    """One column of results an analyte: each is read as a long form of its own."""
    rows, ignored, notes = [], [], list(placed.notes)
    for heading, told in placed.layout.across.items():
        beside = {field: (placed.headings.index(text),) for field, text in told.items() if field in BESIDE}
        own = {field: text for field, text in told.items() if field not in BESIDE}
        layout = replace(placed.layout, fixed={**placed.layout.fixed, **own})
        columns = {**placed.columns, "result": (placed.headings.index(heading),), **beside}
        one = _extract_long(file, replace(placed, layout=layout, columns=columns))
        rows.append(one.rows)
        passed = one.ignored.copy()
        passed["text"] = passed["text"].mask(passed["reason"] == NOT_ANALYSED, heading)
        ignored.append(passed)
        notes += [f"column '{heading}' holds " + ", ".join(f"{field} = {text}" for field, text in own.items()), *one.notes]
    return Extract(Frame.joined(rows), _once(Frame.joined(ignored)), tuple(dict.fromkeys(notes)))


def _once(ignored: Frame) -> Frame:
    """Each ignored place once, though every column of results met it."""
    met = set()
    kept = []
    for at, record in enumerate(ignored.records()):
        key = tuple(record.values())
        if key not in met:
            met.add(key)
            kept.append(at)
    return ignored.take(np.asarray(kept, dtype=np.int64))


def _extract_long(file: str, placed: Placed) -> Extract:
    sheet, layout = placed.sheet, placed.layout
    below = sheet.below(placed.header_row)
    length = len(below)
    frame = Frame({"sheet": Column.full(sheet.name, length)}, np.arange(placed.header_row + 1, placed.header_row + 1 + length))
    for field, indexes in placed.columns.items():
        words, blanks = dict(layout.values.get(field, {})), set(layout.blank)
        texts = whole = Column.full("", length)
        for index in indexes:
            part = below.column(index)
            part = part.mask(part.isin(blanks), "")
            whole = (whole + " " + part).map(str.strip) if index != indexes[0] else part
            part = part.replace(words)
            texts = (texts + " " + part).map(str.strip) if index != indexes[0] else part
        # a text that the layout explains as a whole is not taken apart
        frame[field] = texts.mask(whole.isin(words), whole.replace(words))
    result_at = placed.columns["result"][0] if "result" in placed.columns else 0
    frame["column"] = column_letter(result_at)
    frame["text"] = below.column(result_at)
    told = _finish(file, frame, layout)
    reason = _reasons(placed, frame)
    no_result = reason != ""
    passed = np.flatnonzero(no_result)
    ignored = frame.take(passed, ["sheet"]).with_columns(
        {
            "reason": reason.take(passed),
            "text": Column.of(" | ".join(cell for cell in row if cell)[:500] for row in below.rows.taken(passed)),
        }
    )
    rows = frame.take(~no_result, ["sheet", "column", "text", *FIELDS])
    unread = [f"columns not read: {', '.join(placed.unread)}"] if placed.unread else []
    notes = (*placed.notes, *told, *sheet_notes(sheet, placed.header_row), *unread)
    return Extract(rows, ignored, notes)


def _extract_folded(file: str, folded: Folded) -> Extract:
    name = folded.sheet.name
    rows = Frame.joined([_of_block(name, block) for block in folded.blocks])
    for field in FIELDS:
        words = dict(folded.layout.values.get(field, {}))
        rows[field] = rows[field].mask(rows[field].isin(folded.layout.blank), "").replace(words)
    told = _finish(file, rows, folded.layout)
    passed = [one for block in folded.blocks for one in block.ignored]
    ignored = Frame(
        {
            "sheet": Column.full(name, len(passed)),
            "reason": Column.of(reason for _, reason, _ in passed),
            "text": Column.of(text for _, _, text in passed),
        },
        np.asarray([row for row, _, _ in passed], dtype=np.int64),
    )
    notes = [f"sheet '{name}': {note}" if name else note for block in folded.blocks for note in block.notes]
    kept = Frame({field: rows[field] for field in ("sheet", "column", "text", *FIELDS)}, rows.row)
    return Extract(kept, ignored, (*notes, *told, *sheet_notes(folded.sheet, 0)))


def _of_block(sheet: str, block: Unfolded) -> Frame:
    columns = {field: Column.of(texts.get(field) or "" for texts in block.cells) for field in FIELDS}
    places = {
        "sheet": Column.full(sheet, len(block.cells)),
        "column": Column.of(column_letter(index) for _, index in block.places),
        "text": columns["result"],
    }
    return Frame({**places, **columns}, np.asarray([row for row, _ in block.places], dtype=np.int64))


def _finish(file: str, frame: Frame, layout: Layout) -> list[str]:
    """Patterns, fixed values and value maps of the layout, and the fields that no column feeds. Returns notes."""
    _fill(frame, {field: value for field, value in layout.fixed.items() if field in layout.patterns})
    _apply_patterns(file, frame, layout.patterns)
    _fill(frame, layout.fixed)
    notes = _name_kinds(frame)
    for field, meanings in layout.values.items():
        if field in frame:
            frame[field] = frame[field].replace(meanings)
    for field in FIELDS:
        if field not in frame:
            frame[field] = ""
    return notes


def _fill(frame: Frame, fixed: Mapping[str, str]) -> None:
    for field, value in fixed.items():
        given = frame.get(field)
        frame[field] = given.mask(given == "", value)


def _name_kinds(frame: Frame) -> list[str]:
    """Where no kind of sample is stated, the sample's name may tell one; the note names those samples."""
    names = frame.get("sample_id")
    names = names.mask(names == "", frame.get("location"))
    given = frame.get("sample_kind")
    told = {name: kind for name in names.take(given == "").unique() if (kind := kind_in_name(name))}
    if not told:
        return []
    frame["sample_kind"] = given.mask(given == "", names.map(lambda name: told.get(name, "")))
    return [f"kinds of samples told by their names: {', '.join(told)[:300]}"]


def _apply_patterns(file: str, frame: Frame, patterns: Mapping[str, str]) -> None:
    for field, pattern in patterns.items():
        if field not in frame:
            continue
        import regex  # imported here: few layouts have patterns

        compiled = regex.compile(pattern)
        delivered = frame[field]
        try:
            taken = {group: delivered.map(_part(compiled, group)) for group in compiled.groupindex}
        except TimeoutError as error:
            raise Refused(
                f"{file}: the layout's pattern for {field} does not come to an end; write it without repeats inside repeats"
            ) from error
        for group, found in taken.items():
            if group == field:
                found = found.mask(found == "", delivered)
            elif group in frame:  # a name without the part says nothing against what a column says
                found = found.mask(found == "", frame[group])
            frame[group] = found


def _part(pattern: regex.Pattern[str], group: str) -> Callable[[str], str]:
    def part(text: str) -> str:
        match = pattern.fullmatch(text, timeout=PATIENCE)
        return (match[group] or "") if match else ""

    return part


def _reasons(placed: Placed, frame: Frame) -> Column:
    """Why a row is no result; '' for those that may be one."""
    below = placed.sheet.below(placed.header_row)
    header = [heading for heading in placed.headings if heading]
    reason = Column.full("", len(frame))
    named = (frame["analyte"] != "") | (frame["cas"] != "")
    empty_result = (frame["result"] == "") & (frame["qualifiers"] == "") & (frame["recovery"] == "")
    reason = reason.mask(~named & empty_result, "a note or total: neither analyte nor result")
    if placed.layout.across:
        reason = reason.mask(empty_result, NOT_ANALYSED)
    filled = below.filled
    again = np.zeros(len(frame), dtype=np.bool_)
    again[below.same_as(header)] = True
    reason = reason.mask(named & empty_result & (filled == 1), "a section title or note: nothing stands beside it")
    reason = reason.mask(again, "the header again").mask(filled == 0, "a blank row")
    for heading, texts in placed.layout.ignore.items():
        if heading in placed.headings:
            delivered = below.column(placed.headings.index(heading))
            for text, why in texts.items():
                reason = reason.mask((delivered == text) & (reason == ""), why)
    return reason
