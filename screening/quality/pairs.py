"""The arithmetic of two results of one thing: relative difference where both are well above the limit, else the difference."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal

_WIDE = Context(prec=60, rounding=ROUND_HALF_EVEN)


@dataclass(frozen=True)
class Side:
    """One of the two: its value, or the limit of a non-detect, and the limit that it is measured by (None: unknown)."""

    amount: Decimal
    detected: bool
    limit: Decimal | None


@dataclass(frozen=True)
class Agreement:
    """`rule` is relative, difference, both_not_detected or not_computed; `met` is None where nothing could be held."""

    rule: str
    figure: Decimal | None
    allowed: Decimal | None
    met: bool | None


def relative_difference(one: Decimal, two: Decimal) -> Decimal:
    """The relative percent difference: |a - b| / mean x 100. Raises `ZeroDivisionError` where both are 0."""
    if not one + two:
        raise ZeroDivisionError("two zeros have no relative difference")
    return _WIDE.divide(abs(one - two) * 200, one + two)


def agreement(one: Side, two: Side, percent: Decimal, low_times: Decimal, high_times: Decimal) -> Agreement:
    """Whether two results agree.

    Both detected above ``high_times`` their limit: the relative difference is at most ``percent``; otherwise they
    differ by at most ``low_times`` the higher limit, a non-detect counted at its limit.
    """
    if not one.detected and not two.detected:
        return Agreement("both_not_detected", None, None, True)
    limits = [side.limit for side in (one, two) if side.limit is not None]
    if len(limits) < 2:
        return Agreement("not_computed", None, None, None)
    if all(side.detected and side.limit is not None and side.amount > high_times * side.limit for side in (one, two)):
        figure = relative_difference(one.amount, two.amount)
        # the quotient is rounded far beyond its last figure, so the bound is held without dividing
        return Agreement("relative", figure, percent, abs(one.amount - two.amount) * 200 <= percent * (one.amount + two.amount))
    gap, allowed = abs(one.amount - two.amount), low_times * max(limits)
    return Agreement("difference", gap, allowed, gap <= allowed)
