"""The bar that a value must pass to exceed a level: the level itself, or where rounding moves it, exactly."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from screening.levels.rules import Rounding


@dataclass(frozen=True)
class Bar:
    """A value exceeds above ``amount``, and at it where ``counts``."""

    amount: Decimal
    counts: bool

    def exceeded(self, value: Decimal) -> bool:
        """Whether the value exceeds."""
        return value > self.amount or (self.counts and value == self.amount)


def bar(level: Decimal, at_or_above: bool, rounding: Rounding = "none") -> Bar:
    """Where values begin to exceed a level, both in the unit in which the level is printed.

    Values are compared as they stand (absolute method of ASTM E29) or rounded first to the last place that the level
    shows (rounding method of ASTM E29; a half goes to the even digit there, and up in drinking-water practice, EPA
    Water Supply Guidance 21). ``figures_…`` round to as many significant figures as the level shows, which differs
    only for values of another order of magnitude. Trailing zeros of a whole number are taken as shown, the narrowest
    reading. Rounding a value is the same as moving the bar by half a place, so no value is ever changed.
    """
    if rounding == "none":
        return Bar(level, at_or_above)
    exponent = level.as_tuple().exponent
    assert isinstance(exponent, int)
    place = Decimal(1).scaleb(min(exponent, 0))
    up = rounding.endswith("half_up")
    if not at_or_above:  # exceeds where the rounded value is the next place or more
        return Bar(level + place / 2, counts=up or not _even(level, place))
    step = place
    if rounding.startswith("figures") and level == Decimal(1).scaleb(level.adjusted()):
        step = place / 10  # just below a power of ten a value of the same figures has one more decimal
    return Bar(level - step / 2, counts=up or _even(level, step))


def _even(level: Decimal, place: Decimal) -> bool:
    return (level / place).to_integral_value(ROUND_FLOOR) % 2 == 0
