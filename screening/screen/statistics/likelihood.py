"""Mean and spread of partly undetected amounts by maximum likelihood, and Cohen's form of it for one limit."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log, pi, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy import optimize, special

from screening.errors import Refused
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed, need, need_positive

if TYPE_CHECKING:
    from numpy.typing import NDArray

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
    if not observed.limits:
        return Likely(centre, spread * sqrt((observed.n - 1) / observed.n))

    seen, hidden = ((np.asarray(one) - centre) / spread for one in (observed.detects, observed.limits))

    def unlikely(guess: NDArray[Any]) -> float:
        """Minus the logarithm of the likelihood of a mean and a standard deviation, but for a constant."""
        at, width = guess
        if width <= 0:
            return inf
        return float(
            len(seen) * log(width) + (((seen - at) / width) ** 2).sum() / 2 - special.log_ndtr((hidden - at) / width).sum()
        )

    at, width = optimize.fmin(unlikely, (0.0, 1.0), disp=False, xtol=1e-10, ftol=1e-12, maxiter=4000, maxfun=8000)
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
        return hidden / (1 - hidden) * exp(-at * at / 2 - log(2 * pi) / 2 - float(special.log_ndtr(at)))

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
