"""Distribution, mean and spread of partly undetected amounts by the product limit of Kaplan and Meier."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass
from math import sqrt
from typing import Literal

from screening.errors import Refused
from screening.screen.statistics.observed import Observed, need

Leftover = Literal["lowest", "zero"]
"""Where the share of the samples goes that lies below every detection and limit: to the lowest of them (Efron), or to 0."""
Spread = Literal["mass_n", "mass_n_minus_1", "error_root_n", "error_root_n_corrected"]
"""Four conventions of the standard deviation, which differ by an eighth on one published set: the spread of the shares
with divisor n or n - 1, or sqrt(n) times the standard error of the mean, as it is or times sqrt(e / (e - 1)) for e detects."""


@dataclass(frozen=True)
class ProductLimit:
    """Detected amounts from the highest, the share of all samples that each carries, and the share left below them all."""

    amounts: tuple[float, ...]
    shares: tuple[float, ...]
    leftover: float
    floor: float
    area_error: float
    n: int
    detected: int

    def below_or_at(self, amount: float) -> float:
        """The share of the samples at or below an amount."""
        return (
            1 - sum(share for at, share in zip(self.amounts, self.shares, strict=True) if at > amount)
            if amount >= self.floor
            else 0.0
        )

    def mean(self, leftover: Leftover = "lowest") -> float:
        """The mean in the unit of the amounts; the convention for the leftover share bounds it from above or below."""
        return sum(at * share for at, share in self._masses(leftover))

    def sd(self, spread: Spread, leftover: Leftover = "lowest") -> float:
        """The standard deviation in the unit of the amounts, by a named convention. Raises `Refused` for too few values."""
        need(self.n, 2, "a standard deviation")
        if spread in ("mass_n", "mass_n_minus_1"):
            centre = self.mean(leftover)
            square = sum(share * (at - centre) ** 2 for at, share in self._masses(leftover))
            return sqrt(square * (self.n / (self.n - 1) if spread == "mass_n_minus_1" else 1))
        if self.detected < 2:
            raise Refused("a standard error by the product limit needs at least 2 detections: use the spread of the shares")
        corrected = self.detected / (self.detected - 1) if spread == "error_root_n_corrected" else 1
        return self.area_error * sqrt(self.n * corrected)

    def _masses(self, leftover: Leftover) -> list[tuple[float, float]]:
        floor = self.floor if leftover == "lowest" else 0.0
        return [*zip(self.amounts, self.shares, strict=True), (floor, self.leftover)]


def product_limit(observed: Observed) -> ProductLimit:
    """The product limit of left-censored amounts.

    Kaplan and Meier (1958), JASA 53, 457-481, from the highest amount downwards; a non-detect with a limit counts as
    lying below a detection of the same amount. A non-detect whose limit is above every detection says nothing here.
    Needs a detection; raises `Refused`.
    """
    detects = sorted(set(observed.detects), reverse=True)
    if not detects:
        raise Refused("the product limit needs a detection, here is none: no mean exists, report the highest limit")
    ordered, counts = sorted(observed.values), Counter(observed.detects)
    amounts, shares, steps = [], [], []
    remaining = 1.0
    for at in detects:
        at_or_below = bisect_right(ordered, at)
        here = counts[at]
        amounts.append(at)
        shares.append(remaining * here / at_or_below)
        steps.append((at, here, at_or_below))
        remaining *= 1 - here / at_or_below
    floor = min(observed.values)
    leftover = max(0.0, remaining)
    return ProductLimit(
        tuple(amounts), tuple(shares), leftover, floor, _area_error(amounts, shares, steps, floor), observed.n,
        len(observed.detects),
    )  # fmt: skip


def _area_error(amounts: list[float], shares: list[float], steps: list[tuple[float, int, int]], floor: float) -> float:
    """The standard error of the mean: each step's area below it, weighed by Greenwood's term."""
    square, area, low = 0.0, 0.0, floor
    carried = max(0.0, 1 - sum(shares))
    for at, share, (_, here, at_or_below) in zip(reversed(amounts), reversed(shares), reversed(steps), strict=True):
        area += carried * (at - low)
        low = at
        carried += share
        if at_or_below > here:
            square += area**2 * here / (at_or_below * (at_or_below - here))
    return sqrt(square)
