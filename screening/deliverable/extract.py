"""A placed sheet as a frame of delivered texts: one row a result cell, one column a field of the normal form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import zip_longest

import pandas as pd
import regex

from screening.deliverable.detect import Folded, Placed
from screening.deliverable.layout import BESIDE, Layout
from screening.deliverable.sheet_notes import column_letter, sheet_notes
from screening.errors import Refused
from screening.vocabulary.headings import FIELDS
from screening.vocabulary.sample_names import kind_in_name

NOT_ANALYSED = "a blank cell: not analysed"
PATIENCE = 5
"""Seconds after which a layout's pattern that does not come to an end is given up."""


@dataclass(frozen=True)
class Extract:
    """Delivered texts and the rows that are no results.

    ``rows`` has the columns of FIELDS (text, '' where blank) and sheet, row, column, text (the result cell as it
    stands). ``ignored`` has sheet, row, reason, text. The two together are every row below the header; in a
    crosstab every cell of the table and every row below its header that holds none.
    """

    rows: pd.DataFrame
    ignored: pd.DataFrame
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
        ignored.append(one.ignored.assign(text=one.ignored["text"].mask(one.ignored["reason"] == NOT_ANALYSED, heading)))
        notes += [f"column '{heading}' holds " + ", ".join(f"{field} = {text}" for field, text in own.items()), *one.notes]
    passed = pd.concat(ignored, ignore_index=True).drop_duplicates(ignore_index=True)
    return Extract(pd.concat(rows, ignore_index=True), passed, tuple(dict.fromkeys(notes)))


def _extract_long(file: str, placed: Placed) -> Extract:
    sheet, layout = placed.sheet, placed.layout
    below = sheet.rows[placed.header_row :]
    width = max((len(row) for row in below), default=0)
    cells = list(zip_longest(*below, fillvalue="")) or [()] * width
    frame = pd.DataFrame({"sheet": sheet.name, "row": range(placed.header_row + 1, placed.header_row + 1 + len(below))})

    def column(index: int) -> pd.Series:
        return pd.Series(cells[index] if index < len(cells) else [""] * len(below), dtype="str")

    for field, indexes in placed.columns.items():
        words, blanks = dict(layout.values.get(field, {})), set(layout.blank)
        texts = whole = pd.Series("", index=frame.index, dtype="str")
        for index in indexes:
            part = column(index)
            part = part.mask(part.isin(blanks), "")
            whole = (whole + " " + part).str.strip() if index != indexes[0] else part
            part = part.replace(words)
            texts = (texts + " " + part).str.strip() if index != indexes[0] else part
        # a text that the layout explains as a whole is not taken apart
        frame[field] = texts.mask(whole.isin(list(words)), whole.replace(words))
    result_at = placed.columns["result"][0] if "result" in placed.columns else 0
    frame["column"] = column_letter(result_at)
    frame["text"] = column(result_at)
    told = _finish(file, frame, layout)
    reason = _reasons(placed, frame, below, column)
    ignored = frame.loc[reason != "", ["sheet", "row"]].assign(reason=reason[reason != ""])
    ignored["text"] = [" | ".join(cell for cell in below[at] if cell)[:500] for at in ignored.index]
    rows = frame.loc[reason == "", ["sheet", "row", "column", "text", *FIELDS]]
    unread = [f"columns not read: {', '.join(placed.unread)}"] if placed.unread else []
    notes = (*placed.notes, *told, *sheet_notes(sheet, placed.header_row), *unread)
    return Extract(rows.reset_index(drop=True), ignored.reset_index(drop=True), notes)


def _extract_folded(file: str, folded: Folded) -> Extract:
    frames, ignored = [], []
    name = folded.sheet.name
    for block in folded.blocks:
        frame = pd.DataFrame(block.cells, dtype="str").fillna("")
        frame.insert(0, "sheet", name)
        frame["row"] = [row for row, _ in block.places]
        frame["column"] = [column_letter(index) for _, index in block.places]
        frame["text"] = frame.get("result", "")
        frames.append(frame)
        ignored += [(name, row, reason, text) for row, reason, text in block.ignored]
    rows = pd.concat(frames, ignore_index=True)
    for field in FIELDS:
        rows[field] = rows[field].fillna("").astype("str") if field in rows else ""
        words = dict(folded.layout.values.get(field, {}))
        rows[field] = rows[field].mask(rows[field].isin(folded.layout.blank), "").replace(words)
    told = _finish(file, rows, folded.layout)
    kept = rows[["sheet", "row", "column", "text", *FIELDS]]
    passed = pd.DataFrame(ignored, columns=["sheet", "row", "reason", "text"])
    notes = [f"sheet '{name}': {note}" if name else note for block in folded.blocks for note in block.notes]
    return Extract(kept, passed, (*notes, *told, *sheet_notes(folded.sheet, 0)))


