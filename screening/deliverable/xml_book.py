"""A workbook written as one XML text, as older spreadsheet programs and report writers do."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from xml.etree import ElementTree

from screening.deliverable.extent import LAST_COLUMN, LAST_ROW, Misshapen, place_in, refuse_spread, repeats_in
from screening.deliverable.marks import Marks
from screening.deliverable.xlsx import Page
from screening.errors import Refused

_SPACE = "{urn:schemas-microsoft-com:office:spreadsheet}"
_SHEET, _ROW, _CELL = f"{_SPACE}Worksheet", f"{_SPACE}Table/{_SPACE}Row", f"{_SPACE}Cell"
_VISIBLE = "{urn:schemas-microsoft-com:office:excel}Visible"


def read_xml_book(file: str, data: bytes, plain: Callable[[Decimal], str]) -> list[Page]:
    """The sheets in their order; ``plain`` writes a number without an exponent. Raises `Refused` for what is damaged."""
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise Refused(f"{file}: declares entities, which a workbook has no need of; save it again as xlsx")
    try:
        root = ElementTree.fromstring(data)
        _refuse_nested(root)
        struck = {
            style.get(f"{_SPACE}ID")
            for style in root.findall(f"{_SPACE}Styles/{_SPACE}Style")
            if any(font.get(f"{_SPACE}StrikeThrough") == "1" for font in style.findall(f"{_SPACE}Font"))
        }
        return [_page(file, page, struck, plain) for page in root.findall(_SHEET)]
    except (ElementTree.ParseError, Misshapen, LookupError, ValueError) as error:
        raise Refused(f"{file}: is damaged ({error}); save it again as xlsx or csv") from error


def _refuse_nested(root: ElementTree.Element) -> None:
    """Each row lies in a table, each cell in a row; what lies elsewhere would be lost (and sought again at every level)."""
    for path in (_SHEET, f"{_SHEET}/{_ROW}", f"{_SHEET}/{_ROW}/{_CELL}"):
        _, _, name = path.rpartition("}")
        if sum(1 for _ in root.iter(f"{_SPACE}{name}")) != len(root.findall(path)):
            raise Misshapen(f"an element {name} lies within another where none belongs")


def _page(file: str, page: ElementTree.Element, struck_styles: set[str | None], plain: Callable[[Decimal], str]) -> Page:
    name = page.get(f"{_SPACE}Name") or ""
    rows: list[list[str]] = []
    hidden, hidden_columns, struck, uncalculated = set(), set(), set(), set()
    at = 0
    for column in page.findall(f"{_SPACE}Table/{_SPACE}Column"):
        at = place_in(column.get(f"{_SPACE}Index"), at + 1, LAST_COLUMN)
        wide = min(repeats_in(column.get(f"{_SPACE}Span"), 0), LAST_COLUMN)
        if column.get(f"{_SPACE}Hidden") == "1":
            hidden_columns |= set(range(at, at + wide + 1))
        at += wide
    wide = filled = 0
    for row in page.findall(_ROW):
        number = place_in(row.get(f"{_SPACE}Index"), len(rows) + 1, LAST_ROW)
        rows.extend([] for _ in range(number - 1 - len(rows)))
        cells: list[str] = []
        for cell in row.findall(_CELL):
            at = place_in(cell.get(f"{_SPACE}Index"), len(cells) + 1, LAST_COLUMN)
            cells.extend("" for _ in range(at - 1 - len(cells)))
            datum = cell.find(f"{_SPACE}Data")
            text = "" if datum is None else _text(datum, plain)
            cells.append(text)
            filled += bool(text)
            if text and (cell.get(f"{_SPACE}StyleID") or row.get(f"{_SPACE}StyleID")) in struck_styles:
                struck.add((number, len(cells)))
            elif not text and cell.get(f"{_SPACE}Formula"):
                uncalculated.add((number, len(cells)))
            cells.extend("" for _ in range(min(repeats_in(cell.get(f"{_SPACE}MergeAcross"), 0), LAST_COLUMN)))
            if len(cells) > LAST_COLUMN:
                raise Misshapen(f"row {number} has more than {LAST_COLUMN} columns")
        rows.append(cells)
        wide = max(wide, len(cells))
        refuse_spread(file, name, len(rows), wide, filled)
        if row.get(f"{_SPACE}Hidden") == "1":
            hidden.add(number)
    unseen = any(text.text != "SheetVisible" for text in page.iter(_VISIBLE))
    marks = Marks(unseen, frozenset(hidden), frozenset(hidden_columns), frozenset(struck), frozenset(uncalculated))
    return Page(name, rows, marks)


def _text(datum: ElementTree.Element, plain: Callable[[Decimal], str]) -> str:
    text = "".join(datum.itertext()).strip()
    if datum.get(f"{_SPACE}Type") == "Number" and ("e" in text.lower() or len(text) > 16):
        return plain(Decimal(f"{float(text):.15g}"))
    if datum.get(f"{_SPACE}Type") == "DateTime":
        return text.removesuffix("T00:00:00.000").replace("T", " ").removesuffix(".000")
    return text
