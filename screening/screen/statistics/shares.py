"""Rules that count samples, in exact fractions: how many lie above a level, and how far above the highest lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from screening.screen.statistics.observed import need


@dataclass(frozen=True)
class Bounds:
    """Between which amounts the truth of one sample lies; a detection has both equal, ``upper`` None is unknown."""

    lower: Decimal
    upper: Decimal | None


@dataclass(frozen=True)
class Part:
    """One part of a rule: whether it is met (None: cannot be shown, since some bounds straddle), and the words of it."""

    name: str
    met: bool | None
    told: str


@dataclass(frozen=True)
class Counted:
    """How many of ``n`` samples surely lie above an amount, and how many may."""

    surely: int
    perhaps: int
    n: int

    @property
    def told(self) -> str:
        """The count in words."""
        return f"{self.surely} of {self.n}" if self.surely == self.perhaps else f"{self.surely} to {self.perhaps} of {self.n}"


def above(amount: Decimal, level: Decimal, sign: str) -> bool:
    """Whether an amount is above a level; an equal one counts as above where the sign is 'at_or_above'."""
    return amount >= level if sign == "at_or_above" else amount > level


def count_above(bounds: Sequence[Bounds], level: Decimal, sign: str) -> Counted:
    """Samples above a level. Needs 1 sample; raises `Refused`."""
    need(len(bounds), 1, "a count of samples", "samples")
    surely = sum(above(one.lower, level, sign) for one in bounds)
    perhaps = sum(one.upper is None or above(one.upper, level, sign) for one in bounds)
    return Counted(surely, perhaps, len(bounds))


def fewer_than_a_tenth(bounds: Sequence[Bounds], level: Decimal, sign: str = "above") -> Part:
    """Fewer than 10 % of the samples above the level: exactly a tenth is not fewer (WAC 173-340-740(7), recalled)."""
    found = count_above(bounds, level, sign)
    tenth = Fraction(1, 10)
    met = _three(Fraction(found.surely, found.n) < tenth, Fraction(found.perhaps, found.n) < tenth)
    return Part("fewer_than_a_tenth", met, f"{found.told} above the level, fewer than a tenth are allowed")


def none_above_times(bounds: Sequence[Bounds], level: Decimal, times: int) -> Part:
    """No sample above so many times the level: exactly so many times is not above."""
    found = count_above(bounds, level * times, "above")
    return Part(
        f"none_above_{times}_times", _three(not found.surely, not found.perhaps), f"{found.told} above {times} times the level"
    )


def three_quarters(bounds: Sequence[Bounds], level: Decimal, sign: str = "above") -> Part:
    """At least 75 % of the samples not above the level: exactly three quarters suffice (25 Pa. Code 250.707(b)(1)(i))."""
    found = count_above(bounds, level, sign)
    share = Fraction(3, 4)
    met = _three(Fraction(found.n - found.surely, found.n) >= share, Fraction(found.n - found.perhaps, found.n) >= share)
    return Part("three_quarters", met, f"{found.told} above the level, a quarter is allowed")


def mean_between(bounds: Sequence[Bounds]) -> tuple[Fraction, Fraction | None]:
    """The exact mean with non-detects at 0 and at their limits; the second is None where a bound is unknown."""
    need(len(bounds), 1, "a mean", "samples")
    uppers = [Fraction(one.upper) for one in bounds if one.upper is not None]
    low = sum((Fraction(one.lower) for one in bounds), Fraction(0)) / len(bounds)
    return low, sum(uppers, Fraction(0)) / len(bounds) if len(uppers) == len(bounds) else None


def mean_not_above(bounds: Sequence[Bounds], level: Decimal, sign: str = "above") -> Part:
    """The arithmetic mean, exact, not above the level, wherever in their bounds the non-detects lie."""
    low, high = mean_between(bounds)
    at = Fraction(level)

    def fits(mean: Fraction) -> bool:
        return mean < at if sign == "at_or_above" else mean <= at

    return Part("mean", _three(fits(low), high is not None and fits(high)), "the mean with non-detects at 0 and at their limits")


def all_of(parts: Sequence[Part]) -> bool | None:
    """Whether a rule of several parts is met: a part that fails decides, an open one leaves it open."""
    met = [part.met for part in parts]
    return False if False in met else None if None in met else True


def _three(at_best: bool, at_worst: bool) -> bool | None:
    return True if at_worst else None if at_best else False
