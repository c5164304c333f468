"""Bounds for single values to come: tolerance and prediction limits, and the share of values above a limit."""

from __future__ import annotations

from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

from screening.errors import Refused
from screening.screen.statistics.limits import CONFIDENCE
from screening.screen.statistics.observed import need

LEAST = 3


def t_factor(n: int, confidence: float = CONFIDENCE) -> float:
    """Student's t over sqrt(n): half a two-sided interval of a normal mean is so many standard deviations. Needs 2 values."""
    need(n, 2, "Student's t interval")
    return float(stats.t.ppf((1 + confidence) / 2, n - 1)) / sqrt(n)


def one_sided(n: int, share: float, confidence: float = CONFIDENCE) -> float:
    """K of a one-sided tolerance limit, mean + K s: a share of all normal values lies below it with the confidence.

    Exact, by the noncentral t distribution; as in US EPA (2009), Unified Guidance, chapter 17. Assumes normal values (or
    logarithms). Needs 3 values.
    """
    need(n, LEAST, "a tolerance limit")
    return float(stats.nct.ppf(confidence, n - 1, stats.norm.ppf(share) * sqrt(n))) / sqrt(n)


def one_sided_approximate(n: int, share: float, confidence: float = CONFIDENCE) -> float:
    """K of a one-sided tolerance limit by the handbook's formula: NIST/SEMATECH e-Handbook 7.2.6.3; n of 20 or more is best.

    Raises `Refused` where the formula has no answer for so few values.
    """
    need(n, LEAST, "a tolerance limit")
    z, point = float(stats.norm.ppf(confidence)), float(stats.norm.ppf(share))
    a, b = 1 - z * z / (2 * (n - 1)), point * point - z * z / n
    if a <= 0 or point * point < a * b:
        raise Refused(f"the handbook's formula has no tolerance factor for {n} values: use the exact one")
    return (point + sqrt(point * point - a * b)) / a


def two_sided(n: int, share: float, confidence: float = CONFIDENCE) -> float:
    """K of a two-sided tolerance interval, mean -+ K s, by integration over the mean.

    Hahn (1970), Journal of Quality Technology 2, tabulates it. Assumes normal values. Needs 3 values.
    """
    need(n, LEAST, "a tolerance interval")
    nodes, weights = np.polynomial.legendre.leggauss(80)
    top = 6 / sqrt(n)
    means = (nodes + 1) / 2 * top
    dense = weights * top * stats.norm.pdf(means * sqrt(n)) * sqrt(n)
    radii = _radii(means, share)

    def short(factor: float) -> float:
        return float((dense * stats.chi2.sf((n - 1) * radii**2 / factor**2, n - 1)).sum()) - confidence

    return float(optimize.brentq(short, 0.1, 1000))


def _radii(off: NDArray[np.float64], share: float) -> NDArray[np.float64]:
    """Half the widths about points off the centre that hold a share of a standard normal distribution, by halving."""
    low, high = np.zeros_like(off), np.full_like(off, 40.0)
    for _ in range(60):
        half = (low + high) / 2
        short = special.ndtr(off + half) - special.ndtr(off - half) < share
        low, high = np.where(short, half, low), np.where(short, high, half)
    found: NDArray[np.float64] = (low + high) / 2
    return found


def two_sided_approximate(n: int, share: float, confidence: float = CONFIDENCE) -> float:
    """K of a two-sided tolerance interval by Howe's formula: NIST/SEMATECH e-Handbook 7.2.6.3. Needs 3 values."""
    need(n, LEAST, "a tolerance interval")
    point = float(stats.norm.ppf((1 + share) / 2))
    return point * sqrt((n - 1) * (1 + 1 / n) / float(stats.chi2.ppf(1 - confidence, n - 1)))


def prediction_of_mean(centre: float, spread: float, n: int, coming: int = 1, confidence: float = CONFIDENCE) -> float:
    """One-sided upper bound of the mean of so many values to come, in the unit of the values.

    mean + t s sqrt(1/m + 1/n); Berthouex and Brown (2002), Statistics for Environmental Engineers, chapter 21. Assumes
    normal values. Needs 3 values.
    """
    need(n, LEAST, "a prediction limit")
    return centre + float(stats.t.ppf(confidence, n - 1)) * spread * sqrt(1 / coming + 1 / n)


def share_above(factor: float, n: int, confidence: float = CONFIDENCE) -> float:
    """One-sided upper bound of the share of normal values above a limit that lies ``factor`` spreads above the mean.

    The share for which ``factor`` is the tolerance factor; Berthouex and Brown (2002), chapter 21. Needs 3 values and
    a level not too far off; raises `Refused`.
    """
    need(n, LEAST, "a bound of the share above a limit")

    def short(point: float) -> float:
        found = float(stats.nct.cdf(factor * sqrt(n), n - 1, point * sqrt(n))) - confidence
        if not isfinite(found):
            raise Refused("the level lies too far from the values for a bound of the share above it")
        return found

    step = sqrt(1 / n + factor**2 / (2 * (n - 1)))
    low = high = factor - float(stats.norm.ppf(confidence)) * step
    while short(low) < 0:
        low -= step / 2
    while short(high) > 0:
        high += step / 2
    return float(stats.norm.sf(low if low == high else optimize.brentq(short, low, high)))
