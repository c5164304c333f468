"""Comparing as observed or after rounding: the bar moves by half a place, the value never changes."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.levels.bars import Bar, bar

HEAD = "analyte,cas,medium,level,unit,comparison,citation,source\n"

# EPA, significant figures for the arsenic limit (safewater.zendesk.com article 212079027): limit 0.010 mg/L
ARSENIC = [("0.0105", True), ("0.0104", False), ("0.0114", True), ("0.010", False), ("0.01049999", False)]

# ASTM E29: the absolute method takes the value as observed; the rounding method rounds it to the last place of the limit,
# a half to the even digit (the latter from memory, see the standard's section on rounding)
E29 = [
    ("none", "2.5", "2.51", True), ("none", "2.5", "2.5", False),
    ("last_place_half_even", "2.5", "2.54", False), ("last_place_half_even", "2.5", "2.55", True),
    ("last_place_half_even", "2.4", "2.45", False), ("last_place_half_even", "2.4", "2.4501", True),
    ("last_place_half_up", "2.4", "2.45", True),
]  # fmt: skip


@pytest.mark.parametrize(("value", "over"), ARSENIC)
def test_the_arsenic_example_of_drinking_water_practice(value: str, over: bool) -> None:
    assert bar(Decimal("0.010"), False, "figures_half_up").exceeded(Decimal(value)) is over


@pytest.mark.parametrize(("mode", "level", "value", "over"), E29)
def test_absolute_and_rounding_method(mode: Any, level: str, value: str, over: bool) -> None:
    assert bar(Decimal(level), False, mode).exceeded(Decimal(value)) is over


def test_the_digits_of_the_limit_matter() -> None:
    """4.0 and 4 ng/L are two limits: EPA, PFAS rule (nepis P101D2O6), two figures against one."""
    assert bar(Decimal("4.0"), False, "figures_half_up").exceeded(Decimal("4.05"))
    assert not bar(Decimal("4"), False, "figures_half_up").exceeded(Decimal("4.4"))


amounts = st.decimals("0.0001", "9999", places=5)
levels = st.sampled_from(["0.010", "0.246", "1", "1.0", "2.5", "9.9", "70.7", "10", "99", "100", "1000", "0.0007", "5.00"])


def _rounded(value: Decimal, level: Decimal, mode: str) -> Decimal:
    """The value rounded as a person would: the straight line that the bar is held against."""
    way = ROUND_HALF_UP if mode.endswith("up") else ROUND_HALF_EVEN
    exponent = level.as_tuple().exponent
    assert isinstance(exponent, int)
    if mode.startswith("last_place"):
        return value.quantize(Decimal(1).scaleb(exponent), way)
    figures = len(level.as_tuple().digits)
    return value.quantize(Decimal(1).scaleb(value.adjusted() - figures + 1), way) if value else value


@given(
    amounts,
    levels,
    st.sampled_from(["last_place_half_up", "last_place_half_even", "figures_half_up", "figures_half_even"]),
    st.booleans(),
)
def test_moving_the_bar_is_rounding_the_value(value: Decimal, text: str, mode: Any, at_or_above: bool) -> None:
    level = Decimal(text)
    rounded = _rounded(value, level, mode)
    assert bar(level, at_or_above, mode).exceeded(value) is (rounded >= level if at_or_above else rounded > level)


NEAR = ["0.010", "0.011", "1", "1.0", "2.5", "2.4", "9.9", "10", "99", "100", "5.00", "7", "8"]


@pytest.mark.parametrize("mode", ["last_place_half_up", "last_place_half_even", "figures_half_up", "figures_half_even"])
@pytest.mark.parametrize("at_or_above", [False, True])
def test_it_is_so_at_every_step_around_a_level(mode: Any, at_or_above: bool) -> None:
    """Twentieths of the last place, and two hundredths, to two places above and below: every half of a place is among them."""
    for text in NEAR:
        level = Decimal(text)
        place = Decimal(1).scaleb(min(int(level.as_tuple().exponent), 0))
        moved = bar(level, at_or_above, mode)
        for step in range(-400, 401):
            value = level + step * place / 200
            rounded = _rounded(value, level, mode)
            assert moved.exceeded(value) is (rounded >= level if at_or_above else rounded > level), (text, value)


def test_a_level_printed_as_a_power_is_shown_to_its_last_whole_unit() -> None:
    """2E+3 is two thousand and not two of something: common practice, no source; a half of a unit moves the bar."""
    assert bar(Decimal("2E+3"), False, "last_place_half_up") == Bar(Decimal("2000.5"), True)


@given(amounts, levels, st.booleans())
def test_unrounded_the_bar_is_the_level(value: Decimal, text: str, at_or_above: bool) -> None:
    level = Decimal(text)
    assert bar(level, at_or_above).exceeded(value) is (value >= level if at_or_above else value > level)


def test_a_rounding_table_says_so_where_it_changes_the_outcome(rule: Any) -> None:
    rule.table(HEAD + "Arsenic,7440-38-2,groundwater,0.010,mg/L,above,made up,made up\n", 'rounding = "figures_half_up"\n')
    rule.results(
        [
            {"medium": "groundwater", "analyte": "Arsenic", "result": text, "unit": "mg/L"}
            for text in ("0.0104", "0.0105", "<0.0104")
        ]
    )
    document = rule.screen()
    assert [one["outcome"] for one in document["outcomes"]] == ["does_not_exceed", "exceeds", "does_not_exceed"]
    assert "unrounded it would be otherwise" in document["outcomes"][0]["because"]
    assert "unrounded" not in document["outcomes"][1]["because"]


def test_massachusetts_rounds_inorganics_only(office: Any) -> None:
    """310 CMR 22.06(1): inorganic results are rounded to the figures of the limit; arsenic 0.010, benzene 0.005 mg/L."""
    office.plain_site(levels="us-ma/drinking-water@2006-07-28")
    rows = [
        {"sample_id": f"W-{at}", "medium": "groundwater", "analyte": analyte, "result": result, "unit": "mg/L"}
        for at, (analyte, result) in enumerate([("Arsenic", "0.0104"), ("Arsenic", "0.0105"), ("Benzene", "0.0054")])
    ]
    assert office.run("import", office.deliverable("w.csv", rows), "--site", "one").status == 0
    outcomes = office.run("screen", "--site", "one").document["outcomes"]
    assert [one["outcome"] for one in outcomes] == ["does_not_exceed", "exceeds", "exceeds"]
