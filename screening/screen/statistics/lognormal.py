"""Confidence limits of the mean of lognormal values."""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, cos, exp, log, pi, sqrt

import numpy as np
from scipy import optimize, stats

from screening.errors import Refused
from screening.screen.statistics.limits import CONFIDENCE
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import need, need_positive

LEAST = 3
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)


def logs_of(values: Sequence[float], what: str) -> list[float]:
    """Natural logarithms. Raises `Refused` for amounts that are not above 0."""
    need_positive(values, what)
    return [log(value) for value in values]


def land(values: Sequence[float], confidence: float = CONFIDENCE) -> float:
    """Exact one-sided upper limit of a lognormal mean, in the unit of the values; see `land_of_logs`."""
    need(len(values), LEAST, "Land's limit")
    logs = logs_of(values, "Land's limit")
    return exp(land_of_logs(mean(logs), sd(logs), len(logs), confidence))


def land_of_logs(centre: float, spread: float, n: int, confidence: float = CONFIDENCE) -> float:
    """Upper limit of mu + sigma^2 / 2 from mean and standard deviation of natural logarithms.

    Land (1971), Confidence intervals for linear functions of the normal mean and variance, Annals of Mathematical
    Statistics 42, 1187-1205. The conditional test is inverted by numbers, so no table of H is read or interpolated.
    Assumes independent lognormal values; where they are not quite lognormal or the spread of the logarithms passes
    about 1 in a small sample, the limit grows beyond all use. Needs 3 values that differ; raises `Refused`.
    """
    need(n, LEAST, "Land's limit")
    if spread <= 0:
        raise Refused("Land's limit needs values that differ; these are all the same")

    def below(guess: float) -> float:
        return _conditional(centre - guess, spread, n) - (1 - confidence)

    step = spread * spread / 2 + spread
    high = centre + step
    while below(high) > 0:
        step *= 2
        high += step
    return float(optimize.brentq(below, centre - 5 * spread, high, xtol=1e-12))


def land_h(spread: float, n: int, confidence: float = CONFIDENCE) -> float:
    """Land's factor H: limit = exp(mean + s^2 / 2 + H s / sqrt(n - 1)), as tabulated in Land (1975)."""
    return (land_of_logs(0.0, spread, n, confidence) - spread * spread / 2) * sqrt(n - 1) / spread


def _conditional(off: float, spread: float, n: int) -> float:
    """How likely a standardised distance of the mean is, at most as large as observed, given the total sum of squares.

    The distance is the sine of an angle: over the angle the density has no edges, and Gauss's nodes between marks that follow
    its peak give all digits.
    """
    total = (n - 1) * spread * spread + n * off * off
    pull = sqrt(n * total) / 2
    power = n - 2
    sine = (power - sqrt(power * power + 4 * pull * pull)) / (2 * pull)
    peak, width = asin(sine), 1 / sqrt(power / (1 - sine * sine) - pull * sine)
    observed, edge = asin(sqrt(n) * off / sqrt(total)), pi / 2
    near = (min(edge, max(-edge, peak + k * width)) for k in (-9, -3, 3, 9))
    marks = np.array(sorted({-edge, edge, observed, *near}))
    half = np.diff(marks)[:, None] / 2
    angle = marks[:-1, None] + half * (1 + _NODES)
    bell = power * np.log(np.cos(angle)) - pull * np.sin(angle)
    areas = (np.exp(bell - (power * log(cos(peak)) - pull * sine)) * half * _WEIGHTS).sum(axis=1)
    return float(areas[marks[1:] <= observed].sum() / areas.sum())


def modified_cox(values: Sequence[float], confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Two-sided interval of a lognormal mean by Cox's method with Student's t, in the unit of the values.

    Olsson (2005), Confidence intervals for the mean of a log-normal distribution, Journal of Statistics Education
    13(1): exp(mean + s^2/2 -+ t sqrt(s^2/n + s^4/(2 (n - 1)))) of the logarithms. An approximation. Needs 3 values.
    """
    n = len(values)
    need(n, LEAST, "the modified Cox interval")
    logs = logs_of(values, "the modified Cox interval")
    variance = sd(logs) ** 2
    centre = mean(logs) + variance / 2
    half = float(stats.t.ppf((1 + confidence) / 2, n - 1)) * sqrt(variance / n + variance**2 / (2 * (n - 1)))
    return exp(centre - half), exp(centre + half)
