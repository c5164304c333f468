"""Natural or area background from samples that the site did not touch: a percentile, capped by a multiple of the median."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import Literal

from scipy import stats

from screening.screen.statistics.lognormal import logs_of
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Amount, need


@dataclass(frozen=True)
class Background:
    """The percentile and the multiple of the median of the fitted distribution, in the unit of the values."""

    percentile: float
    multiple: float

    @property
    def value(self) -> float:
        """The lower of the two."""
        return min(self.percentile, self.multiple)


def background(
    values: Sequence[float], distribution: Literal["normal", "lognormal"], percentile: Amount, times_median: Amount, least: int
) -> Background:
    """Background of a fitted distribution; percentile, multiple and least number are the rule's.

    WAC 173-340-709(3) takes the 90th percentile (lognormal) or the 80th (normal), four times the median, and at least
    10 samples for natural and 20 for area background. No factor of confidence enters; the median of a normal
    distribution is taken as its mean. Raises `Refused` for fewer values than ``least``.
    """
    need(len(values), max(least, 2), "a background value")
    z, times = float(stats.norm.ppf(float(percentile))), float(times_median)
    if distribution == "normal":
        return Background(mean(values) + z * sd(values), times * mean(values))
    logs = logs_of(values, "a lognormal background value")
    return Background(exp(mean(logs) + z * sd(logs)), times * exp(mean(logs)))
