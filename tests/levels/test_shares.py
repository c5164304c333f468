"""Two levels that a rule ties to each other by a share: which pairs are told as broken. Figures made up."""

from __future__ import annotations

import pytest

from screening.levels.shares import broken
from tests.levels.conftest import Make

HEAD = "analyte,cas,medium,level,unit,fraction,standard,area\n"
FACTS = """
[conditions.standard]
from = "site"
values = ["preventive", "enforcement"]
title = "standard"
[conditions.area]
from = "site"
values = ["A", "B"]
title = "area"
[ratio]
condition = "standard"
lower = "preventive"
upper = "enforcement"
shares = ["0.1", "0.2"]
source = "made up"
"""


def _told(make: Make, rows: str, facts: str = FACTS) -> list[str]:
    made = make(HEAD + rows, facts)
    return [text for _, _, text in broken(made.table("xx/made-up"), [made.version("xx/made-up", "2020-01-01")])]


@pytest.mark.parametrize(
    ("low", "held"), [("1", True), ("2", True), ("1.5", False), ("10", False), ("2000 ", False), ("NL", True)]
)
def test_a_pair_must_stand_in_one_of_the_shares(make: Make, low: str, held: bool) -> None:
    told = _told(make, f"Benzene,,groundwater,{low},ug/L,,preventive,\nBenzene,,groundwater,10,ug/L,,enforcement,\n")
    assert told == ([] if held else [f"Benzene: {low.strip()} ug/L is not 10 % or 20 % of 10 ug/L; read both again"])


def test_a_pair_is_compared_in_one_unit(make: Make) -> None:
    assert _told(make, "Benzene,,groundwater,1,ug/L,,preventive,\nBenzene,,groundwater,0.01,mg/L,,enforcement,\n") == []


def test_a_level_without_its_other_is_told(make: Make) -> None:
    assert _told(make, "Benzene,,groundwater,1,ug/L,,preventive,\n") == ["Benzene: has no enforcement"]
    assert _told(make, "Benzene,,groundwater,1,ug/L,,enforcement,\n") == ["Benzene: has no preventive"]


@pytest.mark.parametrize(
    "other",
    ["Toluene,,groundwater,9,ug/L,,preventive,\n", "Benzene,,soil,9,mg/kg,,preventive,\n", "Benzene,,groundwater,9,ug/L,total,preventive,\n",
     "Benzene,,groundwater,9,ug/L,,preventive,A\n"],
)  # fmt: skip
def test_pairs_are_formed_within_substance_medium_fraction_and_other_conditions(make: Make, other: str) -> None:
    pair = "Benzene,,groundwater,1,ug/L,,preventive,\nBenzene,,groundwater,10,ug/L,,enforcement,\n"
    assert [text.partition(": ")[2] for text in _told(make, pair + other)] == ["has no enforcement"]


def test_a_confirmed_pair_is_not_told(make: Make) -> None:
    rows = "".join(
        f"{name},,groundwater,9,ug/L,,preventive,\n{name},,groundwater,10,ug/L,,enforcement,\n" for name in ("Benzene", "Toluene")
    )
    confirmed = FACTS + '[[confirmed]]\nanalyte = "Benzene"\ntext = "printed so"\n'
    assert [text.partition(":")[0] for text in _told(make, rows, confirmed)] == ["Toluene"]


def test_without_a_rule_nothing_is_told(make: Make) -> None:
    facts = FACTS[: FACTS.index("[ratio]")]
    assert _told(make, "Benzene,,groundwater,1,ug/L,,preventive,\n", facts) == []
