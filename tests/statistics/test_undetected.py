"""Estimates from partly undetected amounts against published examples; sources stand in examples.json."""

from __future__ import annotations

from collections.abc import Callable
from math import log
from typing import Any

import pytest

from screening.errors import Refused
from screening.screen.statistics.choice import upper_limit
from screening.screen.statistics.likelihood import cohen, cohen_lambda, lognormal_likelihood, normal_likelihood
from screening.screen.statistics.moments import sd
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.order_statistics import complete, complete_by_scores, normal_scores
from screening.screen.statistics.product_limit import product_limit
from screening.screen.statistics.ranks import median, median_between, median_interval, winsorise

Examples = Callable[[str], Any]


def test_cohen_of_berthouex_and_brown(example: Examples) -> None:
    """Example 15.4. The book interpolates lambda in a coarse table and rounds; solved exactly it is 0.01 lower."""
    one = example("b01_cohen_normal_27")
    found = cohen(one.observed)
    one.holds({"mean": found.mean, "sd": found.sd, "variance": found.sd**2})
    one.agrees({"mean": found.mean, "sd": found.sd})
    likely = normal_likelihood(one.observed)
    assert (likely.mean, likely.sd) == pytest.approx((found.mean, found.sd), rel=1e-7)


def test_cohens_table(example: Examples) -> None:
    """Cohen (1961), the part reprinted in Berthouex and Brown (2002), Table 15.4."""
    one = example("b03_cohen_lambda_table")
    table = {f"lambda_gamma_{gamma}": [cohen_lambda(h, gamma) for h in one.data["h"]] for gamma in one.data["gamma"]}
    one.holds(table)
    one.agrees(table)


def test_winsorised(example: Examples) -> None:
    """Berthouex and Brown (2002), Example 15.3."""
    one = example("b04_winsorized_27")
    found = winsorise(one.observed)
    one.holds({"winsorized_mean": found.mean, "s": found.plain_sd, "winsorized_sd": found.sd})
    assert found.kept == 19


def test_median_interval(example: Examples) -> None:
    """Berthouex and Brown (2002), Example 15.1: its ranks 9 and 20 do not lie even about the median; ours are 8 and 20."""
    one = example("b05_median_ci_censored")
    between = median_between(one.observed, (9, 20))
    one.holds({"median": median(one.observed), "ci_lower_rank9": between.low, "ci_upper_rank20": between.high})
    one.agrees({"coverage_ranks_9_20": between.coverage})
    even = median_interval(one.observed)
    assert even.ranks == (8, 20) and even.coverage > 0.95


def _lognormal(observed: Observed, prefix: str = "") -> dict[str, float]:
    curve, filled, likely = product_limit(observed), complete(observed), lognormal_likelihood(observed)
    found = {
        "km_mean": curve.mean(), "km_sd_mass_n": curve.sd("mass_n"), "km_sd_mass_n_minus_1": curve.sd("mass_n_minus_1"),
        "km_mass_below_smallest": curve.leftover, "km_sd_se_root_n": curve.sd("error_root_n"),
        "km_sd_se_root_n_corrected": curve.sd("error_root_n_corrected"), "ros_mean": filled.mean, "ros_sd": filled.sd,
        "ros_mean_log": filled.log_mean, "ros_sd_log": filled.log_sd, "mle_mean_log": likely.mean, "mle_sd_log": likely.sd,
        "mle_mean": likely.lognormal_mean, "mle_sd": likely.lognormal_sd,
    }  # fmt: skip
    return {f"{prefix}{key}": number for key, number in found.items()}


@pytest.mark.parametrize("name", ["b06_pcb_sludge", "b11_arsenic_km_mle", "b15_manganese_25"])
def test_four_estimators_agree_with_other_libraries(example: Examples, name: str) -> None:
    """Berthouex and Brown (2002), Exercise 15.7; Helsel (2005), arsenic; US EPA (2009), chapter 15, manganese."""
    one = example(name)
    one.agrees(_lognormal(one.observed), rel=1e-4)


def test_arsenic_to_the_printed_digits(example: Examples) -> None:
    """Helsel (2005): the printed 0.807 is sqrt(n) times the standard error times sqrt(e / (e - 1)), not the mass spread."""
    one = example("b11_arsenic_km_mle")
    found = _lognormal(one.observed)
    one.holds({key: number for key, number in found.items() if key in one.printed})
    assert {"km_mean", "km_sd_se_root_n_corrected", "mle_mean", "mle_sd", "ros_mean", "ros_sd"} <= set(found)
    assert found["km_sd_mass_n"] == pytest.approx(0.713, abs=6e-4)


