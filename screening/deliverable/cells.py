"""A file as rows of text, each cell where its user sees it. Nothing is interpreted here but the container."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from pathlib import Path

from screening.deliverable.delimited import by_column, columns_of
from screening.deliverable.marks import NO_VALUE, Marks
from screening.deliverable.marks_ods import ods_marks
from screening.deliverable.marks_xls import xls_marks
from screening.deliverable.rows import Below, ByColumn
from screening.deliverable.xlsx import OutOfTheOrdinary, read_plain
from screening.errors import Refused
from screening.files import read_whole

LARGEST_FILE = 4 * 1024**3
LARGEST_UNPACKED = 1024**3
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
        sheets = _calamine_sheets(path, data)
        marks = xls_marks(data)
        return _marked(sheets, marks or {}), () if marks is not None else (UNSEEN,)
    if data.startswith(b"PK"):
        return _zipped_sheets(path, data), ()
    if (
        data[:2000].lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"<?xml")
        and b"urn:schemas-microsoft-com:office:spreadsheet" in data[:4000]
    ):
        return _xml_sheets(path, data), ()
    return _text_sheet(path, data)


def _marked(sheets: list[tuple[str, list[list[str]]]], marks: Mapping[str, Marks]) -> list[Sheet]:
    """The sheets with their marks; a cell whose formula was never worked out says so, as a blank could be passed over."""
    for name, rows in sheets:
        for row, column in marks.get(name, Marks()).uncalculated:
            rows.extend([] for _ in range(row - len(rows)))
            cells = rows[row - 1]
            cells.extend("" for _ in range(column - len(cells)))
            cells[column - 1] = cells[column - 1] or NO_VALUE
    return [Sheet(name, rows, marks.get(name, Marks())) for name, rows in sheets]


def _xml_sheets(path: Path, data: bytes) -> list[Sheet]:
    """A workbook written as one XML text, as older spreadsheet programs and report writers do."""
    from xml.etree import ElementTree

    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise Refused(f"{path}: declares entities, which a workbook has no need of; save it again as xlsx")
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise Refused(f"{path}: is damaged ({error}); save it again as xlsx or csv") from error
    space = "{urn:schemas-microsoft-com:office:spreadsheet}"
    struck_styles = {
        style.get(f"{space}ID")
        for style in root.iter(f"{space}Style")
        if any(font.get(f"{space}StrikeThrough") == "1" for font in style.iter(f"{space}Font"))
    }
    sheets, marks = [], {}
    for page in root.iter(f"{space}Worksheet"):
        rows: list[list[str]] = []
        hidden, hidden_columns, struck, uncalculated = set(), set(), set(), set()
        at = 0
        for column in page.iter(f"{space}Column"):
            at = int(column.get(f"{space}Index") or at + 1)
            wide = min(int(column.get(f"{space}Span") or 0), 20_000)
            if column.get(f"{space}Hidden") == "1":
                hidden_columns |= set(range(at, at + wide + 1))
            at += wide
        for row in page.iter(f"{space}Row"):
            number = int(row.get(f"{space}Index") or len(rows) + 1)
            if number > 2_000_000:
                raise Refused(f"{path}: names row {number}; a sheet has fewer")
            rows.extend([] for _ in range(number - 1 - len(rows)))
            cells: list[str] = []
            for cell in row.iter(f"{space}Cell"):
                at = int(cell.get(f"{space}Index") or len(cells) + 1)
                cells.extend("" for _ in range(min(at, 20_000) - 1 - len(cells)))
                datum = cell.find(f"{space}Data")
                text = "" if datum is None else "".join(datum.itertext()).strip()
                if datum is not None and datum.get(f"{space}Type") == "Number":
                    text = _plain(Decimal(f"{float(text):.15g}")) if "e" in text.lower() or len(text) > 16 else text
                elif datum is not None and datum.get(f"{space}Type") == "DateTime":
                    text = text.removesuffix("T00:00:00.000").replace("T", " ").removesuffix(".000")
                cells.append(text)
                if text and (cell.get(f"{space}StyleID") or row.get(f"{space}StyleID")) in struck_styles:
                    struck.add((number, len(cells)))
                elif not text and cell.get(f"{space}Formula"):
                    uncalculated.add((number, len(cells)))
                cells.extend("" for _ in range(int(cell.get(f"{space}MergeAcross") or 0)))
            rows.append(cells)
            if row.get(f"{space}Hidden") == "1":
                hidden.add(number)
        name = page.get(f"{space}Name") or ""
        unseen = any(text.text != "SheetVisible" for text in page.iter("{urn:schemas-microsoft-com:office:excel}Visible"))
        marks[name] = Marks(unseen, frozenset(hidden), frozenset(hidden_columns), frozenset(struck), frozenset(uncalculated))
        sheets.append((name, rows))
    return _marked(sheets, marks)


def _zipped_sheets(path: Path, data: bytes) -> list[Sheet]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = set(archive.namelist())
            unpacked = sum(item.file_size for item in archive.infolist())
    except zipfile.BadZipFile as error:
        raise Refused(f"{path}: is damaged (its end is missing); ask for the file again") from error
    if unpacked > LARGEST_UNPACKED:
        raise Refused(f"{path}: unpacks to more than {LARGEST_UNPACKED // 1024**3} GiB; split it or save it as csv")
    if "xl/workbook.xml" in names:
        try:
            pages = read_plain(data, _shown)
        except OutOfTheOrdinary:
            return _openpyxl_sheets(path, data)
        return _marked([(page.name, page.rows) for page in pages], {page.name: page.marks for page in pages})
    if "content.xml" in names:
        sheets = _calamine_sheets(path, data)
        return _marked(sheets, ods_marks(str(path), data))
    raise Refused(f"{path}: is an archive but not a spreadsheet; unpack it and name the files in it")


def _openpyxl_sheets(path: Path, data: bytes) -> list[Sheet]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True, keep_links=False)
        formulas = _formula_cells(data) and openpyxl.load_workbook(io.BytesIO(data), keep_links=False)
    except Exception as error:
        raise Refused(f"{path}: cannot be read as a workbook ({error}); save it again as xlsx or csv") from error
    sheets, marks = [], {}
    for page in book.worksheets:
        rows: list[list[str]] = []
        struck: set[tuple[int, int]] = set()
        uncalculated: set[tuple[int, int]] = set()
        for cells in page.iter_rows(min_row=1, min_col=1):
            rows.append([_shown(cell.value, cell.number_format or "") for cell in cells])
            for cell in cells:
                if cell.value is not None and cell.font is not None and cell.font.strike:
                    struck.add((cell.row, cell.column))
        if formulas:
            for cells in formulas[page.title].iter_rows():
                for cell in cells:
                    place = (cell.row or 0, cell.column or 0)
                    if cell.data_type == "f" and page.cell(*place).value is None:
                        uncalculated.add(place)
        hidden = frozenset(number for number, shape in page.row_dimensions.items() if shape.hidden)
        columns = frozenset(
            number
            for shape in page.column_dimensions.values()
            if shape.hidden
            for number in range(shape.min or 1, min(shape.max or 1, 20_000) + 1)
        )
        marks[page.title] = Marks(page.sheet_state != "visible", hidden, columns, frozenset(struck), frozenset(uncalculated))
        sheets.append((page.title, rows))
    return _marked(sheets, marks)


def _formula_cells(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        pages = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return any(b"<f>" in text or b"<f " in text for text in map(archive.read, pages))


def _calamine_sheets(path: Path, data: bytes) -> list[tuple[str, list[list[str]]]]:
    from python_calamine import CalamineWorkbook

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        # skip_empty_area would move the rows, and a row number must be the one the user sees
        return [
            (name, [[_text(value) for value in row] for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)])
            for name in book.sheet_names
        ]
    except Exception as error:
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
        raise Refused(f"{path}: cannot be read as delimited text ({error}); save it again as csv") from error
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
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if re.search(r"[\x00-\x08\x0e-\x1a\x1c-\x1f]", text[:200_000]):
            break
        return text[:200_000], encoding
    raise Refused(f"{path}: is neither text nor a spreadsheet; ask the laboratory for csv or xlsx")


def _delimiter(text: str) -> str:
    """The mark that parts the first lines into the most columns, most evenly."""
    lines = [line for line in text[:100_000].splitlines()[:60] if line.strip()]

    def score(mark: str) -> tuple[int, int]:
        widths = [len(row) for row in csv.reader(lines, delimiter=mark)]
        if not widths:
            return (0, 0)
        usual = max(set(widths), key=lambda width: (widths.count(width) * (width > 1), width))
        return (widths.count(usual) * (usual > 1), usual)

    return max(DELIMITERS, key=score)
