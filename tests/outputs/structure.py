"""The structure of the demo's workbook, document and data as text: what a reader of an old package relies on to find again."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

import docx
import openpyxl
import pyarrow.parquet as pq

from tests.outputs.read_back import document_tables


def structures(package: Mapping[str, bytes]) -> dict[str, str]:
    """A text for each golden file by its name."""
    return {
        "workbook.txt": _workbook(openpyxl.load_workbook(io.BytesIO(package["workbook.xlsx"]))),
        "document.txt": _document(docx.Document(io.BytesIO(package["document.docx"]))),
        "data.txt": _data(package),
    }


def _workbook(book: Any) -> str:
    lines = []
    for sheet in book.worksheets:
        lines.append(f"{sheet.title}: {sheet['A1'].value}")
        lines.append(
            f"  frozen {sheet.freeze_panes}, filter {sheet.auto_filter.ref}, printed {sheet.print_area}, {sheet.page_setup.orientation}"
        )
        lines.append(f"  repeated {sheet.print_title_rows} {sheet.print_title_cols}, pictures {len(sheet._images)}")
        if sheet.auto_filter.ref:
            row = int(sheet.auto_filter.ref.split(":")[0].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
            lines.append("  heads " + " | ".join(str(cell.value or "") for cell in sheet[row]))
    return "\n".join(lines) + "\n"


def _document(document: Any) -> str:
    lines = [paragraph.text for paragraph in document.paragraphs if paragraph.style.name.startswith(("Heading", "Title"))]
    lines += [f"section {section.orientation}" for section in document.sections]
    for title, rows in document_tables(document).items():
        lines.append(f"{title} ({len(rows)} rows): " + " | ".join(next((row for row in rows if row[0] == "Analyte"), rows[0])))
    return "\n".join(lines) + "\n"


def _data(package: Mapping[str, bytes]) -> str:
    lines = []
    for name, content in sorted(package.items()):
        if name.endswith(".csv"):
            rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))
            lines.append(f"{name} ({len(rows) - 1} rows): " + ", ".join(rows[0]))
        elif name.endswith(".parquet"):
            lines.append(f"{name}: " + ", ".join(f"{field.name} {field.type}" for field in pq.read_schema(io.BytesIO(content))))
        elif name.startswith("data/"):
            lines.append(name)
    return "\n".join(lines) + "\n"