def _finish(file: str, frame: pd.DataFrame, layout: Layout) -> list[str]:
    """Patterns, fixed values and value maps of the layout, and the fields that no column feeds. Returns notes."""
    _fill(frame, {field: value for field, value in layout.fixed.items() if field in layout.patterns})
    _apply_patterns(file, frame, layout.patterns)
    _fill(frame, layout.fixed)
    notes = _name_kinds(frame)
    for field, meanings in layout.values.items():
        if field in frame:
            frame[field] = frame[field].replace(dict(meanings))
    for field in FIELDS:
        if field not in frame:
            frame[field] = ""
    return notes


def _fill(frame: pd.DataFrame, fixed: Mapping[str, str]) -> None:
    for field, value in fixed.items():
        given = frame[field] if field in frame else pd.Series("", index=frame.index, dtype="str")
        frame[field] = given.mask(given == "", value)


def _name_kinds(frame: pd.DataFrame) -> list[str]:
    """Where no kind of sample is stated, the sample's name may tell one; the note names those samples."""
    blank = pd.Series("", index=frame.index, dtype="str")
    names = frame.get("sample_id", blank)
    names = names.mask(names == "", frame.get("location", blank))
    given = frame.get("sample_kind", blank)
    told = {name: kind for name in names[given == ""].unique() if (kind := kind_in_name(name))}
    if not told:
        return []
    frame["sample_kind"] = given.mask(given == "", names.map(told).fillna("").astype("str"))
    return [f"kinds of samples told by their names: {', '.join(told)[:300]}"]


def _apply_patterns(file: str, frame: pd.DataFrame, patterns: object) -> None:
    for field, pattern in dict(patterns).items():  # type: ignore[call-overload]
        if field not in frame:
            continue
        compiled = regex.compile(pattern)
        try:
            matched = {text: compiled.fullmatch(text, timeout=PATIENCE) for text in frame[field].unique()}
        except TimeoutError as error:
            raise Refused(
                f"{file}: the layout's pattern for {field} does not come to an end; write it without repeats inside repeats"
            ) from error
        for group in compiled.groupindex:
            taken = {text: (match[group] or "") if match else "" for text, match in matched.items()}
            found = frame[field].map(taken).astype("str")
            if group == field:
                found = found.mask(found == "", frame[field])
            elif group in frame:  # a name without the part says nothing against what a column says
                found = found.mask(found == "", frame[group])
            frame[f"_{group}"] = found
        for group in compiled.groupindex:
            frame[group] = frame.pop(f"_{group}")


def _reasons(placed: Placed, frame: pd.DataFrame, below: list[list[str]], column: Callable[[int], pd.Series]) -> pd.Series:
    """Why a row is no result; '' for those that may be one."""
    header = [heading for heading in placed.headings if heading]
    reason = pd.Series("", index=frame.index, dtype="str")
    named = (frame["analyte"] != "") | (frame["cas"] != "")
    empty_result = (frame["result"] == "") & (frame["qualifiers"] == "") & (frame["recovery"] == "")
    reason = reason.mask(~named & empty_result, "a note or total: neither analyte nor result")
    if placed.layout.across:
        reason = reason.mask(empty_result, NOT_ANALYSED)
    alone = pd.Series([sum(map(bool, row)) == 1 for row in below], index=frame.index)
    reason = reason.mask(named & empty_result & alone, "a section title or note: nothing stands beside it")
    blank = pd.Series([not any(row) for row in below], index=frame.index)
    repeated = pd.Series([[cell for cell in row if cell] == header for row in below], index=frame.index)
    reason = reason.mask(repeated, "the header again").mask(blank, "a blank row")
    for heading, texts in placed.layout.ignore.items():
        if heading in placed.headings:
            delivered = column(placed.headings.index(heading))
            for text, why in texts.items():
                reason = reason.mask((delivered == text) & (reason == ""), why)
    return reason
