"""Trends against published examples and counted by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import permutations
from typing import Any

import pytest
from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.trend import (
    kendall_s,
    least_rounds,
    levelled,
    mann_kendall,
    p_exact,
    significant,
    slope_a_year,
    theil_sen,
)

Examples = Callable[[str], Any]


def test_by_hand_of_a_course_page(example: Examples) -> None:
    """College of the Holy Cross: 14 values, one tie; the page uses the normal approximation."""
    one = example("e01_mk_14")
    found = mann_kendall(one.observed)
    one.holds({"S": found.s, "Z": found.z, "p_one_sided": found.p_normal})
    one.agrees({"S": found.s, "var_S": found.variance})
    assert found.ties == (2,) and found.p == found.p_exact == pytest.approx(0.0012, abs=5e-5)


def test_slope_of_sen(example: Examples) -> None:
    """Sen (1968), unequal spacing, with its 93 % interval."""
    one = example("e03_theil_sen_7")
    found = theil_sen(one.data["x"], one.data["y"], 0.93)
    one.holds({"slope": found.slope, "intercept": found.intercept, "ci93_lower": found.low, "ci93_upper": found.high})


def test_ties_on_both_sides(example: Examples) -> None:
    """Conover's twelve students; tau b is not offered, tau a and the p without correction for continuity are compared."""
    one = example("e04_kendall_ties_12")
    found = kendall_s(one.data["y"], one.data["x"])
    assert found.s == 27 and found.tau == pytest.approx(0.4090909091)
    one.agrees({"p_two_sided": 2 * stats.norm.sf(found.s / found.variance**0.5)})
    assert found.p_exact is None


def test_exact_table(example: Examples) -> None:
    """Kendall (1975), reprinted in Gilbert (1987), Table A18, to its printed digits."""
    one = example("e06_mk_exact_table")
    one.holds({f"n{n}": [p_exact(s, int(n)) for s in row] for n, row in one.data["S"].items()})


def test_ten_pairs(example: Examples) -> None:
    """Helsel and Hirsch (2002), section 8.2."""
    one = example("e07_kendall_10")
    found = kendall_s(one.data["y"], one.data["x"])
    one.holds({"S": found.s, "tau_a": found.tau, "p_two_sided": found.p_two_sided})
    one.agrees({"p_two_sided": found.p_two_sided})


def test_three_rounds_show_nothing_and_four_just_can(example: Examples) -> None:
    """By hand: 1/3! is above 5 %, 1/4! is not; both sides together take five rounds (2/5!)."""
    one = example("e09_mk_small_samples")
    found = {name: mann_kendall(Observed.of(series)) for name, series in one.data["series"].items()}
    one.holds(
        {
            "three_falling_S": found["three_falling"].s, "three_falling_p_one_sided": found["three_falling"].p,
            "four_falling_S": found["four_falling"].s, "four_falling_p_one_sided": found["four_falling"].p,
            "eight_rising_S": found["eight_rising"].s,
        }
    )  # fmt: skip
    assert [significant(found[name]) for name in ("three_falling", "four_falling", "eight_rising")] == [False, True, True]
    assert (least_rounds(), least_rounds(two_sided=True)) == (4, 5)


@pytest.mark.parametrize("values", [(1, 1, 2, 3, 4), (1, 1, 2, 2, 3), (1, 1, 1, 2, 3), (1, 1, 1, 1, 2), (1, 2, 3, 4, 5, 5)])
def test_exact_p_with_ties_is_a_count_of_all_orders(values: tuple[int, ...]) -> None:
    """Counted over every order of the values."""
    found = Counter(kendall_s(order).s for order in permutations(values))
    every = sum(found.values())
    ties = tuple(count for count in Counter(values).values() if count > 1)
    for s in range(16):
        assert p_exact(s, len(values), ties) == pytest.approx(sum(n for at, n in found.items() if at >= s) / every)


def test_changing_limits_make_no_trend() -> None:
    """Limits that fall from round to round, nothing detected, or detections below an old limit: all tied (invented)."""
    falling = Observed.of([10, 5, 2, 1], [True] * 4)
    assert (mann_kendall(falling).s, mann_kendall(falling).p) == (0, 1.0)
    mixed = Observed.of([10, 3, 2, 1], [True, False, False, False])
    assert len(set(levelled(mixed))) == 1 and mann_kendall(mixed).s == 0
    rising = Observed.of([1, 2, 3, 4], [True, False, False, False])
    assert mann_kendall(rising).s == 6


def test_slope_with_non_detects() -> None:
    """A line of 365.25 days and 3 units a year (by hand); more than half undetected has no slope."""
    days = [0, 365, 731, 1096]
    slope, low, high = slope_a_year(days, Observed.of([1, 4, 7, 10], [True, False, False, False]))
    assert slope == pytest.approx(3, abs=0.01) and low <= slope <= high
    with pytest.raises(Refused, match="more than half"):
        slope_a_year(days, Observed.of([1, 1, 1, 10], [True, True, True, False]))


def test_refusals() -> None:
    with pytest.raises(Refused, match="at least 3 rounds, here are 2"):
        mann_kendall(Observed.of([1, 2]))
    with pytest.raises(Refused, match="same day"):
        theil_sen([1, 1, 2], [1, 2, 3])
