"""Rules that count samples, at their boundaries, and bounds of single values, against published examples."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from math import exp, log, sqrt
from typing import Any

import pytest
from scipy import stats

from screening.errors import Refused
from screening.screen.statistics import tolerance
from screening.screen.statistics.background import background
from screening.screen.statistics.limits import student_t, t_upper
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.proportion import proportion, upper_share
from screening.screen.statistics.shares import (
    Bounds,
    all_of,
    fewer_than_a_tenth,
    mean_not_above,
    none_above_times,
    three_quarters,
)
from screening.screen.statistics.shown import figures, not_above

Examples = Callable[[str], Any]


def exact(values: Sequence[object]) -> list[Bounds]:
    """Detections, from their texts."""
    return [Bounds(Decimal(str(value)), Decimal(str(value))) for value in values]


def test_washington_three_part(example: Examples) -> None:
    """WAC 173-340-740(7), recalled; worked by hand with Student's limit. A tenth is not fewer, twice is not above twice."""
    one = example("f01_wa_three_part")
    level = Decimal(one.data["level"])
    found = {}
    for name, values in one.data["cases"].items():
        parts = {
            "ucl": not_above(student_t(values), level, "above"), "2x": none_above_times(exact(values), level, 2).met,
            "10pct": fewer_than_a_tenth(exact(values), level).met,
        }  # fmt: skip
        found |= {f"{name}_pass_{key}": met for key, met in parts.items()}
        found[f"{name}_complies"] = all(parts.values())
    one.holds({key: met for key, met in found.items() if key in one.by_hand})
    assert len(one.by_hand) == 13 and set(one.by_hand) <= set(found)


def test_three_quarters_and_ten_times(example: Examples) -> None:
    """25 Pa. Code 250.707(b)(1)(i): exactly three quarters and exactly ten times are enough; 8 of 11 is not."""
    one = example("f02_pa_75_10")
    level = Decimal(one.data["level"])
    found = {
        f"{name}_attains": all_of([three_quarters(exact(values), level), none_above_times(exact(values), level, 10)])
        for name, values in one.data["cases"].items()
    }
    one.holds(found)
    assert len(found) == 5


def test_a_value_at_the_level_counts_where_the_sign_says_so() -> None:
    """Three of four at the level: fine where 'above' is the sign, all exceed where 'at or above' is (invented)."""
    values, level = exact([5, 5, 5, 1]), Decimal(5)
    assert three_quarters(values, level, "above").met is True
    assert three_quarters(values, level, "at_or_above").met is False
    assert mean_not_above(exact([5, 5]), level, "above").met is True
    assert mean_not_above(exact([5, 5]), level, "at_or_above").met is False
    assert not_above(5.0, level, "above") and not not_above(5.0, level, "at_or_above")


def test_fractions_are_exact() -> None:
    """A third of 0.1, 0.2 and 0.3 is 0.2 exactly, which a sum of binary floats misses (invented)."""
    assert sum([0.1, 0.2, 0.3]) / 3 > 0.2
    assert mean_not_above(exact(["0.1", "0.2", "0.3"]), Decimal("0.2")).met is True
    assert mean_not_above(exact(["0.1", "0.2", "0.3000000000000000001"]), Decimal("0.2")).met is False


def test_a_non_detect_never_meets_a_rule_by_itself() -> None:
    """Limits above the level leave a rule open, limits below it meet it; an unknown upper bound does not (invented)."""
    level = Decimal(10)
    low = [Bounds(Decimal(0), Decimal(1))] * 9
    assert fewer_than_a_tenth(low, level).met is True
    high = [*low, Bounds(Decimal(0), Decimal(30))]
    assert fewer_than_a_tenth(high, level).met is None
    assert none_above_times(high, level, 2).met is None
    assert none_above_times(high, level, 10).met is True
    assert none_above_times([*low, Bounds(Decimal(0), None)], level, 10).met is None
    assert mean_not_above([Bounds(Decimal(0), None)], level).met is None
    assert mean_not_above([Bounds(Decimal(30), None)], level).met is False
    parts = [fewer_than_a_tenth(high, level), none_above_times(exact([21]), level, 2)]
    assert all_of(parts) is False and all_of(parts[:1]) is None


def test_proportion(example: Examples) -> None:
    """NIST/SEMATECH e-Handbook 7.2.4: 26 of 200 against a tenth."""
    one = example("f04_proportion_test")
    found = proportion(one.data["x"], one.data["n"], one.data["p0"])
    one.holds({"phat": found.share, "z": found.z})
    one.agrees({"p_exact_greater": found.p, "clopper_pearson95_lower": found.low, "clopper_pearson95_upper": found.high})
    assert upper_share(0, 59) == pytest.approx(1 - 0.05 ** (1 / 59)) and upper_share(5, 5) == 1


def test_share_above(example: Examples) -> None:
    """Berthouex and Brown (2002), chapter 21, is not met in the last figures, on purpose: K there is rounded to 2.2."""
    one = example("f05_exceedance_bound")
    rounded = tolerance.share_above(one.data["K_rounded"], one.data["n"])
    full = tolerance.share_above((log(one.data["limit"]) - one.data["mean_log"]) / one.data["sd_log"], one.data["n"])
    one.agrees({"upper95_fraction_above": rounded, "upper95_fraction_above_full_precision": full})
    assert one.printed["upper95_fraction_above"] == pytest.approx(full, abs=5e-4)


