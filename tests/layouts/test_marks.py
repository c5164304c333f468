"""Hidden rows and columns, struck-out cells and formulas never worked out: told for every kind of workbook, never dropped.

`files/marked.xls` was written by another program (xlwt 1.3.0) and read back with a third (xlrd 2.0.2), which found the
same marks. All results are invented.
"""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.styles import Font

from screening.deliverable.cells import read_book
from screening.deliverable.marks import NO_VALUE, Marks
from screening.deliverable.marks_xls import xls_marks

FILES = Path(__file__).parent / "files"
HEADINGS = ["sample_id", "medium", "analyte", "result", "unit", "basis", "comment"]
ROWS = [
    ["AL-1", "soil", "Benzene", "0.25", "mg/kg", "dry", ""], ["AL-2", "soil", "Benzene", "0.5", "mg/kg", "dry", ""],
    ["AL-3", "soil", "Benzene", "<0.005", "mg/kg", "dry", "held by hand"], ["AL-4", "soil", "Benzene", "=D2*2", "mg/kg", "dry", ""],
]  # fmt: skip
"""AL-2's result is struck out, AL-3's row hidden, the comments' column hidden, AL-4's result a formula without a value."""
STRUCK, HIDDEN_ROW, HIDDEN_COLUMN, FORMULA = (3, 4), 4, 7, (5, 4)


def _xlsx(path: Path) -> Path:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = "Results"
    for row in [HEADINGS, *ROWS]:
        page.append([float(text) if text.startswith("0.") else text or None for text in row])
    page.cell(*STRUCK).font = Font(strike=True)
    page.row_dimensions[HIDDEN_ROW].hidden = True
    page.column_dimensions["G"].hidden = True
    notes = book.create_sheet("Notes")
    notes["A1"] = "a note of the laboratory"
    notes.sheet_state = "hidden"
    book.save(path.with_suffix(".xlsx"))
    return path.with_suffix(".xlsx")


def _xls(_: Path) -> Path:
    return FILES / "marked.xls"


NAMES = "urn:oasis:names:tc:opendocument:xmlns:"


def _ods(path: Path, *, struck_by: str = "cell") -> Path:
    def cell(row: int, column: int, text: str) -> str:
        style = ' table:style-name="ce1"' if (row, column) == STRUCK and struck_by == "cell" else ""
        if text.startswith("="):
            return f'<table:table-cell table:formula="of:=[.D2]*2"{style}/>'
        if not text:
            return "<table:table-cell/>"
        inner = f'<text:span text:style-name="T1">{text}</text:span>' if (row, column) == STRUCK and struck_by == "span" else text
        return f'<table:table-cell office:value-type="string"{style}><text:p>{inner.replace("<0", "&lt;0")}</text:p></table:table-cell>'

    rows = "".join(
        ("<table:table-row table:visibility='collapse'>" if number == HIDDEN_ROW else "<table:table-row>")
        + "".join(cell(number, column, text) for column, text in enumerate(row, 1))
        + "</table:table-row>"
        for number, row in enumerate([HEADINGS, *ROWS], 1)
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="{NAMES}office:1.0" '
        f'xmlns:table="{NAMES}table:1.0" xmlns:text="{NAMES}text:1.0" xmlns:style="{NAMES}style:1.0" office:version="1.2">'
        '<office:automatic-styles><style:style style:name="ce0" style:family="table-cell"><style:text-properties '
        'style:text-line-through-style="solid"/></style:style><style:style style:name="ce1" style:family="table-cell" '
        'style:parent-style-name="ce0"/><style:style style:name="T1" style:family="text"><style:text-properties '
        'style:text-line-through-type="single"/></style:style><style:style style:name="ta2" style:family="table">'
        '<style:table-properties table:display="false"/></style:style></office:automatic-styles>'
        '<office:body><office:spreadsheet><table:table table:name="Results">'
        '<table:table-column table:number-columns-repeated="6"/><table:table-column table:visibility="collapse"/>'
        f'{rows}<table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/>'
        '</table:table-row></table:table><table:table table:name="Notes" table:style-name="ta2"><table:table-row>'
        '<table:table-cell office:value-type="string"><text:p>a note of the laboratory</text:p></table:table-cell>'
        "</table:table-row></table:table></office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        f'<?xml version="1.0"?><manifest:manifest xmlns:manifest="{NAMES}manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>'
    )
    with zipfile.ZipFile(path.with_suffix(".ods"), "w") as archive:
        for name, text in (("mimetype", kind), ("content.xml", content), ("META-INF/manifest.xml", manifest)):
            archive.writestr(name, text)
    return path.with_suffix(".ods")


