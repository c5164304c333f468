"""The workbook of a rescreen: a first sheet with headline and counts, then each list as a sheet with filters."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from screening.outputs.lists import Listing
from screening.outputs.rescreen_words import headline, summary
from screening.outputs.texts import readable
from screening.outputs.workbook.list_sheets import add_list
from screening.outputs.workbook.sheet import BODY, LETTER, QUIET, TITLE, Sheets, in_header, new_workbook, put

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet


class RescreenSheets(Sheets):
    """The sheets of a rescreen: its headline stands on each."""

    def __init__(self, workbook: Workbook, document: Mapping[str, Any]) -> None:
        super().__init__(workbook)
        self._line = headline(document)

    def sheet(self, name: str, title: str, *, landscape: bool = True) -> Worksheet:
        """A new sheet; see `Sheets.sheet`."""
        sheet = self.workbook.add_worksheet(name)
        sheet.hide_gridlines(2)
        sheet.set_paper(LETTER)
        if landscape:
            sheet.set_landscape()
        sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.75)
        sheet.set_header(f"&L&8 {in_header(self._line)}&R&8 {in_header(title)}")
        sheet.set_footer("&L&8A screening aid for a licensed professional's decision&R&8page &P of &N")
        put(sheet, 0, 0, title, self.format(TITLE))
        sheet.set_row(0, 20)
        put(sheet, 1, 0, self._line, self.format(QUIET))
        return sheet


def book_of(document: Mapping[str, Any], lists: Sequence[Listing]) -> bytes:
    """The workbook: the same bytes for the same document."""
    target = io.BytesIO()
    workbook = new_workbook(target)
    workbook.set_properties(
        {
            "title": headline(document), "comments": document["caution"],
            "created": dt.datetime.combine(dt.date.fromisoformat(document["levels_on"]), dt.time()),
        }
    )  # fmt: skip
    sheets = RescreenSheets(workbook, document)
    _first(sheets, document, lists)
    for one in lists:
        add_list(sheets, one)
    workbook.close()
    return target.getvalue()


def _first(sheets: RescreenSheets, document: Mapping[str, Any], lists: Sequence[Listing]) -> None:
    sheet = sheets.sheet("Rescreen", f"Rescreen on levels of {document['levels_on']}")
    sheet.set_column(0, 0, 22)
    sheet.set_column(1, 1, 100)
    row = 3
    for line in summary(document):
        put(sheet, row, 1, line[:1].upper() + line[1:], sheets.format(BODY, text_wrap=True))
        row += 1
    row += 1
    for one in lists:
        link = sheets.format(BODY, font_color="#1F4E9E", underline=1)
        sheet.write_url(row, 0, f"internal:'{one.name}'!A1", link, one.name)
        put(sheet, row, 1, f"{one.title} ({len(one.rows)})", sheets.format(BODY, text_wrap=True))
        row += 1
    put(sheet, row + 1, 0, "Caution", sheets.format(BODY, bold=True))
    put(sheet, row + 1, 1, readable(document["caution"]), sheets.format(BODY, text_wrap=True))
    sheet.set_row(row + 1, 30)
    sheet.freeze_panes(3, 0)
    sheet.fit_to_pages(1, 0)
