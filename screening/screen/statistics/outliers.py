"""Values far from the rest, flagged and never removed: Dixon, Grubbs, and Rosner's generalised test for several."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np
from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import need

LEAST_ROSNER = 15

DIXON: Mapping[int, tuple[float, ...]] = {
    90: (0.941, 0.765, 0.642, 0.560, 0.507, 0.468, 0.437, 0.412),
    95: (0.970, 0.829, 0.710, 0.625, 0.568, 0.526, 0.493, 0.466),
    99: (0.994, 0.926, 0.821, 0.740, 0.680, 0.634, 0.598, 0.568),
}
"""Two-tailed critical values of the ratio gap / range (r10) for n = 3 to 10: Rorabacher (1991), Analytical Chemistry 63,
139-146. Those for n = 10 at 90 and 95 % were read, the others recalled; a test simulates them all. Other tables of the
same name are one-tailed, or change to another ratio at n = 8."""


@dataclass(frozen=True)
class Suspect:
    """The value that lies farthest out, its statistic without unit, the critical value, and whether it is an outlier."""

    value: float
    statistic: float
    critical: float

    @property
    def outlier(self) -> bool:
        """Whether the statistic passes its critical value."""
        return self.statistic > self.critical


def dixon(values: Sequence[float], percent: Literal[90, 95, 99] = 95) -> Suspect:
    """The gap of the farther end value over the range.

    Dean and Dixon (1951), Analytical Chemistry 23, 636-638. For one outlier among 3 to 10 normal values that are not
    all the same; raises `Refused`.
    """
    n = len(values)
    need(n, 3, "Dixon's test")
    table = DIXON[percent]
    if n > 2 + len(table):
        raise Refused(f"Dixon's test here holds for 3 to {2 + len(table)} values, here are {n}: use Grubbs's or Rosner's test")
    ordered = sorted(values)
    reach = _differing(ordered[-1] - ordered[0], "Dixon's test")
    low, high = (ordered[1] - ordered[0]) / reach, (ordered[-1] - ordered[-2]) / reach
    return Suspect(ordered[0] if low > high else ordered[-1], max(low, high), table[n - 3])


def grubbs(values: Sequence[float], alpha: float = 0.05) -> Suspect:
    """Whether the highest value is an outlier: (highest - mean) / s, one-sided.

    Grubbs (1969), Technometrics 11, 1-21; NIST/SEMATECH e-Handbook 1.3.5.17.1. For one outlier among normal values; two
    of them hide each other. Needs 3 values that differ; raises `Refused`.
    """
    n = len(values)
    need(n, 3, "Grubbs's test")
    highest = max(values)
    spread = _differing(sd(values), "Grubbs's test")
    return Suspect(highest, (highest - mean(values)) / spread, _critical(n, alpha / n))


@dataclass(frozen=True)
class Several:
    """All steps of Rosner's test, and the outliers: those of the last step that passes its critical value and all before."""

    steps: tuple[Suspect, ...]

    @property
    def outliers(self) -> tuple[float, ...]:
        """The outlying values, the farthest first."""
        last = max((at for at, step in enumerate(self.steps, start=1) if step.outlier), default=0)
        return tuple(step.value for step in self.steps[:last])


def rosner(values: Sequence[float], most: int = 10, alpha: float = 0.05) -> Several:
    """Up to ``most`` outliers on either side among normal values; two that hide each other are found.

    Rosner (1983), Technometrics 25, 165-172 (generalised extreme studentised deviates); NIST/SEMATECH e-Handbook
    1.3.5.17.3: good from 25 values, fair from 15, and so refused below. ``most`` is kept below half of the values.
    """
    n = len(values)
    need(n, LEAST_ROSNER, "Rosner's test")
    left = np.asarray(values, dtype=float)
    steps = []
    for _ in range(min(most, n // 2 - 1)):
        spread = left.std(ddof=1)
        if spread == 0:
            break
        off = np.abs(left - left.mean())
        at = int(off.argmax())
        steps.append(Suspect(float(left[at]), float(off[at] / spread), _critical(len(left), alpha / (2 * len(left)))))
        left = np.delete(left, at)
    return Several(tuple(steps))


def _critical(n: int, tail: float) -> float:
    t = float(stats.t.ppf(1 - tail, n - 2))
    return (n - 1) / sqrt(n) * t / sqrt(n - 2 + t * t)


def _differing(spread: float, what: str) -> float:
    if spread == 0:
        raise Refused(f"{what} needs values that differ; these are all the same")
    return spread
