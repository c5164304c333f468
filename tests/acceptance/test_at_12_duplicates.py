"""AT-12: duplicates that disagree; the rule decides, and where it does so is told."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from screening.quality.pairs import relative_difference

PAIRS = {"IV-2": ("0.22", "0.27"), "IV-5": ("0.21", "0.31"), "IV-6": ("0.012", "0.019")}


@pytest.fixture(scope="module")
def sampled(desk: Any) -> Any:
    """Three locations, each with a parent and a field duplicate."""
    office = desk
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    rows = [
        {
            "sample_id": name + mark, "location": name, "sample_kind": kind, "parent_sample": parent, "medium": "soil", "analyte": "Benzene",
            "result": value, "unit": "mg/kg", "basis": "dry", "quantitation_limit": "0.005",
        }
        for name, values in PAIRS.items()
        for mark, kind, parent, value in (("", "field", "", values[0]), ("-D", "field_duplicate", name, values[1]))
    ]  # fmt: skip
    assert office.run("import", office.deliverable("pairs.csv", rows), "--site", "one").status == 0
    return office


def verdicts(answer: dict[str, Any]) -> dict[str, tuple[str, str]]:
    return {item["location"]: (item["value"], item["outcome"]) for item in answer["outcomes"]}


def test_the_higher_decides_by_default(sampled: Any) -> None:
    answer = sampled.run("screen", "--site", "one").document
    assert len(answer["outcomes"]) == 3, "three locations, not six"
    assert verdicts(answer) == {"IV-2": ("0.27", "exceeds"), "IV-5": ("0.31", "exceeds"), "IV-6": ("0.019", "does_not_exceed")}
    assert any("the worse of the two outcomes stands" in text for text in answer["assumptions"])


def test_the_mean_decides_where_it_is_chosen(sampled: Any) -> None:
    answer = sampled.run("screen", "--site", "one", "--setting", "duplicate_rule=mean").document
    assert verdicts(answer) == {
        "IV-2": ("0.245", "does_not_exceed"),
        "IV-5": ("0.26", "exceeds"),
        "IV-6": ("0.0155", "does_not_exceed"),
    }


def test_the_parent_decides_where_it_is_chosen(sampled: Any) -> None:
    answer = sampled.run("screen", "--site", "one", "--setting", "duplicate_rule=parent").document
    assert verdicts(answer) == {
        "IV-2": ("0.22", "does_not_exceed"),
        "IV-5": ("0.21", "does_not_exceed"),
        "IV-6": ("0.012", "does_not_exceed"),
    }


def test_a_verdict_that_depends_on_the_rule_is_named(sampled: Any) -> None:
    by_place = {item["location"]: item for item in sampled.run("screen", "--site", "one").document["outcomes"]}
    assert "verdict depends on the duplicate rule" in by_place["IV-2"]["because"]
    assert by_place["IV-2"]["duplicate"]["outcomes"] == {
        "higher": "exceeds",
        "parent": "does_not_exceed",
        "mean": "does_not_exceed",
    }
    assert by_place["IV-5"]["duplicate"]["depends_on_rule"] is True, "its parent alone lies below 0.246"
    assert by_place["IV-6"]["duplicate"]["depends_on_rule"] is False
    pair = by_place["IV-2"]["duplicate"]
    assert (pair["parent"]["result"], pair["field_duplicates"][0]["result"]) == ("0.22", "0.27"), "both values stand"


def test_the_relative_differences_are_the_scenarios(sampled: Any) -> None:
    assert round(relative_difference(Decimal("0.22"), Decimal("0.27")), 1) == Decimal("20.4")
    assert round(relative_difference(Decimal("0.21"), Decimal("0.31")), 1) == Decimal("38.5")
    review = sampled.run("review", "--site", "one").document
    assert not [item for item in review["findings"] if item["check"] == "field_duplicate"], "50 % are allowed in soil"
    assert {row["sample_id"]: row["checks"]["field_duplicate"] for row in review["grid"]}["IV-6"] == "ok"


def test_both_values_stand_in_the_results(sampled: Any) -> None:
    found = sampled.run("results", "--site", "one").document["results"]
    assert sorted(item["value"] for item in found) == sorted(value for pair in PAIRS.values() for value in pair)
