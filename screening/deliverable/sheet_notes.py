"""What a person is told of a sheet's hidden, struck-out and never calculated parts: read all the same, and said."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from screening.deliverable.cells import Sheet


NAMED = 20


def column_letter(index: int) -> str:
    """The name a spreadsheet gives the column numbered ``index`` from 0."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def sheet_notes(sheet: Sheet, header_row: int) -> tuple[str, ...]:
    """The notes of one sheet; hidden rows above its header hold no results and are not told."""
    marks, said = sheet.marks, f"sheet '{sheet.name}'"
    notes = [f"{said} is hidden and was read all the same"] if marks.hidden else []
    width = sheet.below(0).width
    rows = [str(row) for row in sorted(marks.hidden_rows) if header_row < row <= len(sheet.rows)]
    columns = [column_letter(at - 1) for at in sorted(marks.hidden_columns) if at <= width]
    for what, numbers in (("rows", rows), ("columns", columns)):
        if numbers:
            notes.append(f"{said}: {what} {_named(numbers)} are hidden and were read all the same")
    for cells, what in (
        (marks.struck_out, "struck through and read all the same"),
        (marks.uncalculated, "a formula without a stored value"),
    ):
        places = [f"{column_letter(column - 1)}{row}" for row, column in sorted(cells)]
        notes += [f"{said}: cell {place} is {what}" for place in places[:NAMED]]
        if len(places) > NAMED:
            notes.append(f"{said}: {len(places)} cells in all are {what}, the last is {places[-1]}")
    return tuple(notes)


def _named(numbers: Sequence[str]) -> str:
    rest = len(numbers) - NAMED
    shown: Iterable[str] = numbers[:NAMED]
    return ", ".join(shown) + (f" and {rest} more" if rest > 0 else "")
