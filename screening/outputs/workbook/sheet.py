"""What all sheets of the workbook share: formats, texts and numbers written as such, the set-up of the printed page."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any, BinaryIO

from screening.outputs.lists import Amount, Value
from screening.outputs.tables import KEY
from screening.outputs.texts import readable

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from screening.decision.contents import Contents

LETTER = 1
LONGEST_TEXT = 2000
"""Characters of one cell; a longer text is cut with its length said, and stands whole in the data files."""
MOST_DIGITS = 15
"""Digits that a spreadsheet's number holds; a number with more is written as text."""

FONT = {"font_name": "Arial", "font_size": 10}
"""The workbook's own font, in whose digits column widths are counted."""
BODY = {**FONT, "valign": "top"}
HEADING = {**BODY, "bold": True, "text_wrap": True, "valign": "bottom", "bg_color": "#E9ECEF", "bottom": 2, "top": 1}
TITLE = {**BODY, "bold": True, "font_size": 14}
QUIET = {**BODY, "font_color": "#444444", "font_size": 9}


def new_workbook(target: BinaryIO) -> Workbook:
    """A workbook that writes every text as text and counts widths in the digits of its own font."""
    import xlsxwriter

    as_text = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    return xlsxwriter.Workbook(target, {**as_text, "in_memory": True, "default_format_properties": dict(FONT)})


class Sheets(ABC):
    """A workbook with the formats made so far."""

    def __init__(self, workbook: Workbook) -> None:
        self.workbook = workbook
        self._formats: dict[tuple[tuple[str, Any], ...], Format] = {}
        self._asked: dict[tuple[Any, ...], tuple[Mapping[str, Any], Format]] = {}

    def format(self, base: Mapping[str, Any], **more: Any) -> Format:
        """A format by its properties; equal ones are made once, and one asked for again with the same ``base`` is found fast."""
        asked = (id(base), *more.items())
        if asked not in self._asked:
            properties = {**base, **more}
            key = tuple(sorted(properties.items()))
            if key not in self._formats:
                self._formats[key] = self.workbook.add_format(properties)
            self._asked[asked] = (base, self._formats[key])  # the base is kept, so that its id stays its own
        return self._asked[asked][1]

    @abstractmethod
    def sheet(self, name: str, title: str, *, landscape: bool = True) -> Worksheet:
        """A new sheet with its title, what stands on every sheet, and its printed page set up; column widths are the caller's."""

    def number(self, sheet: Worksheet, row: int, column: int, value: Decimal, text: str, base: Mapping[str, Any]) -> None:
        """Write a number with as many decimals as its text shows; as text where a spreadsheet cannot hold its digits."""
        if len(value.as_tuple().digits) > MOST_DIGITS and str(text) == f"{value:f}":
            put(sheet, row, column, text, self.format(base, align="right"))
            return
        decimals = max(0, -int(Decimal(text).as_tuple().exponent))
        shape = "0" if not decimals else "0." + "0" * min(decimals, 30)
        sheet.write_number(row, column, float(value), self.format(base, num_format=shape, align="right"))

    def value(self, sheet: Worksheet, row: int, column: int, value: Value, base: Mapping[str, Any]) -> None:
        """Write a value of a list as what it is."""
        if isinstance(value, Amount):
            if value.number is None:
                put(sheet, row, column, value.text, self.format(base, align="right"))
            else:
                self.number(sheet, row, column, value.number, value.text, base)
        elif isinstance(value, int):
            sheet.write_number(row, column, value, self.format(base, num_format="0", align="right"))
        elif value:
            put(sheet, row, column, value, self.format(base))
        else:
            sheet.write_blank(row, column, None, self.format(base))


class Book(Sheets):
    """The workbook of a run: which run and data it shows stands on every sheet."""

    def __init__(self, workbook: Workbook, contents: Contents) -> None:
        super().__init__(workbook)
        self.contents = contents

    @property
    def line(self) -> str:
        """Which run and data a sheet shows."""
        answer = self.contents.answer
        stale = "; STALE: the data have changed since" if self.contents.stale else ""
        return readable(
            f"{answer['site_name']} (site {answer['site']}), run {answer['run']}, data state {answer['data']}{stale}", 300
        )

    def sheet(self, name: str, title: str, *, landscape: bool = True) -> Worksheet:
        """A new sheet with its title, the line of the run, and its printed page set up; column widths are the caller's."""
        sheet = self.workbook.add_worksheet(name)
        sheet.hide_gridlines(2)
        sheet.set_paper(LETTER)
        if landscape:
            sheet.set_landscape()
        sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.75)
        answer = self.contents.answer
        run = in_header(f"run {answer['run']}, data state {answer['data']}")
        key = "E bold in a heavy box: exceeds   ? in a dashed box: open   n: no level   ( ): not counted   <: not detected   –: not analysed"
        aid = "A screening aid for a licensed professional's decision"
        sheet.set_header(f"&L&8 {in_header(readable(answer['site_name'], 60))}&R&8 {in_header(readable(title, 60))}")
        sheet.set_footer(f"&L&8{in_header(key)}\n{aid}&R&8\n{run}, page &P of &N")
        put(sheet, 0, 0, title, self.format(TITLE))
        sheet.set_row(0, 20)
        put(sheet, 1, 0, self.line, self.format(QUIET))
        return sheet


def put(sheet: Worksheet, row: int, column: int, text: str, shape: Format) -> None:
    """Write a text as text, whatever it looks like."""
    sheet.write_string(row, column, readable(text, LONGEST_TEXT), shape)


def key_lines() -> list[str]:
    """The key of marks as lines of text."""
    return [f"{mark}  {words}" if mark else words for mark, words in KEY]


def in_header(text: str) -> str:
    """A text in a header or footer, where '&' begins a command."""
    return text.replace("&", "&&").replace("\n", " ")