def test_tolerance_factors_of_the_handbook(example: Examples) -> None:
    """A worksheet after NIST/SEMATECH e-Handbook 7.2.6.3: the handbook's formulas, and the exact factors beside them."""
    one = example("f07_tolerance_43")
    n, share, confidence = one.data["n"], one.data["p"], one.data["conf"]
    k1, k2 = tolerance.one_sided_approximate(n, share, confidence), tolerance.two_sided_approximate(n, share, confidence)
    centre, spread = one.data["mean"], one.data["sd"]
    one.holds(
        {
            "k1_approx": k1, "k2_approx": k2, "upper_one_sided_approx": centre + k1 * spread,
            "lower_one_sided_approx": centre - k1 * spread, "two_sided_approx": [centre - k2 * spread, centre + k2 * spread],
        }
    )  # fmt: skip
    one.agrees({"k1_exact": tolerance.one_sided(n, share, confidence), "k2_exact": tolerance.two_sided(n, share, confidence)})


def test_tolerance_table_of_hahn(example: Examples) -> None:
    """Hahn (1970): every factor to its printed digits. In the t column 0.50 for n = 15 is a misprint of 0.55."""
    one = example("f10_tolerance_two_sided_table")
    sizes = one.data["n"]
    one.holds({f"k_p{share:.2f}": [tolerance.two_sided(n, share) for n in sizes] for share in (0.9, 0.95, 0.99)})
    found = [tolerance.t_factor(n) for n in sizes]
    printed = one.printed["t_over_root_n"]
    apart = {n: new - old for n, new, old in zip(sizes, found, printed, strict=True) if abs(new - old) > 0.0065}
    assert apart == {15: pytest.approx(0.0538, abs=1e-3)}
    five = one.data["example"]
    half = tolerance.t_factor(five["n"]) * five["sd"]
    one.holds({"example_ci_lower": five["mean"] - half, "example_ci_upper": five["mean"] + half})


def test_lognormal_tolerance_limit(example: Examples) -> None:
    """US EPA (2009), Unified Guidance, Example 17-3 (recalled)."""
    one = example("f11_lognormal_utl_8")
    logs = [log(value) for value in one.values]
    factor = tolerance.one_sided(8, 0.95)
    found = {"K": factor, "utl_95_95": exp(mean(logs) + factor * sd(logs))}
    one.holds(found)
    one.agrees(found)


def test_prediction_of_a_mean(example: Examples) -> None:
    """Berthouex and Brown (2002), chapter 21; the total is eight times the mean."""
    one = example("f13_prediction_limit_mean")
    n, coming, centre, spread = (one.data[key] for key in ("n", "m", "mean", "sd"))
    upper = tolerance.prediction_of_mean(centre, spread, n, coming)
    t = (t_upper(centre, spread, n) - centre) / spread * sqrt(n)
    one.holds({"t": t, "upper95_mean": upper, "upper95_total": coming * upper, "lower95_total": coming * (2 * centre - upper)})


def test_background(example: Examples) -> None:
    """WAC 173-340-709(3): 90th percentile (lognormal) or 80th (normal), at most four times the median; no printed answer."""
    one = example("f14_wa_background")
    skewed, even = background(one.values, "lognormal", 0.9, 4, 10), background(one.values, "normal", 0.8, 4, 10)
    one.agrees(
        {
            "lognormal_p90": skewed.percentile, "lognormal_4x_median": skewed.multiple, "normal_p80": even.percentile,
            "normal_4x_median": even.multiple,
        }
    )  # fmt: skip
    assert skewed.value == skewed.percentile
    with pytest.raises(Refused, match="at least 20 values, here are 15"):
        background(one.values, "lognormal", 0.9, 4, 20)


def test_the_lower_of_percentile_and_multiple() -> None:
    """Widely spread values: four times the median is the lower (invented)."""
    values = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100]
    found = background(values, "lognormal", 0.9, 4, 10)
    assert found.value == found.multiple < found.percentile


def test_a_shown_limit_never_contradicts_its_answer() -> None:
    """100.0000001 above 100 is written far enough to show it (invented)."""
    assert figures(100.0000001, Decimal(100)) == "100.0000001"
    assert figures(100.0, Decimal(100)) == "100"
    assert figures(0.000012345678) == "0.0000123457"
    assert figures(None) is None


def test_one_sided_factor_is_what_it_says() -> None:
    """Of a thousand normal samples of ten, the 95/95 limit passes the 95th percentile in about 95 % (seed fixed)."""
    draws = stats.norm.rvs(size=(2000, 10), random_state=7)
    factor = tolerance.one_sided(10, 0.95)
    held = (draws.mean(axis=1) + factor * draws.std(axis=1, ddof=1) >= stats.norm.ppf(0.95)).mean()
    assert held == pytest.approx(0.95, abs=0.015)
    with pytest.raises(Refused, match="no tolerance factor for 3 values"):
        tolerance.one_sided_approximate(3, 0.95, 0.99)
