"""The plain workbook (xlsx), read straight from its XML: texts as shown, and the marks beside them.

Reads what laboratories send in a tenth of the time of a whole workbook model. Whatever is out of the ordinary is left to
that model: every reading here either gives the same texts, or none.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import IO, TypeVar
from xml.etree import ElementTree

from screening.deliverable.extent import refuse_spread
from screening.deliverable.marks import Marks
from screening.deliverable.number_formats import BUILT_IN, FIRST_OWN, moment_of, shows_date, shows_span
from screening.deliverable.xlsx_rows import TAKEN, Cell, parts_of, take_out

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINKED = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_ROW, _CELL, _VALUE, _FORMULA, _INSIDE, _PLAIN, _COL, _MERGED = (
    f"{MAIN}{name}" for name in ("row", "c", "v", "f", "is", "t", "col", "mergeCell")
)
_TAKEN = f"{MAIN}{TAKEN}"
_LETTERS = re.compile(r"[A-Z]{1,3}")
_RANGE = re.compile(r"([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})")
AT_ONCE = 20_000_000
"""Bytes of a sheet's XML, its plain rows taken out, up to which it is read as a whole; a larger one is read row by row."""
MOST_AT_ONCE = 200_000_000
"""Bytes of a sheet's XML up to which its plain rows are taken out first."""
MOST_MERGED = 1_000_000
"""Cells in merged ranges beyond this are left to the workbook model."""

T = TypeVar("T")
Shown = Callable[[object, str], str]
"""A value and its number format as the text that the user sees."""


class OutOfTheOrdinary(Exception):
    """Something that this reader leaves to the workbook model."""


@dataclass(frozen=True)
class Page:
    """One sheet: its name, its rows of texts (all as long as the widest), its marks."""

    name: str
    rows: list[list[str]]
    marks: Marks


@dataclass(frozen=True)
class _Style:
    code: str = "General"
    struck: bool = False
    date: bool = False


@dataclass
class _Cells:
    """What the XML of one sheet holds, by row and column from 1."""

    rows: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    width: int = 0
    struck: set[tuple[int, int]] = field(default_factory=set)
    uncalculated: set[tuple[int, int]] = field(default_factory=set)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)


