"""Mean and spread of partly undetected amounts by maximum likelihood, and Cohen's form of it for one limit."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
from scipy import optimize, stats

from screening.errors import Refused
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed, need, need_positive

LEAST_DETECTS = 3


@dataclass(frozen=True)
class Likely:
    """Mean and standard deviation of greatest likelihood: of the amounts, or of their natural logarithms."""

    mean: float
    sd: float

    @property
    def lognormal_mean(self) -> float:
        """The mean of the amounts where mean and sd are those of the logarithms."""
        return exp(self.mean + self.sd**2 / 2)

    @property
    def lognormal_sd(self) -> float:
        """The standard deviation of the amounts where mean and sd are those of the logarithms."""
        return self.lognormal_mean * sqrt(exp(self.sd**2) - 1)


def normal_likelihood(observed: Observed) -> Likely:
    """Normal mean and standard deviation (divisor n) of greatest likelihood, in the unit of the values; any limits.

    Cohen (1959), Technometrics 1, 217-237; fitted by scipy. Assumes normal amounts. Needs 3 detections that differ;
    raises `Refused`.
    """
    need(len(observed.detects), LEAST_DETECTS, "a likelihood fit", "detections")
    centre, spread = mean(observed.detects), sd(observed.detects)
    if spread == 0:
        raise Refused("a likelihood fit needs detections that differ; these are all the same")
    data = stats.CensoredData(
        uncensored=(np.asarray(observed.detects) - centre) / spread, left=(np.asarray(observed.limits) - centre) / spread
    )
    if not observed.limits:
        return Likely(centre, spread * sqrt((observed.n - 1) / observed.n))

    def closer(function, start, args=(), disp=0):  # type: ignore[no-untyped-def]
        return optimize.fmin(function, start, args=args, disp=disp, xtol=1e-10, ftol=1e-12, maxiter=4000, maxfun=8000)

    at, width = stats.norm.fit(data, optimizer=closer)
    return Likely(centre + spread * float(at), spread * float(width))


def lognormal_likelihood(observed: Observed) -> Likely:
    """Mean and standard deviation of the natural logarithms of greatest likelihood; see `normal_likelihood`.

    Assumes lognormal amounts above 0.
    """
    need_positive(observed.values, "a lognormal likelihood fit")
    return normal_likelihood(Observed(tuple(map(log, observed.values)), observed.censored))


def cohen_lambda(hidden: float, gamma: float) -> float:
    """Cohen's lambda from the share of non-detects (0 to 1) and gamma, both without unit.

    Cohen (1961), Tables for maximum likelihood estimates, Technometrics 3, 535-541, solved instead of read.
    """

    def pull(at: float) -> float:
        return hidden / (1 - hidden) * float(np.exp(stats.norm.logpdf(at) - stats.norm.logcdf(at)))

    def off(at: float) -> float:
        y = pull(at)
        return (1 - y * (y - at)) / (y - at) ** 2 - gamma

    edge = float(optimize.brentq(lambda at: pull(at) - at, 0, 10))
    at = float(optimize.brentq(off, -30, edge - 1e-9))
    return pull(at) / (pull(at) - at)


def cohen(observed: Observed) -> Likely:
    """Normal mean and standard deviation where every non-detect has one limit, below all detections.

    mean = m - lambda (m - limit), variance = s^2 + lambda (m - limit)^2, with mean m and variance s^2 (divisor: number of
    detections) of the detections. Assumes normal amounts. Needs 3 detections, a non-detect and one limit; raises `Refused`.
    """
    detects, limits = observed.detects, observed.limits
    need(len(detects), LEAST_DETECTS, "Cohen's method", "detections")
    if len(set(limits)) != 1 or limits[0] > min(detects):
        raise Refused("Cohen's method needs one limit below all detections: use maximum likelihood for several limits")
    centre = mean(detects)
    above = centre - limits[0]
    square = sd(detects) ** 2 * (len(detects) - 1) / len(detects)
    pull = cohen_lambda(len(limits) / observed.n, square / above**2)
    return Likely(centre - pull * above, sqrt(square + pull * above**2))
