"""Result tables of small made-up sites: levels that hang on the sample, several tables at once, duplicates under each rule."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import docx
import openpyxl
import pytest

from screening.decision.contents import Contents, contents_of
from screening.outputs import document
from screening.outputs.lists import duplicates, exceedances
from screening.outputs.tables import MEAN, Crosstab, crosstabs
from screening.outputs.texts import natural
from screening.outputs.workbook.crosstab_sheets import add_crosstab, sheets_of
from screening.outputs.workbook.sheet import Book, new_workbook
from screening.store.database import opened
from tests.conftest import Office
from tests.outputs.read_back import document_tables

SOIL = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "sampled_at": "2025-05-06", "depth_unit": "ft"}
WATER = {"medium": "groundwater", "unit": "ug/L", "sampled_at": "2025-05-06"}

Screened = Callable[..., Contents]


@pytest.fixture
def screened(office: Office) -> Screened:
    """A site with these rows, screened; further words go to `screen`."""

    def run(rows: list[dict[str, Any]], *words: str, levels: str = "us-oh/closure") -> Contents:
        assert office.plain_site(levels=levels).status == 0
        assert office.run("import", office.deliverable("lab.csv", rows), "--site", "one").status == 0
        return _screened(office, *words)

    return run


def _screened(office: Office, *words: str) -> Contents:
    made = office.run("screen", "--site", "one", "--levels-on", "2025-07-01", *words)
    assert made.document, made.error
    with opened(office.database) as connection:
        return contents_of(connection, made.document["run"])


def _texts(table: Crosstab, sample: int) -> dict[str, tuple[str, str]]:
    return {
        row.name: (table.marked(table.cells[at, sample]), table.cells[at, sample].text)
        for at, row in enumerate(table.rows)
        if (at, sample) in table.cells
    }


def _counts(contents: Contents) -> Counter[str]:
    return Counter(
        mark.outcome["outcome"]
        for table in crosstabs(contents)
        for cell in table.cells.values()
        for mark in cell.marks
        if mark.counted
    )


def test_media_stand_apart_and_samples_by_location_depth_and_day(screened: Screened) -> None:
    places = [("B-10", "4"), ("B-2", "12"), ("B-2", "4"), ("B-1", "9")]
    rows = [
        {**SOIL, "sample_id": f"S{number}", "location": place, "depth_top": depth, "analyte": "Benzene", "result": "<0.001"}
        for number, (place, depth) in enumerate(places)
    ]
    rows.append({**WATER, "sample_id": "W1", "analyte": "Benzene", "result": "7"})
    contents = screened(rows)
    soil, water = crosstabs(contents)
    assert [(one.location, one.depth) for one in soil.samples] == [
        ("B-1", "9 ft"),
        ("B-2", "4 ft"),
        ("B-2", "12 ft"),
        ("B-10", "4 ft"),
    ]
    assert _texts(soil, 0) == {"Benzene": ("", "<0.001")} and _texts(water, 0) == {"Benzene": ("E", "7")}
    assert _counts(contents) == {name: count for name, count in contents.answer["counts"].items() if count}


@pytest.fixture(scope="module")
def pair(tmp_path_factory: Any) -> Office:
    """A site with one field duplicate and its parent."""
    office = Office(tmp_path_factory.mktemp("pair"))
    office.plain_site()
    rows = [
        {**SOIL, "sample_id": "S1", "location": "L1", "sample_kind": "field", "analyte": "Benzene", "result": "0.30"},
        {
            **SOIL,
            "sample_id": "S1-D",
            "sample_kind": "field_duplicate",
            "parent_sample": "S1",
            "analyte": "Benzene",
            "result": "0.50",
        },
    ]
    assert office.run("import", office.deliverable("lab.csv", rows), "--site", "one").status == 0
    return office


@pytest.mark.parametrize(
    ("rule", "marks"),
    [
        ("higher", {"field": "(E)", "field_duplicate": "E"}),
        ("parent", {"field": "E", "field_duplicate": "(E)"}),
        ("mean", {"field": "(E)", "field_duplicate": "(E)", MEAN: "E"}),
    ],
)
def test_one_side_of_a_pair_is_counted(pair: Office, rule: str, marks: dict[str, str]) -> None:
    contents = _screened(pair, "--setting", f"duplicate_rule={rule}")
    (table,) = crosstabs(contents)
    found = {sample.kind: table.marked(table.cells[0, at]) for at, sample in enumerate(table.samples)}
    assert found == marks and {sample.location for sample in table.samples} == {"L1"}
    assert _counts(contents) == {"exceeds": 1} and len(exceedances(contents).rows) == 1
    (row,) = duplicates(contents).rows
    assert [value.text for value in (row[5], row[7])] == ["0.30", "0.50"]  # type: ignore[union-attr]
    if rule == "mean":
        assert table.cells[0, 2].text == "0.4" and table.samples[2].title == "mean of the pair"


def test_marks_carry_the_number_of_their_table(screened: Screened) -> None:
    rows = [{**WATER, "sample_id": "W1", "analyte": "Benzene", "result": "7"}]
    contents = screened(rows, "--levels", "us-oh/closure", "--levels", "us-wi/groundwater")
    (table,) = crosstabs(contents)
    assert [level.table for level in table.tables] == ["us-oh/closure", "us-wi/groundwater"]
    assert table.marked(table.cells[0, 0]) == "E1 E2" and _counts(contents) == {"exceeds": 2}
    assert len(exceedances(contents).rows) == 2


def test_a_level_that_hangs_on_the_sample_is_shown_for_each(screened: Screened, tmp_path: Path) -> None:
    """The waters of AT-11: gasoline is held against 1000 where benzene is not detected and against 800 where it is."""
    gasoline = "Gasoline range organics"
    waters = {"HW-1": ("900", "<0.40"), "HW-2": ("900", "0.76"), "HW-4": ("700", "2.3")}
    rows = [
        {**WATER, "sample_id": sample, "analyte": analyte, "result": result}
        for sample, results in waters.items()
        for analyte, result in zip((gasoline, "Benzene"), results, strict=True)
    ]
    contents = screened(rows, levels="us-wa/groundwater-method-a@2001-08-15")
    (table,) = crosstabs(contents)
    at = [row.name for row in table.rows].index(gasoline)
    assert table.rows[at].level_words(0) == "by sample"
    used = [table.cells[at, sample].levels[0] for sample in range(3)]
    assert [level and level.text for level in used] == ["1000", "800", "800"]
    assert [table.marked(table.cells[at, sample]) for sample in range(3)] == ["", "E", ""]

    target = io.BytesIO()
    book = new_workbook(target)
    ((name, part),) = sheets_of(table)
    add_crosstab(Book(book, contents), name, part)
    book.close()
    sheet = openpyxl.load_workbook(target)["Groundwater"]
    (row,) = [row for row in sheet.iter_rows() if row[0].value == f"{gasoline}: level of each sample"]
    assert [cell.value for cell in row if isinstance(cell.value, int)] == [1000, 800, 800]
    own = docx.Document()
    own.add_paragraph("{{ result_tables }}")
    own.save(str(tmp_path / "own.docx"))
    made = document_tables(docx.Document(io.BytesIO(document.files(contents, tmp_path / "own.docx")["document.docx"])))
    (line,) = [line for line in made["Groundwater results"] if line[0].endswith("of each sample")]
    assert line[1:] == ["1000", "800", "800"]


def test_natural_order() -> None:
    assert sorted(["B-10", "B-2", "b-1", "B"], key=natural) == ["B", "b-1", "B-2", "B-10"]