def read_plain(file: str, data: bytes, shown: Shown) -> list[Page]:
    """The sheets of a workbook in their order.

    Raises `OutOfTheOrdinary` for what the workbook model must read, and `Refused` for a few cells over a very large area.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return list(_pages(file, archive, shown))
    except (
        ElementTree.ParseError,
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        LookupError,
        ValueError,
        OverflowError,
        RuntimeError,
    ) as error:
        raise OutOfTheOrdinary(str(error)) from error


def _pages(file: str, archive: zipfile.ZipFile, shown: Shown) -> Iterator[Page]:
    names = set(archive.namelist())
    book = _root(archive, "xl/workbook.xml", "workbook")
    told = _root(archive, "xl/_rels/workbook.xml.rels")
    parts = {
        link.get("Id"): (link.get("Type") or "", posixpath.normpath(posixpath.join("xl", link.get("Target") or "")).lstrip("/"))
        for link in told
    }
    shared = next((part for kind, part in parts.values() if kind.endswith("/sharedStrings")), "")
    texts = _shared_texts(archive, shared) if shared in names else []
    styles = _styles(archive) if "xl/styles.xml" in names else [_Style()]
    properties = book.find(f"{MAIN}workbookPr")
    since_1904 = properties is not None and properties.get("date1904") in ("1", "true")
    sheets = list(book.iter(f"{MAIN}sheet"))
    titles = [sheet.get("name") or "" for sheet in sheets]
    if not all(titles) or len({title.casefold() for title in titles}) < len(titles):
        raise OutOfTheOrdinary("sheets without a name of their own")
    for sheet in sheets:
        kind, part = parts[sheet.get(_LINKED)]
        if kind.endswith("/chartsheet"):
            continue
        if not kind.endswith("/worksheet") or part not in names:
            raise OutOfTheOrdinary(f"sheet of kind {kind}")
        with archive.open(part) as stream:
            if b"<!" in stream.read(1024):
                raise OutOfTheOrdinary("a declaration stands in front of the sheet")
        with archive.open(part) as stream:
            size = archive.getinfo(part).file_size
            found = _Reader(texts, styles, shown, since_1904=since_1904).read(stream, size)
        state = sheet.get("state") or "visible"
        marks = Marks(
            state != "visible", frozenset(found.hidden_rows), frozenset(found.hidden_columns), frozenset(found.struck),
            frozenset(found.uncalculated),
        )  # fmt: skip
        yield Page(sheet.get("name") or "", _as_rows(file, sheet.get("name") or "", found), marks)


def _root(archive: zipfile.ZipFile, part: str, name: str = "") -> ElementTree.Element:
    text = archive.read(part)
    if b"<!" in text:
        raise OutOfTheOrdinary(f"{part} declares something")
    root = ElementTree.fromstring(text)
    if name and root.tag != f"{MAIN}{name}":
        raise OutOfTheOrdinary(f"{part} is no {name} of the usual kind")
    return root


def _shared_texts(archive: zipfile.ZipFile, part: str) -> list[str]:
    return [_text_of(item).replace("x005F_", "").strip() for item in _root(archive, part, "sst").iter(f"{MAIN}si")]


def _text_of(item: ElementTree.Element) -> str:
    """The text of a cell or of a shared text without its phonetic guide."""
    if len(item) == 1 and item[0].tag == _PLAIN:
        return item[0].text or ""
    plain = item.findall(_PLAIN)
    runs = [part for run in item.findall(f"{MAIN}r") for part in run.findall(_PLAIN)]
    return "".join(part.text or "" for part in (*plain, *runs))


def _styles(archive: zipfile.ZipFile) -> list[_Style]:
    root = _root(archive, "xl/styles.xml", "styleSheet")
    own = {int(one.get("numFmtId", "0")): one.get("formatCode", "") for one in root.iter(f"{MAIN}numFmt")}
    struck = [_is_on(font.find(f"{MAIN}strike")) for font in root.findall(f"{MAIN}fonts/{MAIN}font")]
    made = []
    for style in root.findall(f"{MAIN}cellXfs/{MAIN}xf"):
        number, font = int(style.get("numFmtId", "0")), int(style.get("fontId", "0"))
        code = own[number] if number >= FIRST_OWN else own.get(number) or BUILT_IN.get(number, "General")
        if shows_span(code):
            code = "[h]"  # the workbook model shows lengths of time
        made.append(_Style(code, struck[font] if struck else False, shows_date(code)))
    return made or [_Style()]


def _is_on(flag: ElementTree.Element | None) -> bool:
    return flag is not None and flag.get("val", "1") not in ("0", "false", "off", "f", "n")


def _elements(source: bytes | IO[bytes]) -> Iterator[ElementTree.Element]:
    """The elements of a sheet in their order; a row may be cleared once it is read."""
    if isinstance(source, bytes) and len(source) <= AT_ONCE:
        root = ElementTree.fromstring(source)
        yield from (element for part in root for element in part)
    else:
        stream = io.BytesIO(source) if isinstance(source, bytes) else source
        yield from (element for _, element in ElementTree.iterparse(stream))


class _Found(dict[str, T]):
    """What was found for each text, found once."""

    def __init__(self, find: Callable[[str], T]) -> None:
        super().__init__()
        self._find = find

    def __missing__(self, text: str) -> T:
        found = self[text] = self._find(text)
        return found


class _Reader:
    """The XML of one sheet, row by row."""

    def __init__(self, texts: list[str], styles: list[_Style], shown: Shown, *, since_1904: bool) -> None:
        self._texts, self._styles, self._shown, self._since_1904 = texts, styles, shown, since_1904
        self._numbers: dict[tuple[str, str], str] = {}
        self._column = _Found(self._number_of)
        self._taken: list[list[Cell]] = []
        self._plain = _Found(self._plain_text)
        self._struck: set[str] = set()

    def read(self, stream: IO[bytes], size: int) -> _Cells:
        found = _Cells()
        at = 0
        source: bytes | IO[bytes] = stream
        if size <= MOST_AT_ONCE:
            source, self._taken = take_out(data := stream.read()) or (data, [])
        for element in _elements(source):
            if element.tag == _ROW:
                at = int(element.get("r") or at + 1)
                if element.get("hidden") in ("1", "true"):
                    found.hidden_rows.add(at)
                self._row(found, at, element)
                element.clear()
            elif element.tag == _COL:
                if element.get("hidden") in ("1", "true"):
                    last = min(int(element.get("max") or 1), 20_000)
                    found.hidden_columns.update(range(int(element.get("min") or 1), last + 1))
            elif element.tag == _MERGED:
                found.merged.append(self._range(element.get("ref") or ""))
        return found

    def _row(self, found: _Cells, at: int, row: ElementTree.Element) -> None:
        plain = len(row) == 1 and row[0].tag == _TAKEN
        cells = self._plain_cells(found, at, self._taken[int(row[0].get("row") or 0)]) if plain else self._cells(found, at, row)
        if cells:
            if at in found.rows:
                raise OutOfTheOrdinary("a row stands twice")
            found.rows[at] = cells
            found.width = max(found.width, max(cells)[0])

    def _plain_cells(self, found: _Cells, at: int, taken: list[Cell]) -> list[tuple[int, str]]:
        """As `_cells` of the cells that were taken out."""
        cells: list[tuple[int, str]] = []
        number, columns, texts = str(at), self._column, self._plain
        cells = [(columns[letters], texts[rest]) for letters, row, rest in taken if row == number]
        if len(cells) < len(taken):
            raise OutOfTheOrdinary(f"a cell of another row in row {number}")
        if self._struck:
            found.struck.update((at, columns[letters]) for letters, _, rest in taken if rest in self._struck)
        return cells

    def _plain_text(self, rest: str) -> str:
        """The text of a cell that was taken out; what is struck out is noted."""
        number, kind, value, inside = parts_of(rest)
        style = self._styles[number]
        if kind == "inlineStr":
            text = None if inside is None else inside.strip()
        else:
            text = self._shown_as(kind, value, style) if value else None
        if style.struck and text is not None:
            self._struck.add(rest)
        return text or ""

    def _cells(self, found: _Cells, at: int, row: ElementTree.Element) -> list[tuple[int, str]]:
        cells: list[tuple[int, str]] = []
        column, number = 0, str(at)
        for cell in row:
            if cell.tag != _CELL:
                raise OutOfTheOrdinary(f"{cell.tag} in a row")
            place = cell.get("r")
            if place:
                letters = place.rstrip("0123456789")
                if place[len(letters) :] != number:
                    raise OutOfTheOrdinary(f"cell {place} in row {number}")
                column = self._column[letters]
            else:
                column += 1
            style = self._styles[int(cell.get("s") or 0)]
            text = self._value(cell, style)
            if text is None:
                if cell.find(_FORMULA) is not None:
                    found.uncalculated.add((at, column))
                text = ""
            elif style.struck:
                found.struck.add((at, column))
            cells.append((column, text))
        return cells

    def _number_of(self, letters: str) -> int:
        if not _LETTERS.fullmatch(letters):
            raise OutOfTheOrdinary(f"column {letters}")
        number = 0
        for letter in letters:
            number = number * 26 + ord(letter) - 64
        return number

    def _range(self, text: str) -> tuple[int, int, int, int]:
        match = _RANGE.fullmatch(text)
        if not match:
            raise OutOfTheOrdinary(f"merged cells {text}")
        return int(match[2]), self._number_of(match[1]), int(match[4]), self._number_of(match[3])

    def _value(self, cell: ElementTree.Element, style: _Style) -> str | None:
        """The text of a cell; None where it holds no value."""
        kind = cell.get("t") or "n"
        if kind == "inlineStr":
            inside = cell.find(_INSIDE)
            return None if inside is None else _text_of(inside).strip()
        value = cell.findtext(_VALUE)
        return self._shown_as(kind, value, style) if value else None

    def _shown_as(self, kind: str, value: str, style: _Style) -> str:
        """The text of a value of a kind."""
        if kind == "s":
            return self._texts[int(value)]
        if kind in ("str", "e"):
            return value.strip()
        if kind == "b":
            return "TRUE" if int(value) else "FALSE"
        if kind != "n":
            raise OutOfTheOrdinary(f"a cell of kind {kind}")
        key = (value, style.code)
        if key not in self._numbers:
            self._numbers[key] = self._number(value, style)
        return self._numbers[key]

    def _number(self, value: str, style: _Style) -> str:
        number = float(value) if set(value) & set(".eE") else int(value)
        if not style.date:
            return self._shown(number, style.code)
        moment = None if shows_span(style.code) else moment_of(number, since_1904=self._since_1904)
        if moment is None:
            raise OutOfTheOrdinary(f"the date or time {value}")
        return self._shown(moment, style.code)


def _as_rows(file: str, name: str, found: _Cells) -> list[list[str]]:
    height, width = max(found.rows, default=1), max(found.width, 1)
    for top, left, bottom, right in found.merged:
        height, width = max(height, bottom), max(width, right)
        if (bottom - top + 1) * (right - left + 1) > MOST_MERGED:
            raise OutOfTheOrdinary("merged cells over much of the sheet")
    refuse_spread(file, name, height, width, sum(map(len, found.rows.values())))
    rows = []
    for at in range(1, height + 1):
        row = [""] * width
        for column, text in found.rows.get(at, ()):
            row[column - 1] = text
        rows.append(row)
    for top, left, bottom, right in found.merged:  # only the first cell of a merged range holds a text
        for at in range(top, bottom + 1):
            for column in range(left, right + 1):
                if (at, column) != (top, left):
                    rows[at - 1][column - 1] = ""
                    found.struck.discard((at, column))
                    found.uncalculated.discard((at, column))
    return rows
