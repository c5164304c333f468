"""The test of Shapiro and Wilk for normal values, whose two kinds of weights are never mixed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, exp, log, pi, sin, sqrt
from typing import Literal

import numpy as np
from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.moments import mean
from screening.screen.statistics.observed import need

Weights = Literal["royston", "1965"]
LEAST, MOST = 3, 5000

TABLE_1965 = (
    0.767, 0.748, 0.762, 0.788, 0.803, 0.818, 0.829, 0.842, 0.850, 0.859, 0.866, 0.874, 0.881, 0.887, 0.892, 0.897, 0.901,
    0.905, 0.908, 0.911, 0.914, 0.916, 0.918, 0.920, 0.923, 0.924, 0.926, 0.927, 0.929, 0.930, 0.931, 0.933, 0.934, 0.935,
    0.936, 0.938, 0.939, 0.940, 0.941, 0.942, 0.943, 0.944, 0.945, 0.945, 0.946, 0.947, 0.947, 0.947,
)  # fmt: skip
"""5 % points of W for n = 3 to 50 with the weights of 1965, as printed in US EPA (2009), Unified Guidance, Table 10-3."""


@dataclass(frozen=True)
class W:
    """A statistic W (no unit) or a critical value of it, with the weights that it was made with."""

    value: float
    weights: Weights
    n: int

    def below(self, critical: W) -> bool:
        """Whether W falls below a critical value, which speaks against normal values.

        Raises `Refused` where the weights differ: at n = 50 the two kinds of W differ by 0.01 on the same values.
        """
        if self.weights != critical.weights:
            raise Refused(
                f"a W with weights '{self.weights}' has no critical value by '{critical.weights}': use one kind throughout"
            )
        return self.value < critical.value


def royston(values: Sequence[float]) -> tuple[W, float]:
    """W and its p value; a small p speaks against normal values.

    Royston (1995), Remark AS R94, Applied Statistics 44, 547-551, on Shapiro and Wilk (1965), Biometrika 52, 591-611.
    For 3 to 5,000 values that differ; raises `Refused`. With fewer than about 8 values it seldom rejects anything.
    """
    n = len(values)
    need(n, LEAST, "the test of Shapiro and Wilk")
    if n > MOST:
        raise Refused(
            f"the test of Shapiro and Wilk holds for up to {MOST} values, here are {n}: use that of Anderson and Darling"
        )
    if min(values) == max(values):
        raise Refused("the test of Shapiro and Wilk needs values that differ; these are all the same")
    found = stats.shapiro(np.asarray(values, dtype=float))
    return W(float(found.statistic), "royston", n), float(found.pvalue)


def with_weights_of_1965(values: Sequence[float], weights: Sequence[float]) -> W:
    """W from the printed weights of 1965, the largest first: (sum of weight times range pair)^2 over the sum of squares.

    Raises `Refused` where the weights are not those of so many values.
    """
    n = len(values)
    need(n, LEAST, "the test of Shapiro and Wilk")
    if len(weights) != n // 2:
        raise Refused(f"{n} values need {n // 2} weights, here are {len(weights)}")
    ordered, centre = sorted(values), mean(values)
    pulled = sum(weight * (ordered[n - 1 - at] - ordered[at]) for at, weight in enumerate(weights))
    return W(pulled**2 / sum((value - centre) ** 2 for value in ordered), "1965", n)


def critical_1965(n: int) -> W:
    """The printed 5 % point for W with the weights of 1965, n = 3 to 50. Raises `Refused`."""
    if not LEAST <= n < LEAST + len(TABLE_1965):
        raise Refused(f"the table of 1965 has no critical value for {n} values: it holds for 3 to 50")
    return W(TABLE_1965[n - LEAST], "1965", n)


def critical_royston(n: int, alpha: float = 0.05) -> W:
    """The critical value at which Royston's p is ``alpha``; exact for n = 3."""
    need(n, LEAST, "the test of Shapiro and Wilk")
    if n == 3:
        return W(sin(alpha * pi / 6 + asin(sqrt(0.75))) ** 2, "royston", n)
    z = float(stats.norm.ppf(1 - alpha))
    if n <= 11:
        bend = 0.459 * n - 2.273
        centre = 0.544 - 0.39978 * n + 0.025054 * n**2 - 0.0006714 * n**3
        spread = exp(1.3822 - 0.77857 * n + 0.062767 * n**2 - 0.0020322 * n**3)
        return W(1 - exp(bend - exp(-(centre + z * spread))), "royston", n)
    u = log(n)
    centre = -1.5861 - 0.31082 * u - 0.083751 * u**2 + 0.0038915 * u**3
    spread = exp(-0.4803 - 0.082676 * u + 0.0030302 * u**2)
    return W(1 - exp(centre + z * spread), "royston", n)
