"""Bootstrap limits of a mean: percentile, bias-corrected and accelerated, studentised; every draw from a stated seed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.limits import CONFIDENCE
from screening.screen.statistics.observed import need

LEAST = 5
SEED = 20_260_101
"""The seed where none is asked for; it is part of every answer."""
RESAMPLES = 10_000
EVERY = 900_000
"""Up to so many possible resamples, all of them are taken, and chance plays no part."""


@dataclass(frozen=True)
class Bootstrap:
    """Standard error of the mean and its one-sided upper limits, in the unit of the values.

    ``seed`` is None where every possible resample was taken. ``percentiles`` are the two-sided percentile interval of
    the same confidence.
    """

    error: float
    percentile: float
    accelerated: float
    studentised: float
    percentiles: tuple[float, float]
    resamples: int
    seed: int | None


def bootstrap(values: Sequence[float], confidence: float = CONFIDENCE, seed: int = SEED, resamples: int = RESAMPLES) -> Bootstrap:
    """Limits of the mean by resampling the values.

    Efron and Tibshirani (1993), An Introduction to the Bootstrap, chapters 12 to 14. Assumes independent values that
    stand for the whole; known to cover too little for few or very skewed values, the studentised limit least so. The
    studentised limit takes the standard error with divisor n. Needs 5 values that differ; raises `Refused`.
    """
    n = len(values)
    need(n, LEAST, "a bootstrap limit")
    sample = np.asarray(values, dtype=float)
    if np.ptp(sample) == 0:
        raise Refused("a bootstrap limit needs values that differ; these are all the same")
    whole = n**n <= EVERY
    drawn = _every(n) if whole else np.random.default_rng(seed).integers(0, n, (resamples, n))
    means = sample[drawn].mean(axis=1)
    errors = sample[drawn].std(axis=1) / sqrt(n)
    centre, error = float(sample.mean()), float(sample.std()) / sqrt(n)
    some = errors > 1e-12 * error
    pivots = (means[some] - centre) / errors[some]
    tail = (1 - confidence) / 2
    return Bootstrap(
        error=float(means.std(ddof=0 if whole else 1)),
        percentile=_quantile(means, confidence),
        accelerated=_quantile(means, _accelerated(sample, means, confidence)),
        studentised=centre - _quantile(pivots, 1 - confidence) * error,
        percentiles=(_quantile(means, tail), _quantile(means, 1 - tail)),
        resamples=len(drawn),
        seed=None if whole else seed,
    )


def _every(n: int) -> NDArray[np.int64]:
    return np.array(list(product(range(n), repeat=n)))


def _quantile(found: NDArray[Any], share: float) -> float:
    return float(np.quantile(found, share, method="inverted_cdf"))


def _accelerated(sample: NDArray[np.float64], means: NDArray[Any], confidence: float) -> float:
    """The share of the resampled means at which the corrected limit stands (chapter 14.3)."""
    centre = sample.mean()
    below = float((means < centre).mean() + (means == centre).mean() / 2)
    bias = float(stats.norm.ppf(below))
    without = (sample.sum() - sample) / (len(sample) - 1)
    off = without.mean() - without
    acceleration = float((off**3).sum() / (6 * (off**2).sum() ** 1.5))
    z = bias + float(stats.norm.ppf(confidence))
    return float(stats.norm.cdf(bias + z / (1 - acceleration * z)))
