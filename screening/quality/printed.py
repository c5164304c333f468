"""Printed figures as the intervals that they may stand for: half a unit of the last figure to either side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Interval:
    """All amounts that a printed one may stand for, multiplied by an exact factor."""

    low: Decimal
    high: Decimal

    def times(self, factor: Decimal) -> Interval:
        """The interval of the amount times a factor."""
        return Interval(self.low * factor, self.high * factor)

    def meets(self, other: Interval) -> bool:
        """Whether an amount lies in both."""
        return self.low <= other.high and other.low <= self.high


def printed(amount: Decimal) -> Interval:
    """The interval of an amount as printed.

    >>> printed(Decimal("0.50"))
    Interval(low=Decimal('0.495'), high=Decimal('0.505'))
    """
    half = half_unit(amount)
    return Interval(amount - half, amount + half)


def half_unit(amount: Decimal) -> Decimal:
    """Half a unit of the last figure."""
    exponent = amount.as_tuple().exponent
    return Decimal(5).scaleb(exponent - 1) if isinstance(exponent, int) else Decimal(0)


def common(intervals: Sequence[Interval]) -> Interval | None:
    """The amounts that lie in every interval; None where there is none."""
    low, high = max(one.low for one in intervals), min(one.high for one in intervals)
    return Interval(low, high) if low <= high else None
