"""155 floodplain topsoils (the Meuse data of the R package sp, as shipped inside scikit-gstat) against soil levels.

Cadmium, copper and lead: Canadian soil quality guidelines for residential land, summary table of September 2007
(second hand, from a public copy of the table). Zinc: invented for the test.
"""

from __future__ import annotations

import csv
import importlib.util
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

LEVELS = {"cadmium": "10", "copper": "63", "lead": "140", "zinc": "200"}
CAS = {"cadmium": "7440-43-9", "copper": "7440-50-8", "lead": "7439-92-1", "zinc": "7440-66-6"}


@pytest.fixture(scope="module")
def soils() -> dict[str, dict[str, str]]:
    """The wide table as text, by sample; the package itself is not imported, its start takes seconds."""
    spec = importlib.util.find_spec("skgstat")
    assert spec is not None and spec.submodule_search_locations, "scikit-gstat is among the packages of the extra 'dev'"
    path = Path(spec.submodule_search_locations[0]) / "data" / "samples" / "meuse.txt"
    with path.open(newline="", encoding="utf-8") as file:
        return {f"M{number}": row for number, row in enumerate(csv.DictReader(file), start=1)}


@pytest.fixture(scope="module")
def answers(desk: Any, soils: dict[str, dict[str, str]]) -> dict[str, dict[str, Any]]:
    """The screens by what is done with a basis that nobody stated."""
    long = [
        {
            "sample_id": sample,
            "medium": "soil",
            "analyte": metal.title(),
            "cas": CAS[metal],
            "result": row[metal],
            "unit": "mg/kg",
        }
        for sample, row in soils.items()
        for metal in LEVELS
    ]
    levels = [
        {"analyte": metal.title(), "cas": CAS[metal], "medium": "soil", "level": level, "unit": "mg/kg", "comparison": "above"}
        for metal, level in LEVELS.items()
    ]
    desk.plain_site("floodplain", place="nl", levels="nl/soil-check")
    added = desk.run(
        "levels", "add", desk.deliverable("levels.csv", levels), "--table", "nl/soil-check", "--version", "2007-09-01"
    )
    assert added.status == 0, added.error
    rows = desk.run("import", desk.deliverable("soils.csv", long), "--site", "floodplain").document["deliverables"][0]["rows"]
    assert rows == {"read": 620, "results": 620, "quality_control": 0, "held_back": 0, "ignored": 0}
    words = ("screen", "--site", "floodplain", "--levels", "nl/soil-check", "--setting")
    return {basis: desk.run(*words, f"missing_basis={basis}").document for basis in ("dry", "open")}


def straight(soils: dict[str, dict[str, str]]) -> set[tuple[str, str]]:
    """Sample and metal of every number above its level."""
    return {
        (sample, metal) for sample, row in soils.items() for metal in LEVELS if Decimal(row[metal]) > Decimal(LEVELS[metal])
    }  # fmt: skip


def exceeding(answer: dict[str, Any]) -> set[tuple[str, str]]:
    return {(item["sample_id"], item["analyte"].lower()) for item in answer["outcomes"] if item["outcome"] == "exceeds"}


def test_exceedances_are_those_of_a_straight_count(answers: dict[str, dict[str, Any]], soils: dict[str, dict[str, str]]) -> None:
    assert len(soils) == 155
    over = straight(soils)
    assert exceeding(answers["dry"]) == over
    assert Counter(metal for _, metal in over) == {"cadmium": 9, "copper": 30, "lead": 67, "zinc": 112}
    assert answers["dry"]["counts"] == {"exceeds": len(over), "open": 0, "no_level": 0, "does_not_exceed": 620 - len(over)}


def test_without_a_basis_nothing_passes(answers: dict[str, dict[str, Any]], soils: dict[str, dict[str, str]]) -> None:
    over = straight(soils)
    assert exceeding(answers["open"]) == over, "per dry mass the number can only be higher"
    assert answers["open"]["counts"] == {"exceeds": len(over), "open": 620 - len(over), "no_level": 0, "does_not_exceed": 0}
    waiting = {item["because"] for item in answers["open"]["outcomes"] if item["outcome"] == "open"}
    assert waiting == {"the basis (dry or as received) is not stated"}


def test_the_borrowed_figures_are_those_read(reference: Path) -> None:
    with (reference / "levels" / "ccme_soil_guidelines_2007.csv").open(newline="", encoding="utf-8") as file:
        printed = {
            row["cas"]: row["value"] for row in csv.DictReader(file) if row["conditions"] == "land_use=residential_parkland"
        }
    assert {metal: printed.get(CAS[metal]) for metal in LEVELS} == {**LEVELS, "zinc": None}
