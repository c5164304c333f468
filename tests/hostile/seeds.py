"""Well-formed files of every kind that the program reads (invented), from which `mutate` makes hostile ones."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
import xlsxwriter
from openpyxl.styles import Font

ROOT = Path(__file__).resolve().parents[2]
LONG = (
    ("Sample ID", "Matrix", "Parameter", "CAS", "Result", "Units", "Flag", "RL", "Dilution", "Sampled"),
    ("S-1", "Soil", "Benzene", "71-43-2", "<0.005", "mg/kg", "U", "0.005", "1", "2025-03-04"),
    ("S-1", "Soil", "Toluene", "108-88-3", "1,200", "mg/kg", "J", "0.005", "10", "2025-03-04 13:45"),
    ("MW-1", "Groundwater", "Benzene", "71-43-2", "3.4E-01", "ug/L", "", "0.1", "1", "03/14/2025"),
    ("MW-1", "Groundwater", "Xylenes, total", "1330-20-7", "ND(0.5)", "ug/L", "", "", "1", ""),
    ("MB", "Soil", "Benzene", "71-43-2", "0.001 U", "mg/kg", "", "", "", ""),
)
ACROSS = (
    ("Report of the laboratory (invented), all results in mg/kg", "", "", ""),
    ("Analyte", "S-1 (2 ft)", "S-2 (4 ft)", "Action level"),
    ("Date", "2025-03-04", "2025-03-04", ""),
    ("Benzene", "<0.005", "0.7", "0.149"),
    ("Toluene", "0.02 J", "ND", "49.1"),
    ("Notes: J estimated", "", "", ""),
)
DOWN = (
    ("Sample", "Matrix", "Benzene (ug/L)", "Toluene (ug/L)", "Lead (ug/L)"),
    ("MW-1", "Groundwater", "0.5 U", "1.2", "15"),
    ("MW-2", "Groundwater", "7", "<1", "2.0"),
)
LEVELS = (
    ("analyte", "cas", "medium", "level", "unit"),
    ("Benzene", "71-43-2", "soil", "0.149", "mg/kg"),
    ("Toluene", "108-88-3", "soil", "1,000", "mg/kg"),
    ("Lead", "7439-92-1", "groundwater", ".015", "mg/L"),
)
CUSTODY = (
    ("Sample", "Analyses", "Collected", "Depth", "Matrix"),
    ("S-1", "BTEX; lead", "2025-03-04", "2 ft", "soil"),
    ("S-2", "VOCs", "", "", ""),
)
FORM = (
    ("Sample", "Collected", "BTEX", "Lead", "Soil", "Water"),
    ("S-1", "2025-03-04", "x", "", "x", ""),
    ("S-2", "", "x", "X", "", "x"),
)
OPEN = {
    "ActivityIdentifier": ("A-1", "A-1", "A-2"),
    "MonitoringLocationIdentifier": ("MW-1", "MW-1", "MW-2"),
    "ActivityTypeCode": ("Sample-Routine", "Sample-Routine", "Quality Control Sample-Trip Blank"),
    "ActivityMediaName": ("Water", "Water", "Water"),
    "ActivityMediaSubdivisionName": ("Groundwater", "Groundwater", "Groundwater"),
    "ActivityStartDate": ("2025-03-04", "2025-03-04", "2025-03-05"),
    "ActivityStartTime/Time": ("09:00:00", "09:00:00", ""),
    "ActivityStartTime/TimeZoneCode": ("EST", "EST", ""),
    "CharacteristicName": ("Benzene", "Toluene", "Benzene"),
    "ResultDetectionConditionText": ("Not Detected", "", ""),
    "ResultMeasureValue": ("", "1.2", "3"),
    "ResultMeasure/MeasureUnitCode": ("", "ug/l", "ug/l"),
    "DetectionQuantitationLimitMeasure/MeasureValue": ("0.5", "0.5", "0.5"),
    "DetectionQuantitationLimitMeasure/MeasureUnitCode": ("ug/l", "ug/l", "ug/l"),
}
"""Results in the open WQX schema (values invented)."""
VERSION = (
    (
        "analyte",
        "cas",
        "medium",
        "level",
        "unit",
        "soil_class",
        "comparison",
        "basis",
        "note",
        "citation",
        "transcription",
        "source",
    ),
    ("Benzene", "71-43-2", "soil", "0.149", "mg/kg", "1", "above", "", "", "rule 1 (invented)", "memory", ""),
    ("Toluene", "108-88-3", "soil", '"1,000"', "mg/kg", "2", "at_or_above", "dry", "a", "rule 1", "read", "x"),
    ("Lead", "7439-92-1", "groundwater", ".015", "mg/L", "", "", "", "", "rule 2", "read", ""),
    ("Naphthalene", "91-20-3", "groundwater", "NL", "ug/L", "", "", "", "", "rule 2", "read", ""),
)
Table = Sequence[Sequence[str]]


def text(rows: Table, delimiter: str = ",", encoding: str = "utf-8") -> bytes:
    """Rows as delimited text."""
    page = io.StringIO(newline="")
    csv.writer(page, delimiter=delimiter).writerows(rows)
    return page.getvalue().encode(encoding)


def xlsx(*tables: Table) -> bytes:
    """Rows as a workbook, with a struck-out cell, a formula without a value, a merged cell and a hidden row."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for number, rows in enumerate(tables, 1):
        page = book.create_sheet(f"Sheet {number}")
        for row in rows:
            page.append([float(cell) if cell.replace(".", "", 1).isdigit() else cell or None for cell in row])
        page.cell(2, 1).font = Font(strike=True)
        page.cell(len(rows) + 2, 1, "=SUM(A1:A2)")
        page.merge_cells(start_row=len(rows) + 3, end_row=len(rows) + 3, start_column=1, end_column=2)
        page.row_dimensions[3].hidden = True
        page.cell(3, 2).number_format = "0.000"
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def xlsx_by_another(*tables: Table) -> bytes:
    """Rows as a workbook of another program, which keeps texts in a list of their own."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"in_memory": True}) as book:
        for number, rows in enumerate(tables, 1):
            page = book.add_worksheet(f"Sheet {number}")
            for at, row in enumerate(rows):
                page.write_row(at, 0, row)
    return made.getvalue()


def ods(*tables: Table) -> bytes:
    """Rows as an OpenDocument spreadsheet, with repeated cells and rows."""
    names = "urn:oasis:names:tc:opendocument:xmlns:"
    pages = "".join(
        f'<table:table table:name="Sheet {number}"><table:table-column table:number-columns-repeated="4"/>'
        + "".join(
            "<table:table-row>"
            + "".join(
                f'<table:table-cell office:value-type="string"><text:p>{escape(cell)}</text:p></table:table-cell>' for cell in row
            )
            + '<table:table-cell table:number-columns-repeated="3"/></table:table-row>'
            for row in rows
        )
        + '<table:table-row table:number-rows-repeated="5"><table:table-cell/></table:table-row></table:table>'
        for number, rows in enumerate(tables, 1)
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="{names}office:1.0" '
        f'xmlns:table="{names}table:1.0" xmlns:text="{names}text:1.0" office:version="1.2"><office:body><office:spreadsheet>'
        f"{pages}</office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        f'<?xml version="1.0" encoding="UTF-8"?><manifest:manifest xmlns:manifest="{names}manifest:1.0" manifest:version="1.2">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>'
    )
    return archive({"mimetype": kind.encode(), "content.xml": content.encode(), "META-INF/manifest.xml": manifest.encode()})


def xml_xls(*tables: Table) -> bytes:
    """Rows as a workbook written in one XML text."""
    space = "urn:schemas-microsoft-com:office:spreadsheet"
    pages = "".join(
        f'<Worksheet ss:Name="Sheet {number}"><Table><Column ss:Index="1" ss:Span="2"/>'
        + "".join(
            f'<Row ss:Index="{at}">'
            + "".join(
                f'<Cell ss:Index="{place}"><Data ss:Type="String">{escape(cell)}</Data></Cell>'
                for place, cell in enumerate(row, 1)
            )
            + "</Row>"
            for at, row in enumerate(rows, 1)
        )
        + '<Row><Cell ss:MergeAcross="2"><Data ss:Type="Number">1.5</Data></Cell></Row></Table></Worksheet>'
        for number, rows in enumerate(tables, 1)
    )
    return f'<?xml version="1.0"?><Workbook xmlns="{space}" xmlns:ss="{space}">{pages}</Workbook>'.encode()


def archive(members: dict[str, bytes]) -> bytes:
    """An archive of these members."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in members.items():
            packed.writestr(name, data)
    return made.getvalue()


