"""Each method says how many values it needs, refuses fewer with a sentence, and works with just enough."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from screening.errors import Refused
from screening.screen.statistics import limits, tolerance
from screening.screen.statistics.choice import upper_limit
from screening.screen.statistics.fit import anderson_darling_gamma, anderson_darling_normal, lilliefors
from screening.screen.statistics.gamma import fit_gamma
from screening.screen.statistics.likelihood import normal_likelihood
from screening.screen.statistics.lognormal import land, modified_cox
from screening.screen.statistics.moments import mean, sd, skewness
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.order_statistics import complete
from screening.screen.statistics.outliers import dixon, grubbs, rosner
from screening.screen.statistics.ranks import median, median_interval, winsorise
from screening.screen.statistics.resampling import bootstrap
from screening.screen.statistics.shapiro import royston
from screening.screen.statistics.trend import mann_kendall

VALUES = [3.1, 4.7, 2.2, 9.5, 5.8, 1.4, 7.7, 6.3, 2.9, 4.1, 8.8, 3.6, 5.2, 6.9, 7.1]
"""Invented."""
OF_VALUES: dict[str, tuple[Callable[[list[float]], Any], int]] = {
    "mean": (mean, 1), "sd": (sd, 2), "skewness": (skewness, 3), "student_t": (limits.student_t, 2),
    "interval": (limits.student_t_interval, 2), "chebyshev": (limits.chebyshev, 2), "modified_t": (limits.modified_t, 3),
    "adjusted": (limits.adjusted_central_limit, 3), "land": (land, 3), "modified_cox": (modified_cox, 3), "gamma": (fit_gamma, 4),
    "bootstrap": (lambda values: bootstrap(values, resamples=50), 5), "shapiro": (royston, 3), "lilliefors": (lilliefors, 4),
    "anderson_darling": (anderson_darling_normal, 8), "gamma_fit": (anderson_darling_gamma, 8), "dixon": (dixon, 3),
    "grubbs": (grubbs, 3), "rosner": (rosner, 15), "tolerance": (lambda values: tolerance.one_sided(len(values), 0.9), 3),
    "tolerance_interval": (lambda values: tolerance.two_sided(len(values), 0.9), 3),
    "prediction": (lambda values: tolerance.prediction_of_mean(1, 1, len(values)), 3),
    "upper_limit": (lambda values: upper_limit(Observed.of(values), ()), 4),
    "mann_kendall": (lambda values: mann_kendall(Observed.of(values)), 3),
}  # fmt: skip


@pytest.mark.parametrize("name", OF_VALUES)
def test_the_least_number_of_values(name: str) -> None:
    method, least = OF_VALUES[name]
    method(VALUES[:least])
    if least > 1:
        with pytest.raises(Refused, match=rf"needs at least {least} \w+, here are {least - 1}: take more samples"):
            method(VALUES[: least - 1])
    with pytest.raises(Refused):
        method([])


@pytest.mark.parametrize("method", [complete, normal_likelihood])
def test_the_least_number_of_detections(method: Callable[[Observed], Any]) -> None:
    hidden = [True, True, True]
    method(Observed.of([1, 1, 1, 3, 4, 6], [*hidden, False, False, False]))
    with pytest.raises(Refused, match="at least 3 detections, here are 2"):
        method(Observed.of([1, 1, 1, 4, 6], [*hidden, False, False]))


def test_others_that_undetected_amounts_forbid() -> None:
    with pytest.raises(Refused, match="limits below all detections"):
        winsorise(Observed.of([5, 3, 6, 7, 8], [True, False, False, False, False]))
    with pytest.raises(Refused, match="values left between the ends"):
        winsorise(Observed.of([1, 1, 3, 4], [True, True, False, False]))
    with pytest.raises(Refused, match="among the non-detects"):
        median(Observed.of([1, 1, 1, 4], [True, True, True, False]))
    with pytest.raises(Refused, match="too few"):
        median_interval(Observed.of([1, 2, 3, 4, 5]))
    with pytest.raises(Refused, match="one mark for each value"):
        Observed.of([1, 2], [True])


@pytest.mark.parametrize("method", [land, modified_cox, fit_gamma])
def test_no_logarithm_of_nothing(method: Callable[[list[float]], Any]) -> None:
    with pytest.raises(Refused, match="amounts above 0, here is one of 0"):
        method([0.0, 1.0, 2.0, 3.0])
