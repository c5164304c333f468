"""The plain reader of workbooks gives what openpyxl, a reference reader, gives; or leaves the workbook to it."""

from __future__ import annotations

import datetime as dt
import io
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.styles import Font
from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format, is_timedelta_format

from screening.deliverable import cells, number_formats
from screening.deliverable.cells import Sheet
from screening.deliverable.xlsx import OutOfTheOrdinary, read_plain
from screening.deliverable.xlsx_rows import take_out

FORMATS = [
    "General",
    "0",
    "0.00",
    "#,##0.0",
    "0.000%",
    "0%",
    "0.00E+00",
    "yyyy-mm-dd",
    "m/d/yy h:mm",
    "hh:mm:ss",
    "[h]:mm",
    '0.0 "mg"',
    "@",
    "[Red]0.00",
]
TEXTS = st.text(alphabet="aB<>&é µ²\n\t_x05F\"'=", max_size=8) | st.sampled_from(
    ["Benzene", "<0.5 U", "ND", "=1+1", " padded ", "0.10"]
)
MOMENTS = st.datetimes(dt.datetime(1900, 3, 1), dt.datetime(2100, 1, 1)).map(lambda moment: moment.replace(microsecond=0))
VALUES = (
    st.none() | TEXTS | st.integers(-(10**16), 10**16) | st.floats(-1e12, 1e12) | st.booleans() | MOMENTS
    | st.sampled_from([0.1 + 0.2, 1e-7, 45000.5, 0.25, 59.0, 1.005, 1234567.0])
)  # fmt: skip
CELLS = st.tuples(VALUES, st.sampled_from(FORMATS), st.booleans())


def by_openpyxl(data: bytes) -> list[tuple[str, Any, Any]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return _plainly(cells._openpyxl_sheets(Path("book.xlsx"), data))


def by_us(data: bytes) -> list[tuple[str, Any, Any]] | None:
    try:
        pages = read_plain("book.xlsx", data, cells._shown)
    except OutOfTheOrdinary:
        return None
    return _plainly(cells._marked([(one.name, one.rows) for one in pages], {one.name: one.marks for one in pages}))


def _plainly(sheets: list[Sheet]) -> list[tuple[str, Any, Any]]:
    return [(sheet.name, sheet.rows, sheet.marks) for sheet in sheets]


@settings(max_examples=30, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=5), min_size=1, max_size=6),
    st.sets(st.integers(1, 6), max_size=2),
    st.sampled_from(["", "A1:B2", "B2:C2"]),
    st.sampled_from(["visible", "hidden", "veryHidden"]),
)
def test_workbooks_of_openpyxl(rows: list[Any], hidden: set[int], merged: str, state: str) -> None:
    book = openpyxl.Workbook()
    page = book.create_sheet("Results & more")
    page.sheet_state = state
    for at, row in enumerate(rows, 1):
        for column, (value, code, struck) in enumerate(row, 1):
            cell = page.cell(at, column)
            try:
                cell.value = value
            except openpyxl.utils.exceptions.IllegalCharacterError:
                continue
            cell.number_format = code
            if struck:
                cell.font = Font(strike=True)
    for at in hidden:
        page.row_dimensions[at].hidden = True
        page.column_dimensions["ABCDEF"[at - 1]].hidden = True
    if merged:
        page.merge_cells(merged)
    book.worksheets[0]["A1"] = "first"
    stream = io.BytesIO()
    book.save(stream)
    found = by_us(stream.getvalue())
    spans = any(
        code == "[h]:mm" and not isinstance(value, str | bool) and value is not None for row in rows for value, code, _ in row
    )
    early = any(
        "y" in code or "h" in code
        for row in rows
        for value, code, _ in row
        if isinstance(value, int | float) and not isinstance(value, bool)
    )
    assert found is not None or spans or early
    assert found is None or found == by_openpyxl(stream.getvalue())


@settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=1, max_size=5))
def test_workbooks_of_another_writer(rows: list[Any]) -> None:
    """XlsxWriter: shared texts, runs of formatted text, formulas with and without a stored value."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True, "remove_timezone": True}) as book:
        page, bold = book.add_worksheet("A"), book.add_format({"bold": True})
        for at, row in enumerate(rows):
            for column, (value, code, struck) in enumerate(row):
                shape = book.add_format({"num_format": code, "font_strikeout": struck})
                if isinstance(value, dt.datetime):
                    page.write_datetime(at, column, value, shape)
                elif isinstance(value, str):
                    page.write_string(at, column, value, shape)
                else:
                    page.write(at, column, value, shape)
        page.write_rich_string(9, 0, "Ben", bold, "zene")
        page.write_formula(9, 1, "=1+1", None, 2)
        page.write_formula(9, 2, "=1+2", None, "")
        page.write_formula(9, 3, '="a"', None, "a")
    found = by_us(stream.getvalue())
    assert found is None or found == by_openpyxl(stream.getvalue())


def test_the_formats_without_words_are_those_of_the_standard() -> None:
    """openpyxl's transcription of ECMA-376 part 1, 18.8.30, to which both readers hold."""
    assert {
        number: code for number, code in BUILTIN_FORMATS.items() if number in number_formats.BUILT_IN
    } == number_formats.BUILT_IN


@pytest.mark.parametrize("code", [*FORMATS, *number_formats.BUILT_IN.values(), "[$-409]d-mmm", r"0.0\d", '"day" 0', "_d0"])
def test_which_formats_show_dates(code: str) -> None:
    assert number_formats.shows_date(code) == is_date_format(code)
    assert number_formats.shows_span(code) == is_timedelta_format(code)


def test_an_ordinary_deliverable_needs_no_workbook_model(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.append(["Sample ID", "Collected", "Result"])
    book.active.append(["A", dt.date(2025, 5, 6), 0.5])
    book.save(tmp_path / "one.xlsx")
    found = by_us((tmp_path / "one.xlsx").read_bytes())
    assert found is not None
    assert found[0][1] == [["Sample ID", "Collected", "Result"], ["A", "2025-05-06", "0.5"]]


SHEET = "xl/worksheets/sheet1.xml"


def _rewritten(data: bytes, change: Callable[[str], str]) -> bytes:
    """The workbook with the XML of its first sheet changed."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            new.writestr(name, change(old.read(name).decode()).encode() if name == SHEET else old.read(name))
    return made.getvalue()


def test_rows_taken_out_of_the_xml_are_read_as_rows_left_in_it() -> None:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    struck = Font(strike=True)
    for number in range(1, 9):
        page.append(
            ["Benzene", f"<0.{number} & 'J'", number / 8, number % 2 == 0, dt.datetime(2025, 5, number), None, " two\nlines "]
        )
        page.cell(number, 3).number_format = "0.000"
    page["A2"].font = page["C3"].font = page["F4"].font = struck
    page["B5"] = "=1+1"
    page.merge_cells("A7:B8")
    stream = io.BytesIO()
    book.save(stream)
    texts = {
        "as it is": stream.getvalue(),
        "no plain cell": _rewritten(stream.getvalue(), lambda xml: xml.replace("<c r=", "<c  r=")),
        "a comment": _rewritten(stream.getvalue(), lambda xml: xml.replace("</sheetData>", "<!-- end --></sheetData>")),
        "an odd row": _rewritten(stream.getvalue(), lambda xml: xml.replace('<row r="3"', '<row r="3" note="a/b"', 1)),
    }
    taken = {}
    for name, data in texts.items():
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            found = take_out(archive.read(SHEET))
        taken[name] = len(found[1]) if found else None
        assert by_us(data) == by_openpyxl(stream.getvalue()), name
    assert taken == {"as it is": 7, "no plain cell": 0, "a comment": None, "an odd row": 2}


@pytest.mark.parametrize(
    "bad",
    [
        '<v>1</v></c ><c r="B1">',
        "<v>1</v>text</c>",
        "<v>&#49;</v></c>",
        "<v>&one;</v></c>",
        "<v>1\r</v></c>",
        "<f>A2</f><v>1</v></c>",
    ],
)
def test_a_row_that_is_not_plain_stays_in_the_xml(bad: str) -> None:
    plain = '<row r="1"><c r="A1"><v>1</v></c></row>'
    sheet = f'<worksheet><sheetData>{plain}<row r="2"><c r="A2">{bad}</row></sheetData></worksheet>'
    found = take_out(sheet.encode())
    assert found is not None
    left, rows = found
    assert rows == [[("A", "1", "><v>1</v></c>")]]
    assert bad.encode() in left and plain.encode() not in left