def test_manganese_to_the_printed_digits(example: Examples) -> None:
    """US EPA (2009), Unified Guidance, chapter 15: here the printed spread is the mass one with divisor n, of logarithms."""
    one = example("b15_manganese_25")
    logs = Observed.of([log(value) for value in one.values], one.data["censored"])
    curve, found = product_limit(logs), _lognormal(one.observed)
    found |= {"km_mean_log": curve.mean(), "km_sd_log_mass_n": curve.sd("mass_n")}
    one.holds({key: found[key] for key in one.printed})


def test_two_zones_of_copper(example: Examples) -> None:
    """After Millard and Deverel (1988): several limits in each zone; other libraries are the check."""
    one = example("b14_copper_two_zones")
    for zone, group in one.data["groups"].items():
        one.agrees(_lognormal(Observed.of(group["values"], group["censored"]), f"{zone}_"), rel=1e-4)


def test_26_values(example: Examples) -> None:
    """Berthouex and Brown (2002), Exercise 15.5; no printed answer."""
    one = example("b08_normal_26")
    found = normal_likelihood(one.observed)
    one.agrees({"mean": found.mean, "sd": found.sd})
    one.agrees({"mean": cohen(one.observed).mean, "sd": cohen(one.observed).sd})


def test_regression_on_order_statistics(example: Examples) -> None:
    """Helsel and Cohn (1988), appendix B, whose figures are cut to two decimals."""
    one = example("b09_ros_multiple_limits")
    found = complete(one.observed)
    one.holds({"ros_final_sorted": list(found.values)})
    one.agrees({"ros_final_sorted": list(found.values), "ros_mean": found.mean, "ros_sd": found.sd})


def test_product_limit_by_hand(example: Examples) -> None:
    """Iowa State University, Stat 505, chapter 11: a non-detect <5 counts as below a detection of 5."""
    one = example("b12_km_tiny")
    curve = product_limit(one.observed)
    one.holds({"cdf": [curve.below_or_at(at) for at in one.data["evaluate_at"]]})
    one.agrees({"km_mean_efron": curve.mean()})


def test_rankits(example: Examples) -> None:
    """Berthouex and Brown (2002), Exercise 15.4: normal scores to the printed digits, and the line through the logarithms."""
    one = example("b17_rankit_regression")
    one.holds({"rankits": normal_scores(8)})
    intercept, slope, filled = complete_by_scores(one.values, one.data["hidden"])
    one.agrees(
        {
            "intercept_mean_log": intercept, "slope_sd_log": slope, "imputed": list(filled.values[:2]),
            "mean_with_imputed": filled.mean, "sd_with_imputed": sd(filled.values),
        }
    )  # fmt: skip
    assert normal_scores(5)[2] == 0.0


def test_edges(example: Examples) -> None:
    """By hand: nothing detected has no mean; limits above every detection carry nothing. Half limits are not offered."""
    one = example("b18_censored_edge_cases")
    cases = {name: Observed.of(case["values"], case["censored"]) for name, case in one.data["cases"].items()}
    nothing, single, high = cases["all_nd"], cases["one_detect"], cases["high_limits"]
    assert len(nothing.detects) == one.by_hand["all_nd_detects"]
    with pytest.raises(Refused, match="report the highest limit"):
        product_limit(nothing)
    one.holds(
        {
            "one_detect_km_mean_efron": product_limit(single).mean(), "high_limits_km_mean_efron": product_limit(high).mean(),
            "high_limits_max_limit_above_max_detect": high.blind,
        }
    )  # fmt: skip
    assert upper_limit(nothing, ()).limit == 5 and upper_limit(nothing, ()).instead
    assert not single.blind
    with pytest.raises(Refused, match="at least 2 detections"):
        product_limit(single).sd("error_root_n")


def test_the_leftover_bounds_the_mean() -> None:
    """By hand: two of four below 2, detections 4 and 6; leftover half at 2 gives 3.5, at 0 gives 2.5."""
    curve = product_limit(Observed.of([2, 2, 4, 6], [True, True, False, False]))
    assert (curve.leftover, curve.mean("lowest"), curve.mean("zero")) == pytest.approx((0.5, 3.5, 2.5))
