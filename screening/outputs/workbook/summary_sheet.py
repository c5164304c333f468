"""The first sheet: recommendation, counts, reasons, what would close what is open, the other sheets, the caution."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from screening.decision.contents import STALE
from screening.decision.words import STATUS_WORDS
from screening.outputs.summary import first_of, summary_lines
from screening.outputs.tables import HELD, MARKS
from screening.outputs.workbook.heights import POINT_HEIGHT, lines_of
from screening.outputs.workbook.sheet import BODY, HEADING, LONGEST_TEXT, Book, key_lines, put

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

WIDTHS = (8, 26, 66)
_WRAPPED = {**BODY, "text_wrap": True}


def add_summary(book: Book, sheets: Iterable[tuple[str, str]]) -> None:
    """Add the first sheet; ``sheets`` are the names and titles of the others."""
    contents = book.contents
    answer = contents.answer
    advice = answer["recommendation"]
    sheet = book.sheet("Summary", "Summary", landscape=False)
    for at, width in enumerate(WIDTHS):
        sheet.set_column(at, at, width)
    box = {**BODY, "bold": True, "font_size": 13, "border": 2, "text_wrap": True, "valign": "vcenter"}
    row = _wide(book, sheet, 3, STATUS_WORDS[advice["status"]], box, lines=2)
    if contents.stale:
        row = _wide(book, sheet, row, STALE, {**_WRAPPED, "bold": True})
    for text in summary_lines(answer):
        row = _wide(book, sheet, row, text, _WRAPPED)
    row = _counts(book, sheet, row + 1)
    row = _block(book, sheet, row, "Why", first_of([reason["text"] for reason in advice["reasons"]]))
    row = _block(book, sheet, row, "What would close what is open", first_of(advice.get("actions", ())))
    levels = [
        f"{one['table']}, version {one['version']}: {one['title']}; {one['citation']}; {one['transcription']}"
        for one in answer["levels"]
    ]
    row = _block(book, sheet, row, "Levels used", levels)
    row = _block(book, sheet, row, "Warnings", answer["warnings"])
    row = _block(book, sheet, row, "Caution", [advice["caution"]], {"bold": True})
    row = _index(book, sheet, row, sheets)
    row = _block(book, sheet, row, "Key", key_lines())
    _block(book, sheet, row, "State", [f"Today, from which deadlines are judged: {contents.today.isoformat()}", book.line])
    sheet.fit_to_pages(1, 0)


def _wide(book: Book, sheet: Worksheet, row: int, text: str, shape: dict[str, Any], lines: int = 1) -> int:
    """A text over the width of the page; returns the next row."""
    made = book.format(shape)
    sheet.merge_range(row, 0, row, len(WIDTHS) - 1, "", made)
    put(sheet, row, 0, text, made)
    height = max(lines, lines_of(text[:LONGEST_TEXT], sum(WIDTHS), bold=bool(shape.get("bold"))))
    sheet.set_row(row, POINT_HEIGHT * min(height, 30))
    return row + 1


def _block(book: Book, sheet: Worksheet, row: int, title: str, texts: Iterable[str], more: dict[str, Any] | None = None) -> int:
    texts = list(texts)
    if not texts:
        return row
    row = _wide(book, sheet, row, title, HEADING)
    for text in texts:
        row = _wide(book, sheet, row, text, {**_WRAPPED, **(more or {})})
    return row + 1


def _counts(book: Book, sheet: Worksheet, row: int) -> int:
    answer = book.contents.answer
    for at, text in enumerate(("Mark", "Comparisons and rows", "Count")):
        put(sheet, row, at, text, book.format(HEADING))
    lines = [(mark, name.replace("_", " "), answer["counts"][name]) for name, mark in MARKS.items()]
    lines.append((HELD, "rows held back", len(answer["held_back"])))
    for mark, words, count in lines:
        row += 1
        put(sheet, row, 0, mark, book.format(BODY, align="center", bold=True))
        put(sheet, row, 1, words, book.format(BODY))
        sheet.write_number(row, 2, count, book.format(BODY, align="left", num_format="0"))
    return row + 2


def _index(book: Book, sheet: Worksheet, row: int, sheets: Iterable[tuple[str, str]]) -> int:
    row = _wide(book, sheet, row, "Sheets", HEADING)
    link = book.format(BODY, underline=1, font_color="#1F4E8C")
    for name, title in sheets:
        sheet.write_url(row, 0, f"internal:'{name}'!A1", link, name)
        put(sheet, row, 2, title, book.format(BODY))
        row += 1
    return row + 1
