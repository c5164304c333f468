"""Confidence limits of a mean that assume a normal mean, or nothing but a finite spread."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from scipy import stats

from screening.screen.statistics.moments import mean, sd, skewness
from screening.screen.statistics.observed import Amount, need

CONFIDENCE = 0.95
"""One-sided confidence of an upper limit, where nothing else is asked."""


def t_upper(centre: float, spread: float, n: int, confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit of a mean from its estimate, standard deviation and number of values.

    Student (1908), The probable error of a mean, Biometrika 6. Assumes values that are normal and independent; for
    skewed values it covers too little. Needs 2 values.
    """
    need(n, 2, "Student's t limit")
    return centre + float(stats.t.ppf(confidence, n - 1)) * spread / sqrt(n)


def student_t(values: Sequence[Amount], confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit of the mean of normal values, in their unit; see `t_upper`."""
    need(len(values), 2, "Student's t limit")
    return t_upper(mean(values), sd(values), len(values), confidence)


def student_t_interval(values: Sequence[Amount], confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Two-sided interval of the mean of normal values, in their unit. Needs 2 values."""
    need(len(values), 2, "Student's t interval")
    centre = mean(values)
    half = t_upper(centre, sd(values), len(values), (1 + confidence) / 2) - centre
    return centre - half, centre + half


def chebyshev_upper(centre: float, spread: float, n: int, confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit of a mean by Chebyshev's inequality: mean + sqrt(1/alpha - 1) s / sqrt(n).

    As used in US EPA (2002), OSWER 9285.6-10. Assumes a finite spread alone, which it takes as known: wide for normal
    values, and for small samples of very skewed ones still too low. Needs 2 values.
    """
    need(n, 2, "Chebyshev's limit")
    return centre + sqrt(1 / (1 - confidence) - 1) * spread / sqrt(n)


def chebyshev(values: Sequence[Amount], confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit of the mean by Chebyshev's inequality, in the unit of the values; see `chebyshev_upper`."""
    need(len(values), 2, "Chebyshev's limit")
    return chebyshev_upper(mean(values), sd(values), len(values), confidence)


def modified_t(values: Sequence[Amount], confidence: float = CONFIDENCE) -> float:
    """Student's limit moved by the skewness: mean + G1 s / (6 n) + t s / sqrt(n).

    Johnson (1978), Modified t tests and confidence intervals for asymmetrical populations, JASA 73, 536-544. For mild
    skewness. Needs 3 values.
    """
    need(len(values), 3, "Johnson's modified t limit")
    return student_t(values, confidence) + skewness(values) * sd(values) / (6 * len(values))


def adjusted_central_limit(values: Sequence[Amount], confidence: float = CONFIDENCE) -> float:
    """Normal limit with a correction for skewness: mean + (z + G1 (1 + 2 z^2) / (6 sqrt(n))) s / sqrt(n).

    Chen (1995), Testing the mean of skewed distributions, JASA 90, 767-772. For values skewed to the right and n of
    about 30 or more. Needs 3 values.
    """
    n = len(values)
    need(n, 3, "Chen's limit")
    z = float(stats.norm.ppf(confidence))
    return mean(values) + (z + skewness(values) * (1 + 2 * z * z) / (6 * sqrt(n))) * sd(values) / sqrt(n)


def exponential_interval(values: Sequence[Amount], confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Exact two-sided interval of an exponential mean (a gamma mean of known shape 1), in the unit of the values.

    2 n mean / mu is chi-squared with 2 n degrees of freedom; see Davison and Hinkley (1997), chapter 5. Needs 1 value.
    """
    n = len(values)
    total = 2 * n * mean(values)
    tail = (1 - confidence) / 2
    return total / float(stats.chi2.ppf(1 - tail, 2 * n)), total / float(stats.chi2.ppf(tail, 2 * n))