def _xml(path: Path) -> Path:
    space = "urn:schemas-microsoft-com:office:spreadsheet"

    def cell(row: int, column: int, text: str) -> str:
        style = ' ss:StyleID="s1"' if (row, column) == STRUCK else ""
        if text.startswith("="):
            return '<Cell ss:Formula="=R[-3]C*2"/>'
        return f'<Cell{style}><Data ss:Type="String">{text.replace("<", "&lt;")}</Data></Cell>' if text else "<Cell/>"

    rows = "".join(
        ("<Row ss:Hidden='1'>" if number == HIDDEN_ROW else "<Row>")
        + "".join(cell(number, column, text) for column, text in enumerate(row, 1))
        + "</Row>"
        for number, row in enumerate([HEADINGS, *ROWS], 1)
    )
    text = (
        f'<?xml version="1.0"?><Workbook xmlns="{space}" xmlns:ss="{space}" xmlns:x="urn:schemas-microsoft-com:office:excel"><Styles>'
        '<Style ss:ID="s1"><Font ss:StrikeThrough="1"/></Style></Styles><Worksheet ss:Name="Results"><Table>'
        f'<Column ss:Index="7" ss:Hidden="1"/>{rows}</Table></Worksheet><Worksheet ss:Name="Notes"><Table><Row><Cell>'
        '<Data ss:Type="String">a note of the laboratory</Data></Cell></Row></Table><x:WorksheetOptions><x:Visible>SheetHidden</x:Visible>'
        "</x:WorksheetOptions></Worksheet></Workbook>"
    )
    path.with_suffix(".xls").write_text(text, encoding="utf-8")
    return path.with_suffix(".xls")


KINDS: dict[str, Callable[[Path], Path]] = {"xlsx": _xlsx, "xls": _xls, "ods": _ods, "xls as XML text": _xml}


@pytest.mark.parametrize("write", KINDS.values(), ids=KINDS)
def test_every_mark_is_seen_and_nothing_is_dropped(tmp_path: Path, write: Callable[[Path], Path]) -> None:
    results, notes = read_book(write(tmp_path / "marked")).sheets
    seen = Marks(False, frozenset({HIDDEN_ROW}), frozenset({HIDDEN_COLUMN}), frozenset({STRUCK}), frozenset({FORMULA}))
    assert results.marks == seen
    assert notes.marks == Marks(hidden=True)
    assert [row[3] for row in results.rows[:5]] == ["result", "0.25", "0.5", "<0.005", NO_VALUE]


@pytest.mark.parametrize("write", KINDS.values(), ids=KINDS)
def test_they_are_told_at_import_and_the_formula_is_held(office: Any, write: Callable[[Path], Path]) -> None:
    office.plain_site()
    done = office.run("import", write(office.folder / "marked"), "--site", "one").document["deliverables"][0]
    assert done["rows"] == {"read": 4, "results": 3, "quality_control": 0, "held_back": 1, "ignored": 0}
    for note in (
        "sheet 'Results': rows 4 are hidden and were read all the same",
        "sheet 'Results': columns G are hidden and were read all the same",
        "sheet 'Results': cell D3 is struck through and read all the same",
        "sheet 'Results': cell D5 is a formula without a stored value",
    ):
        assert note in done["assumptions"]
    (held,) = done["held_back"]
    assert (held["row"], held["field"], held["text"]) == (5, "result", NO_VALUE)


def test_a_cell_struck_out_by_a_span_of_its_text(tmp_path: Path) -> None:
    assert read_book(_ods(tmp_path / "span", struck_by="span")).sheets[0].marks.struck_out == {STRUCK}


def test_a_crosstab_does_not_pass_over_a_formula_without_a_value(office: Any) -> None:
    office.plain_site()
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    for row in (
        ["Soil results, mg/kg dry weight"],
        ["Analyte", "AL-1", "AL-2"],
        ["Benzene", 0.1, "=B3*2"],
        ["Toluene", 0.2, 0.3],
    ):
        page.append(row)
    path = office.folder / "cross.xlsx"
    book.save(path)
    done = office.run("import", path, "--site", "one").document["deliverables"][0]
    assert [(item["row"], item["text"]) for item in done["held_back"]] == [(3, NO_VALUE)]
    assert done["rows"]["results"] == 3


def test_an_old_workbook_that_cannot_be_followed_says_so() -> None:
    data = bytearray((FILES / "marked.xls").read_bytes())
    at = bytes(data).index(struct.pack("<HHH", 0x0809, 16, 0x0600))
    struck = bytes(data)
    assert xls_marks(struck) is not None
    data[at + 4 : at + 6] = b"\x00\x05"
    assert xls_marks(bytes(data)) is None
    assert xls_marks(bytes(data[:700])) is None
    assert xls_marks(io.BytesIO(bytes(2000)).read()) is None
