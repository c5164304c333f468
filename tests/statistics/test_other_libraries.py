"""The same answers as scipy, statsmodels and lifelines on random samples, where one of them computes the same thing."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from screening.screen.statistics.fit import anderson_darling_normal, lilliefors
from screening.screen.statistics.gamma import fit_gamma
from screening.screen.statistics.likelihood import lognormal_likelihood
from screening.screen.statistics.limits import student_t_interval
from screening.screen.statistics.moments import sd, skewness
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.order_statistics import complete
from screening.screen.statistics.product_limit import product_limit
from screening.screen.statistics.ranks import median_interval
from screening.screen.statistics.trend import kendall_s

SEEDS = range(6)


def censored(seed: int) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Lognormal amounts to two figures, so that there are ties, some of them below one of three limits."""
    draw = np.random.default_rng(seed)
    amounts = np.array([float(f"{one:.2g}") for one in draw.lognormal(1.0, 0.8, 30)])
    limits = draw.choice([1.0, 2.0, 4.0], 30)
    hidden = amounts < limits
    return np.where(hidden, limits, amounts), hidden


@pytest.mark.parametrize("seed", SEEDS)
def test_scipy(seed: int) -> None:
    values = np.random.default_rng(seed).lognormal(0, 1, 12)
    listed = values.tolist()
    found = stats.ttest_1samp(values, 0).confidence_interval(0.95)
    assert student_t_interval(listed) == pytest.approx((found.low, found.high))
    assert (sd(listed), skewness(listed)) == pytest.approx((values.std(ddof=1), stats.skew(values, bias=False)))
    shape, _, scale = stats.gamma.fit(values, floc=0)
    fitted = fit_gamma(listed)
    assert (fitted.shape, 1 / fitted.rate) == pytest.approx((shape, scale), rel=1e-5)
    assert 2 * min(0.5, kendall_s(listed).p_exact or 1) == pytest.approx(
        stats.kendalltau(range(12), values, method="exact").pvalue, rel=1e-9
    )
    interval = stats.quantile_test(values, p=0.5).confidence_interval(0.95)
    ours = median_interval(Observed.of(listed))
    assert interval.low <= ours.low and ours.high <= interval.high


@pytest.mark.parametrize("seed", SEEDS)
def test_scipy_on_undetected_amounts(seed: int) -> None:
    values, hidden = censored(seed)
    found = stats.ecdf(stats.CensoredData(uncensored=100 - values[~hidden], right=100 - values[hidden]))
    curve = product_limit(Observed.of(list(values), list(hidden)))
    for at in sorted(set(values[~hidden]))[1:]:
        below = 1 - found.cdf.evaluate(100 - at)
        assert curve.below_or_at(at - 1e-9) == pytest.approx(below, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_statsmodels(seed: int) -> None:
    ros = pytest.importorskip("statsmodels.imputation.ros")
    diagnostic = pytest.importorskip("statsmodels.stats.diagnostic")
    values, hidden = censored(seed)
    theirs = np.sort(ros.impute_ros(values, hidden))
    assert complete(Observed.of(list(values), list(hidden))).values == pytest.approx(tuple(theirs), rel=1e-9)
    numbers = np.random.default_rng(seed).lognormal(0, 0.5, 25)
    distance, p = diagnostic.lilliefors(numbers, pvalmethod="approx")
    ours = lilliefors(list(numbers))
    assert ours.statistic == pytest.approx(distance)
    assert p > 0.09 if ours.p is None else ours.p == pytest.approx(p, rel=1e-9)  # above 0.1 they interpolate in a table
    square, p = diagnostic.normal_ad(numbers)
    found = anderson_darling_normal(list(numbers))
    assert (found.statistic, found.p) == pytest.approx((square, p), rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_lifelines(seed: int) -> None:
    lifelines = pytest.importorskip("lifelines")
    values, hidden = censored(seed)
    observed = Observed.of(list(values), list(hidden))
    theirs = lifelines.KaplanMeierFitter().fit_left_censoring(values, ~hidden)
    curve = product_limit(observed)
    for at in sorted(set(values[~hidden])):
        assert curve.below_or_at(at) == pytest.approx(float(theirs.cumulative_density_.loc[at].iloc[0]), abs=1e-9)
    fitted = lifelines.LogNormalFitter().fit_left_censoring(values, ~hidden)
    ours = lognormal_likelihood(observed)
    assert (ours.mean, ours.sd) == pytest.approx((fitted.mu_, fitted.sigma_), rel=1e-3)
