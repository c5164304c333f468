"""A placed sheet as a frame of delivered texts: one row a result cell, one column a field of the normal form."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import zip_longest

import pandas as pd

from screening.deliverable.detect import Placed
from screening.errors import Refused
from screening.vocabulary.headings import FIELDS


@dataclass(frozen=True)
class Extract:
    """Delivered texts and the rows that are no results.

    ``rows`` has the columns of FIELDS (text, '' where blank) and sheet, row, column, text (the result cell as it
    stands). ``ignored`` has sheet, row, reason, text. The two together are every row below the header.
    """

    rows: pd.DataFrame
    ignored: pd.DataFrame
    notes: tuple[str, ...]


def column_letter(index: int) -> str:
    """The name a spreadsheet gives the column numbered ``index`` from 0."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def extract(file: str, placed: Placed) -> Extract:
    """Read the texts below the header of one sheet. Raises `Refused` where a pattern of the layout is no pattern."""
    sheet, layout = placed.sheet, placed.layout
    below = sheet.rows[placed.header_row :]
    width = max((len(row) for row in below), default=0)
    cells = list(zip_longest(*below, fillvalue="")) or [()] * width
    frame = pd.DataFrame({"sheet": sheet.name, "row": range(placed.header_row + 1, placed.header_row + 1 + len(below))})

    def column(index: int) -> pd.Series:
        return pd.Series(cells[index] if index < len(cells) else [""] * len(below), dtype="str")

    for field, indexes in placed.columns.items():
        words, blanks = dict(layout.values.get(field, {})), set(layout.blank)
        texts = pd.Series("", index=frame.index, dtype="str")
        for index in indexes:
            part = column(index)
            part = part.mask(part.isin(blanks), "").replace(words)
            texts = (texts + " " + part).str.strip() if index != indexes[0] else part
        frame[field] = texts
    result_at = placed.columns["result"][0] if "result" in placed.columns else 0
    frame["column"] = column_letter(result_at)
    frame["text"] = column(result_at)
    _apply_patterns(file, frame, layout.patterns)
    for field, value in layout.fixed.items():
        given = frame[field] if field in frame else pd.Series("", index=frame.index, dtype="str")
        frame[field] = given.mask(given == "", value)
    for field, meanings in layout.values.items():
        if field in frame:
            frame[field] = frame[field].replace(dict(meanings))
    for field in FIELDS:
        if field not in frame:
            frame[field] = ""
    reason = _reasons(placed, frame, below, column)
    frame["reason"] = reason
    ignored = frame.loc[reason != "", ["sheet", "row", "reason"]].copy()
    ignored["text"] = [" | ".join(cell for cell in below[at] if cell)[:500] for at in ignored.index]
    rows = frame.loc[reason == "", ["sheet", "row", "column", "text", *FIELDS]]
    return Extract(rows.reset_index(drop=True), ignored.reset_index(drop=True), _notes(file, placed))


def _apply_patterns(file: str, frame: pd.DataFrame, patterns: object) -> None:
    for field, pattern in dict(patterns).items():  # type: ignore[call-overload]
        try:
            compiled = re.compile(pattern)
        except re.error as error:
            raise Refused(f"{file}: the layout's pattern for {field} cannot be read ({error}); mend the layout") from error
        if field not in frame:
            continue
        matched = {text: compiled.fullmatch(text) for text in frame[field].unique()}
        for group in compiled.groupindex:
            taken = {text: (match[group] or "") if match else "" for text, match in matched.items()}
            found = frame[field].map(taken).astype("str")
            kept = frame[field].map({text: text for text in matched}).astype("str") if group == field else None
            if kept is not None:
                found = found.mask(found == "", kept)
            frame[f"_{group}"] = found
        for group in compiled.groupindex:
            frame[group] = frame.pop(f"_{group}")


def _reasons(placed: Placed, frame: pd.DataFrame, below: list[list[str]], column: object) -> pd.Series:
    """Why a row is no result; '' for those that may be one."""
    header = [heading for heading in placed.headings if heading]
    reason = pd.Series("", index=frame.index, dtype="str")
    named = (frame["analyte"] != "") | (frame["cas"] != "")
    empty_result = (frame["result"] == "") & (frame["qualifiers"] == "") & (frame["recovery"] == "")
    reason = reason.mask(~named & empty_result, "a note or total: neither analyte nor result")
    blank = pd.Series([not any(row) for row in below], index=frame.index)
    repeated = pd.Series([[cell for cell in row if cell] == header for row in below], index=frame.index)
    reason = reason.mask(repeated, "the header again").mask(blank, "a blank row")
    for heading, texts in placed.layout.ignore.items():
        if heading in placed.headings:
            delivered = column(placed.headings.index(heading))  # type: ignore[operator]
            for text, why in texts.items():
                reason = reason.mask((delivered == text) & (reason == ""), why)
    return reason


def _notes(file: str, placed: Placed) -> tuple[str, ...]:
    sheet = placed.sheet
    notes = []
    below = [row for row in sorted(sheet.hidden_rows) if row > placed.header_row and row <= len(sheet.rows)]
    if below:
        notes.append(f"sheet '{sheet.name}': rows {', '.join(map(str, below[:10]))} are hidden and were read all the same")
    for cells, what in (
        (sheet.struck_out, "struck through and read all the same"),
        (sheet.uncalculated, "a formula without a stored value"),
    ):
        for row, col in sorted(cells)[:10]:
            notes.append(f"sheet '{sheet.name}': cell {column_letter(col - 1)}{row} is {what}")
    if placed.unread:
        notes.append(f"columns not read: {', '.join(placed.unread)}")
    return tuple(notes)
