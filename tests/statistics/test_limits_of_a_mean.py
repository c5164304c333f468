"""Confidence limits of a mean against published examples; each source stands in examples.json beside its data."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from math import log
from typing import Any

import pytest

from screening.screen.statistics import limits
from screening.screen.statistics.gamma import fit_gamma, gamma_adjusted, gamma_approximate
from screening.screen.statistics.lognormal import land, land_h, modified_cox
from screening.screen.statistics.moments import mean, sd, skewness
from screening.screen.statistics.resampling import bootstrap

Examples = Callable[[str], Any]


def test_land_of_epa_practitioners_guide(example: Examples) -> None:
    """US EPA (2006), QA/G-9S, Box 3-12. The page takes logarithms to two decimals, hence 10.97 there and 10.96 here."""
    one = example("a01_land_ucl_15")
    logs = [log(value) for value in one.values]
    found = {"mean_log": mean(logs), "sd_log": sd(logs), "H95": land_h(sd(logs), 15), "ucl95_land": land(one.values)}
    one.holds(found)
    one.agrees({**found, "ucl95_t": limits.student_t(one.values)})


def test_student_t_of_epa_guidance(example: Examples) -> None:
    """US EPA (2002), OSWER 9285.6-10, Exhibit 1 (recalled)."""
    one = example("a03_t_ucl_25")
    found = {"mean": mean(one.values), "sd": sd(one.values), "ucl95": limits.student_t(one.values)}
    one.holds(found)
    one.agrees(found)


def test_land_of_31_values(example: Examples) -> None:
    """US EPA (2002), lognormal example; no printed limit is known, so other libraries are the check."""
    one = example("a04_land_ucl_31")
    logs = [log(value) for value in one.values]
    one.agrees(
        {"mean_log": mean(logs), "sd_log": sd(logs), "H95": land_h(sd(logs), 31), "ucl95_land": land(one.values)}, rel=1e-5
    )


def test_modified_cox_of_olsson(example: Examples) -> None:
    """Olsson (2005), Journal of Statistics Education 13(1)."""
    one = example("a06_modified_cox")
    low, high = modified_cox(one.values)
    one.holds({"cox_t_lower": low, "cox_t_upper": high})
    one.agrees({"cox_t_lower": low, "cox_t_upper": high, "ucl95_land_one_sided": land(one.values)})


def test_land_table(example: Examples) -> None:
    """Land (1975), reprinted in Gilbert (1987), Table A12: the printed column to its three decimals, without a table."""
    one = example("a07_land_h_table")
    sizes = one.data["n"]
    one.holds({"H95_s_0.10": [land_h(0.1, n) for n in sizes]})
    found = {f"H95_s_{spread:.2f}": [land_h(spread, n) for n in sizes] for spread in one.data["s_y"]}
    one.agrees(found, rel=2e-4)  # the other integration is good to four figures for a spread of 3 and many values


def test_two_sided_t_of_berthouex_and_brown(example: Examples) -> None:
    """Berthouex and Brown (2002), Example 15.1; its upper end, 8.06, is printed cut to 8.0."""
    one = example("a08_t_ci_27")
    low, high = limits.student_t_interval(one.values)
    found = {"mean": mean(one.values), "sd": sd(one.values), "ci95_lower": low, "ci95_upper": high}
    one.holds(found)
    one.agrees({**found, "ucl95_one_sided": limits.student_t(one.values)})


def test_t_interval_of_heat_flow(example: Examples) -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.2: 195 values that differ in the third figure."""
    one = example("a10_heat_flow_ci")
    low, high = limits.student_t_interval(one.values)
    one.holds({"mean": mean(one.values), "sd": sd(one.values), "ci95_lower": low, "ci95_upper": high})


def test_gamma_fit(example: Examples) -> None:
    """Delignette-Muller and Dutang (2015), Journal of Statistical Software 64(4)."""
    one = example("a11_gamma_mle_254")
    fitted = fit_gamma(one.values)
    one.holds({"shape": fitted.shape, "rate": fitted.rate})
    one.agrees({"shape": fitted.shape, "rate": fitted.rate}, rel=1e-5)


def test_gamma_limits(example: Examples) -> None:
    """Grice and Bain (1980); no printed answer is known."""
    one = example("a12_gamma_ucl_15")
    fitted = fit_gamma(one.values)
    one.agrees(
        {
            "k_mle": fitted.shape, "k_bias_corrected": fitted.corrected, "ucl95_gamma_approximate": gamma_approximate(fitted),
            "ucl95_gamma_adjusted": gamma_adjusted(fitted),
        }
    )  # fmt: skip


def test_exponential_interval(example: Examples) -> None:
    """Davison and Hinkley (1997), chapter 5."""
    one = example("a14_exponential_mean_ci")
    low, high = limits.exponential_interval(one.values)
    one.holds({"mean": mean(one.values), "ci95_lower": low, "ci95_upper": high})
    one.agrees({"ucl95_one_sided": limits.exponential_interval(one.values, 0.9)[1]})


def test_chebyshev(example: Examples) -> None:
    """The formula of US EPA (2002), OSWER 9285.6-10; no printed answer is known."""
    one = example("a15_chebyshev")
    one.agrees({f"ucl_chebyshev_{level}": limits.chebyshev(one.values, level) for level in (0.95, 0.975, 0.99)})


def test_bootstrap(example: Examples) -> None:
    """Efron and Tibshirani (1993): printed from 1000 random resamples; here from all 7^7, so within their chance error."""
    one = example("a16_bootstrap_percentile_7")
    found = bootstrap(one.values)
    assert found.seed is None and found.resamples == 7**7
    one.holds({"se": found.error, "pct95_lower": found.percentiles[0], "pct95_upper": found.percentiles[1]})
    assert found.error == pytest.approx(23.36352344)
    assert found.percentiles == pytest.approx((43.42857143, 134.42857143))
    one.agrees({"ucl95_bca_one_sided": found.accelerated})
    assert found.studentised == pytest.approx(143.272536)


def test_bootstrap_repeats_with_its_seed_and_nears_the_whole(example: Examples) -> None:
    """The same seed gives the same limits; another gives others, near those of all resamples (invented values)."""
    values = [*example("a16_bootstrap_percentile_7").values, 60.0, 75.0]
    one, again, other = bootstrap(values, seed=1), bootstrap(values, seed=1), bootstrap(values, seed=2)
    assert one == again != other
    assert one.percentile == pytest.approx(other.percentile, rel=0.02)
    assert one.seed == 1 and one.resamples == 10_000


def test_limits_corrected_for_skewness(example: Examples) -> None:
    """Johnson (1978) and Chen (1995), formulas of US EPA (2002); no printed answer is known."""
    one = example("a18_skew_adjusted")
    one.agrees(
        {
            "skewness": skewness(one.values), "ucl95_modified_t": limits.modified_t(one.values),
            "ucl95_adjusted_clt": limits.adjusted_central_limit(one.values),
        }
    )  # fmt: skip


def test_no_digit_is_lost(example: Examples) -> None:
    """NIST NumAcc4 (Simon and Lesage 1989): certified mean 10000000.2 and standard deviation 0.1, both exact."""
    one = example("a19_numacc")
    first, odd, even = (Decimal(str(one.data[key])) for key in ("first", "odd", "even"))
    values = [first, *([odd, even] * 500)]
    assert (mean(values), sd(values)) == (one.printed["mean"], one.printed["sd"])
    floats = [float(value) for value in values]
    one.holds({"mean": mean(floats), "sd": sd(floats)})
