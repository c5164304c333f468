"""A user's level file as it came: header below titles, media across, odd cells asked about and answered by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

BY = ("--by", "R. Viewer", "--why", "letter of 3 March (invented)")
NAMED = ("--table", "us-oh/own", "--version", "2025-01-01")


@pytest.fixture
def workbook(office: Any) -> Callable[[list[list[Any]]], Path]:
    """A workbook of one sheet from rows of cells."""

    def write(rows: list[list[Any]]) -> Path:
        book = openpyxl.Workbook()
        assert book.active is not None
        for row in rows:
            book.active.append(row)
        path: Path = office.folder / "agency table.xlsx"
        book.save(path)
        return path

    return write


def _rows(office: Any) -> list[tuple[str, str, str, str]]:
    shown = office.run("levels", "show", "us-oh/own@2025-01-01").document["rows"]
    return [(one["analyte"], one["medium"], one["level"], one["unit"]) for one in shown]


def test_media_across_below_two_titles(office: Any, workbook: Any) -> None:
    path = workbook([
        ["Cleanup levels of a district (invented)"], ["as of January"], ["Chemical", "CAS No.", "Soil (mg/kg)", "Groundwater (ug/L)"],
        ["Benzene", "71-43-2", "0.5", "5"], ["Arsenic", "7440382", None, "10 to 20"], ["Toluene", "108-88-3", "1,200", "NL"],
    ])  # fmt: skip
    said = office.run("levels", "add", path, *NAMED, *BY)
    assert said.status == 0, said.error
    (added,) = said.document["tables"]
    assert any("header found in row 3" in note for note in added["assumptions"])
    assert any("row 5: CAS 7440382 taken as 7440-38-2" in note for note in added["assumptions"])
    assert _rows(office) == [
        ("Benzene", "soil", "0.5", "mg/kg"), ("Benzene", "groundwater", "5", "ug/L"), ("Arsenic", "groundwater", "10 to 20", "ug/L"),
        ("Toluene", "soil", "1,200", "mg/kg"), ("Toluene", "groundwater", "NL", "ug/L"),
    ]  # fmt: skip


def test_a_unit_of_its_own_in_the_cell_and_one_in_the_heading(office: Any, workbook: Any) -> None:
    path = workbook(
        [["Substance", "Medium", "Standard (ug/L)"], ["Benzene", "groundwater", "5"], ["Acetone", "groundwater", "9 mg/L"]]
    )
    assert office.run("levels", "add", path, *NAMED, *BY).status == 0
    assert _rows(office) == [("Benzene", "groundwater", "5", "ug/L"), ("Acetone", "groundwater", "9", "mg/L")]


ODD = [
    ["a title"], ["analyte", "cas", "medium", "level", "unit", "criteria"],
    ["Benzene", "71-43-3", "soil", "0.5", "mg/kg", ""], ["Tolune", "", "soil", "12a", "mg/kg", ""], ["Arsenic", "7440-38-2", "soil", "191", "mg/kg", "background=19"],
]  # fmt: skip


def test_every_odd_cell_is_asked_about_at_once_and_nothing_is_added(office: Any, workbook: Any, refused: Any) -> None:
    line = refused("levels", "add", workbook(ODD), *NAMED, *BY)
    for part in (
        "row 3, column cas",
        "row 4, column level: '12a'",
        "(perhaps 12)",
        "row 4, column analyte",
        "perhaps Toluene",
        "--answer ROW:COLUMN=TEXT",
    ):
        assert part in line, line
    assert not office.database.exists()


def test_answers_settle_them_and_a_glued_digit_is_asked_about_next(office: Any, workbook: Any, refused: Any) -> None:
    path = workbook(ODD)
    answers = ("--answer", "3:cas=71-43-2", "--answer", "4:level=12", "--answer", "4:analyte=Toluene")
    line = refused("levels", "add", path, *NAMED, *BY, *answers)
    assert "row 5, column level" in line and "191" in line
    assert office.run("levels", "add", path, *NAMED, *BY, *answers, "--answer", "5:level=19").status == 0
    assert [row[2] for row in _rows(office)] == ["0.5", "12", "19"]


def test_a_figure_confirmed_stands_as_it_is(office: Any, workbook: Any) -> None:
    path = workbook([ODD[1], ODD[4]])
    assert office.run("levels", "add", path, *NAMED, *BY).status == 1
    assert office.run("levels", "add", path, *NAMED, *BY, "--confirm", "2").status == 0
    assert [row[2] for row in _rows(office)] == ["191"]


def test_an_answer_wants_a_name_and_a_reason(office: Any, workbook: Any) -> None:
    assert office.run("levels", "add", workbook(ODD), *NAMED, "--answer", "3:cas=71-43-2").status == 2
    assert office.run("levels", "add", workbook(ODD), *NAMED, *BY, "--answer", "cas=71-43-2").status == 2


def test_an_empty_row_does_not_shift_the_rows_named(office: Any, workbook: Any, refused: Any) -> None:
    path = workbook(
        [
            ["analyte", "cas", "medium", "level", "unit", "comparison"],
            [],
            [],
            ["Benzene", "71-43-2", "soil", "1", "mg/kg", "below"],
        ]
    )
    assert "row 4, column comparison" in refused("levels", "add", path, *NAMED, *BY)
