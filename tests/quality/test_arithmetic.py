"""Worked examples of quality-control arithmetic, each with its source in the reference folder."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from screening.quality.dry import dry_amount
from screening.quality.pairs import Side, agreement, relative_difference
from screening.vocabulary.units import read_unit

Example = Callable[[str], dict[str, Any]]


@pytest.fixture
def example(reference: Path) -> Example:
    """One example, its numbers as decimals."""
    return lambda name: dict(
        json.loads((reference / "stats" / f"{name}.json").read_text(encoding="utf-8"), parse_float=Decimal, parse_int=Decimal)
    )


def near(one: Decimal | int, two: Decimal | int, tolerance: Decimal) -> bool:
    return abs(Decimal(one) - Decimal(two)) <= tolerance


def test_relative_differences_of_radon_pairs(example: Example) -> None:
    """g01, published and read: 12, 14, 16, 14 and 29 %."""
    case = example("g01_rpd_radon")
    for (one, two), wanted in zip(case["data"]["pairs"], case["published_answer"]["rpd"], strict=True):
        assert near(relative_difference(one, two), wanted, case["tolerance"]["abs"])


def test_relative_differences_of_three_calculators(example: Example) -> None:
    """g02, published and read: 12.83, 66.67 and 40 %; fluoride pairs by hand."""
    case = example("g02_rpd_pairs")
    pairs = case["data"]["pairs"] + case["data"]["extra_pairs"]
    answers = case["published_answer"]["rpd"] + case["hand_answer"]["rpd_extra"]
    for (one, two), wanted in zip(pairs, answers, strict=True):
        assert near(relative_difference(one, two), wanted, case["tolerance"]["abs"])


def test_which_duplicate_rule_applies(example: Example) -> None:
    """g10, recalled convention with numbers of its own: 22.2 % kept; differences of 9 kept and of 12 not."""
    case = example("g10_duplicate_rules")
    answer = case["hand_answer"]

    def of(name: str) -> Any:
        data = case["data"]["cases"][name]
        sides = [Side(data[side], not data[f"{side}_nd"], data["rl"]) for side in ("primary", "duplicate")]
        return agreement(*sides, case["data"]["rpd_limit_percent"], data["abs_factor"], Decimal(5))

    assert of("both_high").rule == "relative" and near(of("both_high").figure, answer["both_high_rpd"], Decimal("0.001"))
    assert of("both_high").met is True
    assert (of("one_low").rule, of("one_low").figure, of("one_low").met) == ("difference", answer["one_low_difference"], True)
    assert (of("one_nd").figure, of("one_nd").met) == (answer["one_nd_difference"], answer["one_nd_ok"])
    assert (of("both_nd").rule, of("both_nd").met) == ("both_not_detected", True)


@pytest.mark.parametrize(
    ("one", "two", "rule", "met"),
    [
        ("85", "115", "relative", True),  # 30 % exactly
        ("85", "115.1", "relative", False),
        ("25", "30", "difference", True),  # 25 is five times the limit, not above it
        ("25", "35", "difference", True),  # a difference of two limits exactly
        ("25", "35.1", "difference", False),
    ],
)
def test_boundaries_of_the_duplicate_rules(one: str, two: str, rule: str, met: bool) -> None:
    """Invented numbers; a limit of 5, 30 % and two limits."""
    found = agreement(
        Side(Decimal(one), True, Decimal(5)), Side(Decimal(two), True, Decimal(5)), Decimal(30), Decimal(2), Decimal(5)
    )
    assert (found.rule, found.met) == (rule, met)


def test_nothing_is_held_without_limits() -> None:
    assert (
        agreement(Side(Decimal(1), True, None), Side(Decimal(9), True, Decimal(1)), Decimal(30), Decimal(2), Decimal(5)).met
        is None
    )


def test_two_zeros_have_no_relative_difference() -> None:
    with pytest.raises(ZeroDivisionError):
        relative_difference(Decimal(0), Decimal(0))


def test_percent_solids_from_moisture(example: Example) -> None:
    """i01 (published, read) and i02 (published on a dry basis, read): solids are 100 less the moisture on the wet basis."""
    one, two = example("i01_moisture_wet_basis"), example("i02_moisture_dry_basis")
    wet = 100 - one["published_answer"]["moisture_wet_basis_percent"]
    assert wet == one["hand_answer"]["percent_solids"] == Decimal(85)
    assert dry_amount(Decimal("0.85"), wet) == Decimal(1)
    solids = two["hand_answer"]["percent_solids"]
    assert near(100 - two["hand_answer"]["moisture_wet_basis_percent"], solids, two["tolerance"]["abs"])
    wrong = 100 - two["published_answer"]["moisture_dry_basis_percent"]
    assert dry_amount(Decimal(1), wrong) > dry_amount(Decimal(1), solids) * Decimal("1.04"), "the dry basis would be wrong by 4 %"


def test_dry_results_and_limits(example: Example, office: Any) -> None:
    """i04, by hand: 20 at 80 % solids is 25, its limit 5 is 6.25; a limit of 0.5 diluted 5 times is 2.5."""
    case = example("i04_dry_weight_and_rl")
    a, answer = case["data"]["cases"]["A"], case["hand_answer"]
    assert dry_amount(a["wet_result"], a["percent_solids"]) == answer["A_dry_result"]
    assert dry_amount(a["base_rl"], a["percent_solids"]) == answer["A_adjusted_rl"]
    c = case["data"]["cases"]["C_water"]
    layout = office.folder / "bare.toml"
    layout.write_text("[limits]\ndilution_included = false\n", encoding="utf-8")
    office.plain_site()
    row = {
        "sample_id": "W",
        "medium": "groundwater",
        "analyte": "Benzene",
        "result": "ND",
        "unit": "ug/L",
        "reporting_limit": c["base_rl"],
        "dilution": c["dilution"],
    }
    assert office.run("import", office.deliverable("w.csv", [row]), "--site", "one", "--layout", layout).status == 0
    (found,) = office.run("results", "--site", "one").document["results"]
    assert Decimal(found["limit"]) == answer["C_water_adjusted_rl"] < c["level"]


@pytest.mark.parametrize(("name", "medium"), [("j01_units_water", "groundwater"), ("j03_units_soil", "soil")])
def test_units(example: Example, name: str, medium: str) -> None:
    """j01 (Oregon State University, read) and j03 (encyclopedic answers, read): both ways round give the same amount."""
    case = example(name)
    spelled = {
        "ppb_water": "ppb",
        "ppm_water": "ppm",
        "ppm_soil": "ppm",
        "ppb_soil": "ppb",
        "ppt_soil": "ng/kg",
        "percent": "percent",
    }
    for step, wanted in zip(case["data"]["conversions"], case["published_answer"]["converted"], strict=True):
        one = read_unit(spelled.get(step["from"], step["from"]), medium)
        two = read_unit(spelled.get(step["to"], step["to"]), medium)
        if two.kind == "percent":
            assert one.convert(step["value"]) == wanted * 10_000, "a percent is ten thousand mg/kg"
            continue
        assert one.problem is None and two.problem is None
        assert one.convert(step["value"]) == two.convert(Decimal(wanted))
