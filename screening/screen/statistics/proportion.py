"""Whether a share of samples is above a stated one: the exact test and its normal approximation."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from scipy import stats

from screening.screen.statistics.limits import CONFIDENCE
from screening.screen.statistics.observed import need


@dataclass(frozen=True)
class Proportion:
    """The share found, z of the normal approximation, exact p that it is above, and the exact two-sided interval."""

    share: float
    z: float
    p: float
    low: float
    high: float


def proportion(above: int, n: int, stated: float, confidence: float = CONFIDENCE) -> Proportion:
    """Hold ``above`` of ``n`` samples against the share ``stated`` (0 to 1).

    Exact binomial test; interval of Clopper and Pearson (1934), Biometrika 26; z as in NIST/SEMATECH e-Handbook 7.2.4.
    Assumes independent samples taken without regard to the answer. Needs 1 sample.
    """
    need(n, 1, "a test of a share", "samples")
    found = stats.binomtest(above, n, stated, alternative="greater")
    interval = stats.binomtest(above, n, stated).proportion_ci(confidence, method="exact")
    z = (above / n - stated) / sqrt(stated * (1 - stated) / n)
    return Proportion(above / n, z, float(found.pvalue), float(interval.low), float(interval.high))


def upper_share(above: int, n: int, confidence: float = CONFIDENCE) -> float:
    """One-sided exact upper bound of the share of all samples above (Clopper and Pearson 1934). Needs 1 sample."""
    need(n, 1, "a bound of a share", "samples")
    return 1.0 if above == n else float(stats.beta.ppf(confidence, above + 1, n - above))
