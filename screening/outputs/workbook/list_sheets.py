"""Lists as sheets: one row an item, filters on the headings, the narrow columns first and printed on one page's width."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from screening.outputs.lists import MARK, NUMBER, Amount, Column, Listing, Value
from screening.outputs.tables import MARKS
from screening.outputs.workbook.heights import POINT_HEIGHT, lines_of
from screening.outputs.workbook.sheet import BODY, HEADING, LONGEST_TEXT, QUIET, Sheets, put

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

HEAD_ROW = 3
MOST_LINES = 12
"""Lines of a row at most; a cell with more is cut on paper and whole when it is opened."""
_LINE = {**BODY, "bottom": 4, "bottom_color": "#999999"}
_MARKED: dict[str, dict[str, Any]] = {MARKS["exceeds"]: {"bold": True}, MARKS["open"]: {"italic": True}}


def add_list(book: Sheets, one: Listing) -> None:
    """Add a list as a sheet."""
    order = sorted(range(len(one.columns)), key=lambda at: not one.columns[at].narrow)
    columns = [one.columns[at] for at in order]
    narrow = sum(column.narrow for column in columns)
    sheet = book.sheet(one.name, one.title)
    for at, column in enumerate(columns):
        sheet.set_column(at, at, column.width)
        number = column.holds == NUMBER
        put(
            sheet,
            HEAD_ROW,
            at,
            column.heading,
            book.format(HEADING, align="right" if number else "left", indent=int(_set_off(columns, at))),
        )
    heads = [lines_of(column.heading, column.width - 1, bold=True) for column in columns]
    sheet.set_row(HEAD_ROW, POINT_HEIGHT * max(heads))
    row = HEAD_ROW
    plain, looks = _looks(columns, _LINE), {mark: _looks(columns, {**_LINE, **more}) for mark, more in _MARKED.items()}
    for values in one.rows:
        row += 1
        shown = [values[at] for at in order]
        _row(book, sheet, row, shown, columns, looks.get(str(shown[0]), plain) if columns[0].holds == MARK else plain)
    if one.rows:
        sheet.autofilter(HEAD_ROW, 0, row, len(columns) - 1)
    else:
        row += 1
        put(sheet, row, 0, "Nothing is in this list.", book.format(BODY, italic=True))
    row = _notes(book, sheet, row + 2, one, columns[:narrow], narrow < len(columns))
    sheet.freeze_panes(HEAD_ROW + 1, 0)
    sheet.repeat_rows(HEAD_ROW)
    sheet.print_area(0, 0, row, narrow - 1)
    sheet.fit_to_pages(1, 0)


def _set_off(columns: Sequence[Column], at: int) -> bool:
    """Whether a text stands off to the right of the numbers before it."""
    return at > 0 and columns[at].holds != NUMBER and columns[at - 1].holds == NUMBER


def _looks(columns: Sequence[Column], base: Mapping[str, Any]) -> list[dict[str, Any]]:
    """How the cells of a row look, column by column; only what is printed is wrapped."""
    looks = []
    for at, column in enumerate(columns):
        wraps = {"text_wrap": True} if column.holds != NUMBER and column.narrow else {}
        placed = {"align": "center"} if column.holds == MARK else {"indent": int(_set_off(columns, at))}
        looks.append({**base, **wraps, **placed})
    return looks


def _row(
    book: Sheets, sheet: Worksheet, row: int, values: Sequence[Value], columns: Sequence[Column], looks: Sequence[dict[str, Any]]
) -> None:
    height = 1
    for at, (value, column, look) in enumerate(zip(values, columns, looks, strict=True)):
        if "text_wrap" in look and value:
            text = value.text if isinstance(value, Amount) else str(value)
            height = max(height, lines_of(text[:LONGEST_TEXT], column.width - 1))
        book.value(sheet, row, at, value, look)
    sheet.set_row(row, POINT_HEIGHT * min(height, MOST_LINES))


def _notes(book: Sheets, sheet: Worksheet, row: int, one: Listing, columns: list[Column], more: bool) -> int:
    """Write the notes below the list, over the width of the printed columns; returns the last row."""
    notes = list(one.notes)
    if more:
        notes.append("The columns to the right of these are not printed.")
    width = sum(column.width for column in columns)
    for number, text in enumerate(notes):
        shape = book.format(QUIET, text_wrap=True)
        if len(columns) > 1:
            sheet.merge_range(row + number, 0, row + number, len(columns) - 1, "", shape)
        put(sheet, row + number, 0, text, shape)
        sheet.set_row(row + number, POINT_HEIGHT * min(lines_of(text[:LONGEST_TEXT], width, size=9), 30))
    return row + max(len(notes) - 1, 0)
