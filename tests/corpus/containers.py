"""The kinds of file a deliverable comes in; each writer takes sheets of cells and writes one file."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from cells import Cell
from openpyxl import Workbook
from openpyxl.styles import Alignment, Font

FIXED = "2024-06-03T09:00:00"


@dataclass
class Sheet:
    """One sheet: its rows, and runs of cells to merge as (row, column, width)."""

    name: str
    rows: list[list[Cell]] = field(default_factory=list)
    merges: list[tuple[int, int, int]] = field(default_factory=list)


def _text(cell: Cell) -> str:
    return format(cell, "f") if isinstance(cell, Decimal) else cell.isoformat() if isinstance(cell, date) else cell


def _delimited(encoding: str, delimiter: str) -> Callable[[list[Sheet], Path], None]:
    def write(sheets: list[Sheet], path: Path) -> None:
        assert len(sheets) == 1
        page = io.StringIO(newline="")
        width = max(map(len, sheets[0].rows))
        rows = ([_text(cell) for cell in row] + [""] * (width - len(row)) for row in sheets[0].rows)
        csv.writer(page, delimiter=delimiter).writerows(rows)
        path.write_bytes(page.getvalue().encode(encoding))

    return write


def _xlsx(merged: bool) -> Callable[[list[Sheet], Path], None]:
    def write(sheets: list[Sheet], path: Path) -> None:
        book = Workbook()
        book.remove(book.worksheets[0])
        for sheet in sheets:
            page = book.create_sheet(sheet.name)
            for number, row in enumerate(sheet.rows, 1):
                for place, value in enumerate(row, 1):
                    if value == "":
                        continue
                    cell = page.cell(number, place, float(value) if isinstance(value, Decimal) else value)  # type: ignore[arg-type]
                    if isinstance(value, Decimal) and value >= 1000:
                        cell.number_format = "#,##0.####"
                    if isinstance(value, str) and "\n" in value:
                        cell.alignment = Alignment(wrap_text=True)
                    if number == 1:
                        cell.font = Font(bold=True)
            for number, place, width in sheet.merges if merged else ():
                page.merge_cells(start_row=number + 1, end_row=number + 1, start_column=place + 1, end_column=place + width)
        book.save(path)

    return write


def _xml_cell(cell: Cell, tag: str) -> str:
    if tag == "ods":
        if isinstance(cell, Decimal):
            shown = format(cell, "f")
            return (
                f'<table:table-cell office:value-type="float" office:value="{shown}"><text:p>{shown}</text:p></table:table-cell>'
            )
        if cell == "":
            return "<table:table-cell/>"
        return f'<table:table-cell office:value-type="string"><text:p>{escape(_text(cell))}</text:p></table:table-cell>'
    kind = "Number" if isinstance(cell, Decimal) else "String"
    return f'<Cell><Data ss:Type="{kind}">{escape(_text(cell))}</Data></Cell>'


def _ods(sheets: list[Sheet], path: Path) -> None:
    body = "".join(
        f"<table:table table:name={quoteattr(sheet.name)}>"
        + "".join(
            f"<table:table-row>{''.join(_xml_cell(cell, 'ods') for cell in row) or '<table:table-cell/>'}</table:table-row>"
            for row in sheet.rows
        )
        + "</table:table>"
        for sheet in sheets
    )
    names = "urn:oasis:names:tc:opendocument:xmlns:"
    content = (
        '<?xml version="1.0" encoding="UTF-8"?><office:document-content office:version="1.2"'
        f' xmlns:office="{names}office:1.0" xmlns:table="{names}table:1.0" xmlns:text="{names}text:1.0">'
        f"<office:body><office:spreadsheet>{body}</office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        f'<?xml version="1.0" encoding="UTF-8"?><manifest:manifest xmlns:manifest="{names}manifest:1.0" manifest:version="1.2">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
    )
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in (("mimetype", kind), ("content.xml", content), ("META-INF/manifest.xml", manifest)):
            archive.writestr(zipfile.ZipInfo(name, (2024, 6, 3, 9, 0, 0)), text)


def _xml_xls(sheets: list[Sheet], path: Path) -> None:
    space = "urn:schemas-microsoft-com:office:spreadsheet"
    body = "".join(
        f"<Worksheet ss:Name={quoteattr(sheet.name)}><Table>"
        + "".join(f"<Row>{''.join(_xml_cell(cell, 'xml') for cell in row)}</Row>" for row in sheet.rows)
        + "</Table></Worksheet>"
        for sheet in sheets
    )
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<?mso-application progid="Excel.Sheet"?>\n'
        f'<Workbook xmlns="{space}" xmlns:ss="{space}">{body}</Workbook>'
    )
    path.write_text(text, encoding="utf-8")


CONTAINERS: dict[str, tuple[str, Callable[[list[Sheet], Path], None]]] = {
    "csv utf-8": (".csv", _delimited("utf-8", ",")),
    "csv utf-8 with mark": (".csv", _delimited("utf-8-sig", ",")),
    "csv utf-16": (".csv", _delimited("utf-16", ",")),
    "csv cp1252": (".csv", _delimited("cp1252", ",")),
    "tsv": (".tsv", _delimited("utf-8", "\t")),
    "txt with tabs": (".txt", _delimited("cp1252", "\t")),
    "csv semicolon": (".csv", _delimited("utf-8", ";")),
    "xlsx": (".xlsx", _xlsx(False)),
    "xlsx merged": (".xlsx", _xlsx(True)),
    "ods": (".ods", _ods),
    "xls as xml": (".xls", _xml_xls),
}
BOOKS = ("xlsx", "xlsx merged", "ods", "xls as xml")
