"""How far values lie from a fitted distribution: Lilliefors and Anderson-Darling, for normal, lognormal and gamma values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from screening.errors import Refused
from screening.screen.statistics.gamma import GammaFit, fit_gamma
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import need
from screening.screen.statistics.resampling import SEED

LEAST_LILLIEFORS, LEAST_ANDERSON_DARLING = 4, 8
SIMULATED = 499


@dataclass(frozen=True)
class Fit:
    """A statistic without unit and its p value; ``p`` is None where only 'above 0.1' is known."""

    statistic: float
    p: float | None

    def rejected(self, alpha: float = 0.05) -> bool:
        """Whether the distribution is rejected at the level ``alpha`` (at most 0.1)."""
        return self.p is not None and self.p < alpha


def kolmogorov(shares: Sequence[float] | NDArray[Any]) -> float:
    """The largest distance between the steps of the sample and the fitted distribution at its values."""
    fitted = np.sort(np.asarray(shares, dtype=float))
    n = len(fitted)
    steps = np.arange(1, n + 1)
    return float(max((steps / n - fitted).max(), (fitted - (steps - 1) / n).max()))


def anderson_darling(shares: Sequence[float] | NDArray[Any]) -> float:
    """A^2 of Anderson and Darling (1954), JASA 49, from the fitted distribution at the values."""
    return float(_squares(np.sort(np.asarray(shares, dtype=float))[None, :])[0])


def lilliefors(values: Sequence[float]) -> Fit:
    """Distance D from a normal distribution with the mean and spread of the values.

    Lilliefors (1967), JASA 62, 399-402; p by the formula of Dallal and Wilkinson (1986), American Statistician 40,
    294-296, good for p up to 0.1. Needs 4 values that differ; raises `Refused`.
    """
    n = len(values)
    need(n, LEAST_LILLIEFORS, "the test of Lilliefors")
    distance = kolmogorov(_normal_shares(values, "the test of Lilliefors"))
    d, m = (distance * (n / 100) ** 0.49, 100) if n > 100 else (distance, n)
    p = exp(
        -7.01256 * d**2 * (m + 2.78019) + 2.99587 * d * sqrt(m + 2.78019) - 0.122119 + 0.974598 / sqrt(m) + 1.67997 / m
    )  # fmt: skip
    return Fit(distance, p if p <= 0.1 else None)


def anderson_darling_normal(values: Sequence[float]) -> Fit:
    """A^2 against a normal distribution with the mean and spread of the values; p of D'Agostino and Stephens (1986).

    Goodness-of-fit Techniques, table 4.9, for both parameters estimated. Needs 8 values that differ; raises `Refused`.
    """
    n = len(values)
    need(n, LEAST_ANDERSON_DARLING, "the test of Anderson and Darling")
    square = anderson_darling(_normal_shares(values, "the test of Anderson and Darling"))
    a = square * (1 + 0.75 / n + 2.25 / n**2)
    if a >= 0.6:
        p = exp(1.2937 - 5.709 * a + 0.0186 * a**2)
    elif a >= 0.34:
        p = exp(0.9177 - 4.279 * a - 1.38 * a**2)
    elif a >= 0.2:
        p = 1 - exp(-8.318 + 42.796 * a - 59.938 * a**2)
    else:
        p = 1 - exp(-13.436 + 101.14 * a - 223.73 * a**2)
    return Fit(square, p)


def anderson_darling_gamma(values: Sequence[float], seed: int = SEED) -> Fit:
    """A^2 against the fitted gamma distribution; p by simulating 499 such samples, each fitted anew, from a stated seed.

    Critical values hang on the unknown shape, so they are simulated rather than read from a table. Needs 8 values above 0
    that differ; raises `Refused`.
    """
    n = len(values)
    need(n, LEAST_ANDERSON_DARLING, "the test of Anderson and Darling")
    fitted = fit_gamma(values)
    square = anderson_darling(gamma_shares(values, fitted))
    drawn = np.maximum(np.random.default_rng(seed).gamma(fitted.shape, fitted.mean / fitted.shape, (SIMULATED, n)), 1e-300)
    shapes = _shapes(drawn)
    shares = special.gammainc(shapes[:, None], shapes[:, None] * drawn / drawn.mean(axis=1, keepdims=True))
    as_far = int((_squares(np.sort(shares, axis=1)) >= square).sum())
    return Fit(square, (as_far + 1) / (SIMULATED + 1))


def gamma_shares(values: Sequence[float], fitted: GammaFit) -> NDArray[Any]:
    """The fitted gamma distribution at the values."""
    shares: NDArray[Any] = special.gammainc(fitted.shape, fitted.rate * np.asarray(values, dtype=float))
    return shares


def _normal_shares(values: Sequence[float], what: str) -> NDArray[Any]:
    spread = sd(values)
    if spread == 0:
        raise Refused(f"{what} needs values that differ; these are all the same")
    shares: NDArray[Any] = stats.norm.cdf((np.asarray(values, dtype=float) - mean(values)) / spread)
    return shares


def _squares(ordered: NDArray[Any]) -> NDArray[Any]:
    n = ordered.shape[1]
    inside = np.clip(ordered, 1e-300, 1 - 1e-16)
    weights = 2 * np.arange(1, n + 1) - 1
    squares: NDArray[Any] = -n - (weights * (np.log(inside) + np.log1p(-inside[:, ::-1]))).sum(axis=1) / n
    return squares


def _shapes(samples: NDArray[Any]) -> NDArray[Any]:
    """The gamma shape of greatest likelihood of each row, by Newton's steps on its logarithm."""
    apart = np.log(samples.mean(axis=1)) - np.log(samples).mean(axis=1)
    shapes = (3 - apart + np.sqrt((apart - 3) ** 2 + 24 * apart)) / (12 * apart)
    for _ in range(6):
        off = np.log(shapes) - special.digamma(shapes) - apart
        shapes = shapes * np.exp(-off / (1 - shapes * special.polygamma(1, shapes)))
    found: NDArray[Any] = shapes
    return found
