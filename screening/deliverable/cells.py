"""A file as rows of text, each cell where its user sees it. Nothing is interpreted here but the container."""

from __future__ import annotations

import codecs
import contextlib
import csv
import datetime as dt
import hashlib
import io
import os
import re
import struct
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any

from screening.deliverable.delimited import by_column, columns_of
from screening.deliverable.extent import LAST_COLUMN, LONGEST_CELL, Misshapen, refuse_long, refuse_spread
from screening.deliverable.marks import NO_VALUE, Marks
from screening.deliverable.marks_ods import ods_marks
from screening.deliverable.marks_xls import xls_marks
from screening.deliverable.rows import Below, ByColumn
from screening.deliverable.xls import believable
from screening.deliverable.xlsx import OutOfTheOrdinary, Page, read_plain
from screening.deliverable.xml_book import read_xml_book
from screening.errors import Refused
from screening.files import read_whole

LARGEST_FILE = 4 * 1024**3
LARGEST_UNPACKED = 1024**3
LARGEST_MODEL = 200 * 1024**2
"""Unpacked bytes of a workbook that is held in memory as a whole."""
UNPACKED_AT_EASE, MOST_TIMES = 50 * 1024**2, 200
"""Unpacked bytes that are not asked how small they were packed; how many times its size a larger file may unpack to."""
_HEAD, _BLOCK = 200_000, 1 << 24
"""Characters that are looked at to tell how a text is written; bytes that are decoded at a time."""
COMPOUND_FILE = bytes.fromhex("D0CF11E0A1B11AE1")
DELIMITERS = ",\t;|"
UNSEEN = "hidden rows and struck-out cells of this old workbook cannot be told; look at it in a spreadsheet program"


@dataclass(frozen=True)
class Sheet:
    """Rows of text; ``rows[n - 1]`` is the row that a spreadsheet numbers n. Text files have one sheet named ''."""

    name: str
    rows: Sequence[list[str]]
    marks: Marks = field(default_factory=Marks)

    @cached_property
    def _columns(self) -> ByColumn:
        return self.rows if isinstance(self.rows, ByColumn) else by_column(self.rows)

    def below(self, above: int) -> Below:
        """The rows below so many."""
        return Below(self._columns, above)


@dataclass(frozen=True)
class Book:
    """One delivered file: name, SHA-256 of its bytes, sheets, and how a text file was decoded."""

    file: str
    sha256: str
    sheets: list[Sheet]
    notes: tuple[str, ...] = field(default=())


def read_book(path: Path) -> Book:
    """Read a csv, tsv, txt, xlsx, xls or ods file into text cells.

    Raises `Refused` for what cannot be read, naming the file and the remedy.
    """
    if not path.exists():
        raise Refused(f"{path}: there is no such file; check the name and the folder")
    if path.is_dir():
        raise Refused(f"{path}: is a folder; name the files in it")
    if path.name.startswith("~$") or (path.parent / f"~${path.name}").exists():
        raise Refused(f"{path}: is open in a spreadsheet program; save and close it, then import again")
    data = read_whole(path, LARGEST_FILE)
    sheets, notes = _sheets(path, data)
    for sheet in sheets:
        refuse_long(str(path), sheet.name, sheet.rows)
    if not any(any(cell for cell in row) for sheet in sheets for row in sheet.rows):
        raise Refused(f"{path}: holds no text in any cell; ask the laboratory for the file again")
    return Book(path.name, hashlib.sha256(data).hexdigest(), sheets, notes)


