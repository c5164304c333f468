"""What the statistics of this room work on, and the least number of values below which they refuse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from screening.errors import Refused

Amount = Decimal | float | int


@dataclass(frozen=True)
class Observed:
    """Amounts of one analyte, all in one unit, one a sample.

    ``censored`` marks the non-detects; the amount of a non-detect is its limit: the truth lies anywhere between 0
    and it. Raises `Refused` where there is not one mark for each value, or nothing at all.
    """

    values: tuple[float, ...]
    censored: tuple[bool, ...]

    def __post_init__(self) -> None:
        if len(self.values) != len(self.censored):
            raise Refused(
                f"{len(self.values)} values and {len(self.censored)} marks of non-detects: give one mark for each value"
            )
        need(len(self.values), 1, "any statistic")

    @classmethod
    def of(cls, values: Sequence[Amount], censored: Sequence[bool] = ()) -> Observed:
        """Values with their marks; without marks all are detected."""
        return cls(tuple(map(float, values)), tuple(map(bool, censored)) or (False,) * len(values))

    @property
    def n(self) -> int:
        """How many samples."""
        return len(self.values)

    @property
    def detects(self) -> tuple[float, ...]:
        """The detected amounts in the order given."""
        return tuple(value for value, hidden in zip(self.values, self.censored, strict=True) if not hidden)

    @property
    def limits(self) -> tuple[float, ...]:
        """The limits of the non-detects in the order given."""
        return tuple(value for value, hidden in zip(self.values, self.censored, strict=True) if hidden)

    @property
    def blind(self) -> bool:
        """Whether some limit lies above every detection: such a non-detect says nothing about the detections."""
        return bool(self.limits) and max(self.limits) > max(self.detects, default=0)


def need(count: int, least: int, what: str, of: str = "values") -> None:
    """Raises `Refused` where there are fewer than the least that a method needs."""
    if count < least:
        raise Refused(f"{what} needs at least {least} {of}, here are {count}: take more samples, or compare each sample alone")


def need_positive(values: Sequence[float], what: str) -> None:
    """Raises `Refused` where an amount is 0 or less, of which there is no logarithm."""
    if any(value <= 0 for value in values):
        raise Refused(f"{what} needs amounts above 0, here is one of {min(values):g}: use a method without logarithms")
