"""What partly undetected amounts tell without a distribution: Winsorised moments, the median and its interval."""

from __future__ import annotations

from dataclasses import dataclass

from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed, need


@dataclass(frozen=True)
class Winsorised:
    """Mean, plain and corrected standard deviation in the unit of the values, and how many were left as they are."""

    mean: float
    plain_sd: float
    sd: float
    kept: int


def winsorise(observed: Observed) -> Winsorised:
    """Non-detects replaced by the lowest detection, as many of the highest values by the next below them.

    Gilbert (1987), Statistical Methods for Environmental Pollution Monitoring, section 14.3.3; the standard deviation is
    s (n - 1) / (v - 1) for v values kept. Assumes symmetry. Needs limits below all detections and 2 values kept; raises
    `Refused`.
    """
    hidden = len(observed.limits)
    if observed.limits and max(observed.limits) > min(observed.detects, default=0):
        raise Refused("Winsorising needs limits below all detections: use the product limit")
    kept = observed.n - 2 * hidden
    need(kept, 2, "Winsorising", "values left between the ends")
    inner = sorted(observed.detects)[: kept if hidden else None]
    filled = [inner[0]] * hidden + inner + [inner[-1]] * hidden
    spread = sd(filled)
    return Winsorised(mean(filled), spread, spread * (observed.n - 1) / (kept - 1), kept)


@dataclass(frozen=True)
class Between:
    """Two ordered values as an interval of the median, their ranks from 1, and how often such an interval holds it."""

    low: float
    high: float
    ranks: tuple[int, int]
    coverage: float
    low_is_limit: bool


def median_between(observed: Observed, ranks: tuple[int, int]) -> Between:
    """The interval between two ranks, without any distribution; a non-detect stands before a detection of its amount.

    Conover (1999), Practical Nonparametric Statistics, section 3.2. Raises `Refused` for ranks that are not there.
    """
    low, high = ranks
    if not 1 <= low < high <= observed.n:
        raise Refused(f"ranks {low} and {high} are not two of {observed.n} values")
    ordered = sorted(zip(observed.values, observed.censored, strict=True), key=lambda one: (one[0], not one[1]))
    coverage = float(stats.binom.cdf(high - 1, observed.n, 0.5) - stats.binom.cdf(low - 1, observed.n, 0.5))
    return Between(ordered[low - 1][0], ordered[high - 1][0], ranks, coverage, ordered[low - 1][1])


def median_interval(observed: Observed, confidence: float = 0.95) -> Between:
    """The narrowest interval with symmetric ranks that holds the median with at least the confidence.

    Raises `Refused` where not even the lowest and the highest value do (fewer than 6 values at 95 %).
    """
    for low in range(observed.n // 2, 0, -1):
        found = median_between(observed, (low, observed.n + 1 - low))
        if found.coverage >= confidence:
            return found
    raise Refused(f"{observed.n} values are too few for an interval of the median at {confidence:.0%}: take more samples")


def median(observed: Observed) -> float:
    """The median where fewer than half are non-detects and no limit reaches it. Raises `Refused` else."""
    ordered = sorted(observed.values)
    at = (ordered[(observed.n - 1) // 2] + ordered[observed.n // 2]) / 2
    if observed.limits and max(observed.limits) >= ordered[(observed.n - 1) // 2]:
        raise Refused("the median lies among the non-detects: it is below the highest of their limits, and no number")
    return at
