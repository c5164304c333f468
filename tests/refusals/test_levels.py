"""Level files that cannot be used: file, row and column are named, and nothing is added."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

GOOD = {"analyte": "Benzene", "cas": "71-43-2", "medium": "soil", "level": "0.5", "unit": "mg/kg"}
BAD: dict[str, tuple[dict[str, str], list[str]]] = {
    "a level that is no number": ({"level": "low"}, ["row 2", "column level", "'low'"]),
    "a unit that is no concentration": ({"unit": "%"}, ["row 2", "column unit"]),
    "an unknown unit": ({"unit": "furlong"}, ["row 2", "column unit", "furlong"]),
    "an unknown analyte": ({"analyte": "Unobtainium", "cas": ""}, ["row 2", "Unobtainium"]),
    "a CAS number whose check digit fails": ({"cas": "71-43-3"}, ["row 2", "71-43-3"]),
    "a name and a CAS number that disagree": ({"cas": "108-88-3"}, ["row 2", "disagree"]),
    "an unknown medium": ({"medium": "cheese"}, ["cheese"]),
    "an unknown sign": ({"comparison": "below"}, ["row 2", "column comparison"]),
    "an unknown status": ({"transcription": "heard"}, ["row 2", "column transcription"]),
}


@pytest.mark.parametrize(("changes", "told"), BAD.values(), ids=BAD)
def test_a_row_that_cannot_be_used(filled: Any, refused: Callable[..., str], changes: dict[str, str], told: list[str]) -> None:
    path = filled.deliverable("own.csv", [{**GOOD, **changes}])
    line = refused("levels", "add", path, "--table", "us-oh/own", "--version", "2025-01-01", "--by", "A", "--why", "B")
    assert "own.csv" in line or "us-oh/own" in line
    for part in told:
        assert part in line, line


def test_a_missing_column(filled: Any, refused: Callable[..., str]) -> None:
    path = filled.deliverable("own.csv", [{key: value for key, value in GOOD.items() if key != "unit"}])
    line = refused("levels", "add", path, "--table", "us-oh/own", "--version", "2025-01-01", "--by", "A", "--why", "B")
    assert "'unit' is missing" in line


@pytest.mark.parametrize(("table", "version"), [("own", "2025-01-01"), ("us-oh/own", "soon"), ("us-oh/own/more", "2025-01-01")])
def test_a_name_that_is_none(filled: Any, refused: Callable[..., str], table: str, version: str) -> None:
    path = filled.deliverable("own.csv", [GOOD])
    line = refused("levels", "add", path, "--table", table, "--version", version, "--by", "A", "--why", "B")
    assert "own.csv" in line and "--table PLACE/TABLE" in line


def test_a_missing_file(filled: Any, refused: Callable[..., str]) -> None:
    line = refused("levels", "add", filled.folder / "none.csv", "--table", "us-oh/own", "--version", "2025-01-01")
    assert "no such file" in line


def test_a_refused_level_file_makes_no_database(office: Any, refused: Callable[..., str]) -> None:
    path = office.deliverable("own.csv", [{**GOOD, "level": "low"}])
    refused("levels", "add", path, "--table", "us-oh/own", "--version", "2025-01-01", "--by", "A", "--why", "B")
    assert not office.database.exists()


def test_a_table_without_levels(filled: Any, refused: Callable[..., str]) -> None:
    path = filled.folder / "own.csv"
    path.write_text(",".join(GOOD) + "\n", encoding="utf-8")
    assert "holds no level" in refused("levels", "add", path, "--table", "us-oh/own", "--version", "2025-01-01")


def test_a_folder_that_holds_no_tables(filled: Any, refused: Callable[..., str]) -> None:
    assert "no folder of level tables" in refused("levels", "check", filled.folder / "none")