def fingerprint_of(path: Path) -> str | None:
    """SHA-256 of a file's bytes, as `Book` carries it; None where it cannot be read, which `read_book` will tell."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None


def _sheets(path: Path, data: bytes) -> tuple[list[Sheet], tuple[str, ...]]:
    if data.startswith(COMPOUND_FILE):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise Refused(f"{path}: is protected by a password; save a copy without one and import that")
        sheets = _calamine_sheets(path, believable(str(path), data))
        marks = xls_marks(data)
        return _marked(sheets, marks or {}), () if marks is not None else (UNSEEN,)
    if data.startswith(b"PK"):
        return _zipped_sheets(path, data), ()
    if (
        data[:2000].lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"<?xml")
        and b"urn:schemas-microsoft-com:office:spreadsheet" in data[:4000]
    ):
        return _of_pages(read_xml_book(str(path), data, _plain)), ()
    return _text_sheet(path, data)


def _of_pages(pages: Sequence[Page]) -> list[Sheet]:
    return _marked([(page.name, page.rows) for page in pages], {page.name: page.marks for page in pages})


def _marked(sheets: list[tuple[str, list[list[str]]]], marks: Mapping[str, Marks]) -> list[Sheet]:
    """The sheets with their marks; a cell whose formula was never worked out says so, as a blank could be passed over."""
    for name, rows in sheets:
        for row, column in marks.get(name, Marks()).uncalculated:
            rows.extend([] for _ in range(row - len(rows)))
            cells = rows[row - 1]
            cells.extend("" for _ in range(column - len(cells)))
            cells[column - 1] = cells[column - 1] or NO_VALUE
    return [Sheet(name, rows, marks.get(name, Marks())) for name, rows in sheets]


def _zipped_sheets(path: Path, data: bytes) -> list[Sheet]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
    except (zipfile.BadZipFile, ValueError, struct.error, NotImplementedError) as error:
        raise Refused(f"{path}: is damaged (its end is missing); ask for the file again") from error
    names = {member.filename for member in members}
    unpacked = sum(member.file_size for member in members)
    if unpacked > LARGEST_UNPACKED:
        raise Refused(f"{path}: unpacks to more than {LARGEST_UNPACKED // 1024**3} GiB; split it or save it as csv")
    if unpacked > max(UNPACKED_AT_EASE, MOST_TIMES * len(data)):
        raise Refused(f"{path}: unpacks to {unpacked // len(data)} times its size, as no table does; save it as csv")
    if "xl/workbook.xml" in names:
        try:
            return _of_pages(read_plain(str(path), data, _shown))
        except OutOfTheOrdinary:
            if unpacked > LARGEST_MODEL:
                raise Refused(f"{path}: is too large for a workbook of its kind; save the sheet as csv") from None
            return _openpyxl_sheets(path, data)
    if "content.xml" in names:
        if unpacked > LARGEST_MODEL:
            raise Refused(f"{path}: unpacks to more than {LARGEST_MODEL // 1024**2} MiB; save it as xlsx or csv")
        marks = ods_marks(str(path), data)  # looks at its shape, before a reader makes cells of it
        return _marked(_calamine_sheets(path, data), marks)
    raise Refused(f"{path}: is an archive but not a spreadsheet; unpack it and name the files in it")


def _openpyxl_sheets(path: Path, data: bytes) -> list[Sheet]:
    import openpyxl

    try:
        with contextlib.redirect_stdout(io.StringIO()):  # openpyxl prints what it does not find
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True, keep_links=False)
            formulas = _formula_cells(data) and openpyxl.load_workbook(io.BytesIO(data), keep_links=False)
        return _of_pages([_openpyxl_page(path, page, formulas and formulas[page.title]) for page in book.worksheets])
    except Refused:
        raise
    except Exception as error:
        told = next(iter(str(error).splitlines()), type(error).__name__)
        raise Refused(f"{path}: cannot be read as a workbook ({told}); save it again as xlsx or csv") from error


def _openpyxl_page(path: Path, page: Any, formulas: Any) -> Page:
    refuse_spread(str(path), page.title, page.max_row, page.max_column, len(page._cells))
    rows: list[list[str]] = []
    struck: set[tuple[int, int]] = set()
    uncalculated: set[tuple[int, int]] = set()
    for cells in page.iter_rows(min_row=1, min_col=1):
        rows.append([_shown(cell.value, cell.number_format or "") for cell in cells])
        for cell in cells:
            if cell.value is not None and cell.font is not None and cell.font.strike:
                struck.add((cell.row, cell.column))
    if formulas:
        for cells in formulas.iter_rows():
            for cell in cells:
                place = (cell.row or 0, cell.column or 0)
                if cell.data_type == "f" and page.cell(*place).value is None:
                    uncalculated.add(place)
    hidden = frozenset(number for number, shape in page.row_dimensions.items() if shape.hidden)
    columns = frozenset(
        number
        for shape in page.column_dimensions.values()
        if shape.hidden
        for number in range(shape.min or 1, min(shape.max or 1, LAST_COLUMN) + 1)
    )
    marks = Marks(page.sheet_state != "visible", hidden, columns, frozenset(struck), frozenset(uncalculated))
    return Page(page.title, rows, marks)


def _formula_cells(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        pages = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return any(b"<f>" in text or b"<f " in text for text in map(archive.read, pages))


@contextlib.contextmanager
def _panics_untold() -> Iterator[None]:
    """That reader writes its panics to standard error by itself; the refusal tells them."""
    try:
        kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # no standard error: nothing to keep it from
        yield
        return
    os.dup2(nowhere, 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


def _calamine_sheets(path: Path, data: bytes) -> list[tuple[str, list[list[str]]]]:
    from python_calamine import CalamineWorkbook

    try:
        with _panics_untold():
            book = CalamineWorkbook.from_filelike(io.BytesIO(data))
            # skip_empty_area would move the rows, and a row number must be the one the user sees
            read = [(name, book.get_sheet_by_name(name).to_python(skip_empty_area=False)) for name in book.sheet_names]
        return [(name, [[_text(value) for value in row] for row in rows]) for name, rows in read]
    except BaseException as error:
        # a panic of that reader is no Exception
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        raise Refused(f"{path}: cannot be read as a spreadsheet ({error}); save it again as xlsx or csv") from error


def _shown(value: object, number_format: str) -> str:
    """The value as its spreadsheet shows it: padded zeros and per cent kept, digits never cut."""
    text = _text(value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return text
    if "%" in number_format:
        return f"{_plain(Decimal(text) * 100)}%"
    places = re.fullmatch(r"[#,0]*0(?:\.(0+))?(?:_\).*)?", number_format)
    if places and places[1] and "E" not in text and len(text.partition(".")[2]) < len(places[1]):
        return str(Decimal(text).quantize(Decimal(1).scaleb(-len(places[1]))))
    return text


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return _plain(Decimal(f"{value:.15g}"))
    if isinstance(value, dt.datetime):
        return value.strftime("%Y-%m-%d") if value.time() == dt.time() else value.strftime("%Y-%m-%d %H:%M:%S")
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    return str(value).strip()


def _plain(number: Decimal) -> str:
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _text_sheet(path: Path, data: bytes) -> tuple[list[Sheet], tuple[str, ...]]:
    head, encoding = _decode(path, data)
    delimiter = _delimiter(head)
    named = {",": "comma", "\t": "tab", ";": "semicolon", "|": "vertical bar"}[delimiter]
    try:
        rows = columns_of(_in_utf8(data, encoding), delimiter)
    except csv.Error as error:
        told = (
            f"a cell holds more than {LONGEST_CELL} characters; is a quotation mark left open?"
            if "limit" in str(error)
            else error
        )
        raise Refused(f"{path}: cannot be read as delimited text ({told}); save it again as csv") from error
    except Misshapen as error:
        raise Refused(f"{path}: {error}; save only the table as csv") from error
    return [Sheet("", rows)], (f"read as {encoding.removesuffix('-sig').upper()} text, cells parted by {named}",)


def _in_utf8(data: bytes, encoding: str) -> bytes:
    if encoding == "utf-8":
        return data
    return data[3:] if encoding == "utf-8-sig" else data.decode(encoding).encode()


def _decode(path: Path, data: bytes) -> tuple[str, str]:
    """The beginning of a text, and its encoding."""
    marks = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
    encodings = [name for mark, name in marks if data.startswith(mark)] or ["utf-8", "cp1252"]
    for encoding in encodings:
        try:
            head = _head(data, encoding)
        except UnicodeDecodeError:
            continue
        if re.search(r"[\x00-\x08\x0e-\x1a\x1c-\x1f]", head):
            break
        return head, encoding
    raise Refused(f"{path}: is neither text nor a spreadsheet; ask the laboratory for csv or xlsx")


def _head(data: bytes, encoding: str) -> str:
    """The beginning of a text, all of which is decoded, a block at a time. Raises `UnicodeDecodeError`."""
    decoder = codecs.getincrementaldecoder(encoding)()
    head = ""
    for first in range(0, len(data), _BLOCK):
        text = decoder.decode(data[first : first + _BLOCK])
        head += text[: _HEAD - len(head)]
    return head + decoder.decode(b"", final=True)[: _HEAD - len(head)]


def _delimiter(text: str) -> str:
    """The mark that parts the first lines into the most columns, most evenly."""
    lines = [line for line in text[:100_000].splitlines()[:60] if line.strip()]
    csv.field_size_limit(len(text))  # by another mark a whole line is one cell

    def score(mark: str) -> tuple[int, int]:
        widths = [len(row) for row in csv.reader(lines, delimiter=mark)]
        if not widths:
            return (0, 0)
        usual = max(set(widths), key=lambda width: (widths.count(width) * (width > 1), width))
        return (widths.count(usual) * (usual > 1), usual)

    return max(DELIMITERS, key=score)
