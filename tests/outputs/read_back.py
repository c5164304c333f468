"""What tests read out of a workbook and a document, with libraries that did not write them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

LETTERS = {"exceeds": "E", "open": "?", "no_level": "n"}
TABLES = ("Soil", "Sediment", "Groundwater", "Surface water", "Other")


@dataclass(frozen=True)
class Found:
    """A result cell of a table in a workbook: the sample's head, the analyte, and mark, result and flag cells."""

    sample: str
    depth: str
    analyte: str
    mark: Any
    result: Any
    flag: Any


def result_cells(book: Any) -> Iterator[Found]:
    """Every cell of the result tables of a workbook."""
    for sheet in book.worksheets:
        if not sheet.title.startswith(TABLES):
            continue
        head = next(row for row in range(1, 30) if sheet.cell(row, 1).value == "Analyte")
        label = next(column for column in range(1, 10) if sheet.cell(head - 7, column).value == "Location")
        rows = {sheet.cell(row, label).value: row for row in range(head - 7, head)}
        last = int(sheet.auto_filter.ref.split(":")[1].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        for column in range(1, sheet.max_column + 1):
            if sheet.cell(head, column).value == "Result":
                sample, depth = (sheet.cell(rows[name], column - 1).value for name in ("Sample", "Depth"))
                for row in range(head + 1, last + 1):
                    cells = [sheet.cell(row, column + step) for step in (-1, 0, 1)]
                    yield Found(sample, depth or "", sheet.cell(row, 1).value, *cells)


def list_rows(book: Any, name: str) -> list[dict[str, Any]]:
    """The rows of a list sheet by their headings."""
    sheet = book[name]
    heads = [cell.value for cell in sheet[4]]
    if not sheet.auto_filter.ref:
        return []
    last = int(sheet.auto_filter.ref.split(":")[1].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    return [dict(zip(heads, (cell.value for cell in row), strict=True)) for row in sheet.iter_rows(5, last)]


def document_tables(document: Any) -> dict[str, list[list[str]]]:
    """The tables of a Word document by the title above each, without its number."""
    found: dict[str, list[list[str]]] = {}
    title = ""
    for element in document.element.body.iterchildren():
        kind = element.tag.rsplit("}", 1)[1]
        if kind == "p":
            text = "".join(node.text or "" for node in element.iter() if node.tag.endswith("}t"))
            title = text if text.startswith("Table ") else title
        elif kind == "tbl":
            rows = [
                [
                    "".join(node.text or "" for node in cell.iter() if node.tag.endswith("}t"))
                    for cell in row.iter()
                    if cell.tag.endswith("}tc")
                ]
                for row in element.iter()
                if row.tag.endswith("}tr")
            ]
            found[title.partition(". ")[2]] = rows
    return found


def counted(answer: Mapping[str, Any], outcome: str) -> Counter[tuple[str, str]]:
    """The standing outcomes of a kind by sample and analyte."""
    return Counter((item["sample_id"], item["analyte"]) for item in answer["outcomes"] if item["outcome"] == outcome)