def books() -> dict[str, list[bytes]]:
    """Deliverables of each container."""
    return {
        ".csv": [
            text(LONG),
            text(ACROSS, ";"),
            text(DOWN),
            text(LONG, ",", "utf-16"),
            text(LONG, ",", "cp1252"),
            text([tuple(OPEN), *zip(*OPEN.values(), strict=True)]),
        ],
        ".tsv": [text(LONG, "\t"), text(DOWN, "\t")],
        ".txt": [text(LONG, "|"), text(ACROSS, "\t")],
        ".xlsx": [xlsx(LONG), xlsx(ACROSS, DOWN), xlsx_by_another(LONG), xlsx_by_another(DOWN)],
        ".ods": [ods(LONG), ods(ACROSS, DOWN)],
        ".xls": [xml_xls(LONG), xml_xls(ACROSS, DOWN), (ROOT / "tests/layouts/files/marked.xls").read_bytes()],
    }


def sites() -> list[bytes]:
    """Site files: the commented example, the demo's, and one with every table."""
    return [
        (ROOT / "screening/site/example_site.toml").read_bytes(), (ROOT / "demo/site.toml").read_bytes(),
        *(path.read_bytes() for path in sorted((ROOT / "demo/closing").glob("*.toml"))[:3]),
    ]  # fmt: skip


def layouts() -> list[bytes]:
    """Layout files."""
    own = (
        b'title = "Laboratory (invented)"\n[file]\nheader_row = 1\n[columns]\nsample_id = "Sample ID"\nanalyte = "Parameter"\n'
        b'result = "Result"\nqualifiers = ["Flag"]\n[fixed]\nmedium = "soil"\nunit = "mg/kg"\n[values.medium]\nSoil = "soil"\n'
        b'[patterns]\nsample_id = "(?P<sample_id>[A-Z]+-\\\\d+)( (?P<depth_top>\\\\d+))?"\n[qualifiers]\nQ = "estimated"\n'
        b'[numbers]\ndecimal = "."\n[dates]\norder = "mdy"\n[limits]\ndilution_included = true\n[blank]\ntexts = ["n.b."]\n'
    )
    across = b'[columns]\nsample_id = "Sample"\n[across."Benzene (ug/L)"]\nanalyte = "Benzene"\nunit = "ug/L"\n[ignore.Sample]\nTotal = "a sum"\n'
    return [own, across, (ROOT / "screening/deliverable/layouts/wqx.toml").read_bytes()]


def tables() -> list[bytes]:
    """Facts of level tables."""
    return [path.read_bytes() for path in sorted((ROOT / "standards").glob("us*/*/table.toml"))[:6]]
