"""Gamma values: shape by maximum likelihood, and confidence limits of their mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt

from scipy import optimize, special, stats

from screening.errors import Refused
from screening.screen.statistics.limits import CONFIDENCE
from screening.screen.statistics.lognormal import logs_of
from screening.screen.statistics.moments import mean
from screening.screen.statistics.observed import need

LEAST = 4


@dataclass(frozen=True)
class GammaFit:
    """Shape (no unit) as fitted and corrected for bias, rate (1 / unit of the values), mean and number of values."""

    shape: float
    corrected: float
    mean: float
    n: int

    @property
    def rate(self) -> float:
        """Shape over mean."""
        return self.shape / self.mean


def fit_gamma(values: Sequence[float]) -> GammaFit:
    """The gamma distribution of greatest likelihood, and its shape corrected as k (n - 3) / n + 2 / (3 n).

    The likelihood is greatest where log k - digamma k = log(mean) - mean(log). Correction: Grice and Bain (1980).
    Needs 4 values above 0 that differ; raises `Refused`.
    """
    n = len(values)
    need(n, LEAST, "a gamma fit")
    logs = logs_of(values, "a gamma fit")
    centre = mean(values)
    apart = log(centre) - mean(logs)
    if apart <= 1e-12:
        raise Refused("a gamma fit needs values that differ; these are all the same")
    shape = float(optimize.brentq(lambda k: log(k) - float(special.digamma(k)) - apart, 1e-4, 1 / apart + 1))
    return GammaFit(shape, shape * (n - 3) / n + 2 / (3 * n), centre, n)


def gamma_approximate(fit: GammaFit, confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit of a gamma mean: 2 n k mean / chi-squared, k corrected; for n of about 40 or more."""
    return _limit(fit, 1 - confidence)


def gamma_adjusted(fit: GammaFit, confidence: float = CONFIDENCE) -> float:
    """The approximate limit at a smaller level that allows for the estimated shape.

    Grice and Bain (1980), Inferences concerning the mean of the gamma distribution, JASA 75, 929-933; the level is
    their closed form Phi(t sqrt(n / (n - 1))), recalled. For smaller samples.
    """
    t = float(stats.t.ppf(1 - confidence, fit.n - 1))
    return _limit(fit, float(stats.norm.cdf(t * sqrt(fit.n / (fit.n - 1)))))


def _limit(fit: GammaFit, tail: float) -> float:
    freedom = 2 * fit.n * fit.corrected
    return freedom * fit.mean / float(stats.chi2.ppf(tail, freedom))
