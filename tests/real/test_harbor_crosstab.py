"""Harbor sediment as a consultant printed it: an old xls, analytes down, a column of levels among the samples.

The oracle reads the same sheets with calamine; the bold type of the printed table, in expected.json, is a second one.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from python_calamine import CalamineWorkbook

from tests.portfolio.same import hold_beside

TABLE = "us-me/printed-erm"
UNITS = {"Metals": "mg/kg", "PAHs": "ug/kg"}


@dataclass(frozen=True)
class Cell:
    """One printed result: what the sheet says of it and of its level, in the unit of the footnote."""

    sheet: str
    row: int
    analyte: str
    sample: str
    number: Decimal
    mark: str
    level: Decimal | None

    @property
    def factor(self) -> Decimal:
        return Decimal(1) if UNITS[self.sheet] == "mg/kg" else Decimal("0.001")


@pytest.fixture(scope="module")
def folder(reference: Path) -> Path:
    return reference / "real" / "o04_harbor_sediment_crosstab"


@pytest.fixture(scope="module")
def expected(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def printed(folder: Path) -> list[Cell]:
    book = CalamineWorkbook.from_path(str(folder / "metals_pahs.xls"))
    cells = []
    for sheet in UNITS:
        rows = book.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
        top = next(number for number, row in enumerate(rows) if row[0] == "PARAMETER_NAME")
        for number, row in enumerate(rows[top + 1 :], start=top + 2):
            if not row[0]:
                break
            level = exact(row[1]) if row[1] != "" else None
            for at in range(2, len(row), 2):
                sample = str(rows[top - 1][at])
                cells.append(Cell(sheet, number, str(row[0]), sample, exact(row[at]), str(row[at + 1]), level))
    return cells


@pytest.fixture(scope="module")
def screened(desk: Any, folder: Path, printed: list[Cell]) -> dict[str, Any]:
    desk.plain_site("harbor", place="us-me", levels=TABLE)
    levels = {
        cell.analyte: {
            "analyte": cell.analyte.removesuffix(", TOTAL"), "cas": "", "medium": "sediment", "level": cell.level,
            "unit": UNITS[cell.sheet], "comparison": "above",
        }
        for cell in printed
        if cell.level is not None
    }  # fmt: skip
    file = desk.deliverable("erm.csv", levels.values())
    added = desk.run("levels", "add", file, "--table", TABLE, "--version", "2020-01-01")
    assert added.status == 0, added.error
    said = desk.run("import", folder / "metals_pahs.xls", "--site", "harbor", "--set", "medium=sediment")
    assert said.status == 0, said.error
    # the footnotes state no basis; the printed table compared the numbers as they stand
    answer = desk.run("screen", "--site", "harbor", "--levels", TABLE, "--setting", "missing_basis=dry")
    return {"import": said.document["deliverables"][0], **answer.document}


def exact(number: Any) -> Decimal:
    """A spreadsheet's number without the tail of its binary form."""
    return Decimal(f"{number:.15g}")


def test_every_printed_cell_is_one_result(
    screened: dict[str, Any], printed: list[Cell], expected: dict[str, Any], balanced: Any
) -> None:
    rows = screened["import"]["rows"]
    assert rows == {"read": 414, "results": 384, "quality_control": 0, "held_back": 0, "ignored": 30} and balanced(rows)
    assert len(printed) == expected["summary"]["results"] == 384
    found = {(item["source"]["sheet"], item["source"]["row"], item["sample_id"]): item for item in screened["outcomes"]}
    assert found.keys() == {(cell.sheet, cell.row, cell.sample) for cell in printed}
    for cell in printed:
        item = found[cell.sheet, cell.row, cell.sample]
        assert item["detected"] is (cell.mark != "U") and item["unit"] == "mg/kg" and item["medium"] == "sediment"
        assert Decimal(item["value"] if item["detected"] else item["limit"]) == cell.number * cell.factor
        assert item["qualifiers"] == cell.mark
    assert sum(not item["detected"] for item in found.values()) == expected["summary"]["nondetect"] == 4


def test_the_printed_levels_are_no_sample(screened: dict[str, Any]) -> None:
    assert {item["sample_id"] for item in screened["outcomes"]} == {f"CSP-{number}" for number in range(1, 16)} | {"CSP-7D"}
    told = screened["import"]["assumptions"]
    assert {f"sheet '{sheet}': columns not read: ERM Value1" for sheet in UNITS} <= set(told)


def test_exceedances_are_the_numbers_printed_bold(
    screened: dict[str, Any], printed: list[Cell], expected: dict[str, Any]
) -> None:
    over = {
        (item["source"]["sheet"], item["source"]["row"], item["sample_id"])
        for item in screened["outcomes"]
        if item["outcome"] == "exceeds"
    }
    straight = [cell for cell in printed if cell.level is not None and cell.number > cell.level and cell.mark != "U"]
    assert over == {(cell.sheet, cell.row, cell.sample) for cell in straight}
    assert len(over) == expected["summary"]["exceedances"] == 119
    listed = {
        (sheet, analyte, sample)
        for sheet, told in expected["sheets"].items()
        for analyte, sample, _, _ in told["exceedances_of_the_printed_ERM_column"]
    }
    assert listed == {(cell.sheet, cell.analyte, cell.sample) for cell in straight}
    without = Counter(item["analyte"] for item in screened["outcomes"] if item["outcome"] == "no_level")
    assert set(without.values()) == {16} and len(without) == 4


def test_a_portfolio_of_the_site_tells_every_outcome_alike(desk: Any, screened: dict[str, Any]) -> None:
    hold_beside(desk, ("screen", "--site", "harbor", "--levels", TABLE, "--setting", "missing_basis=dry"), screened)
