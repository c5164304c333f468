"""Which outlier test suits so many values, and which values it flags. A flag removes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from screening.errors import Refused
from screening.screen.statistics.choice import Tested, fits
from screening.screen.statistics.outliers import LEAST_ROSNER, dixon, grubbs, rosner

DIXON_UP_TO = 10


@dataclass(frozen=True)
class Flags:
    """The places (from 0) of the flagged values, the test, and why there may be none."""

    places: tuple[int, ...]
    test: str


def flag(values: Sequence[float], tested: Sequence[Tested]) -> Flags:
    """Dixon's test for 3 to 10 values, Grubbs's for 11 to 14, Rosner's from 15, of the logarithms where those fit better.

    One outlier makes values look less normal, so a logarithm that fits is taken before the values are called odd.
    Detected values alone. Level 5 %. Where the test cannot be made, the words say why.
    """
    logs = not fits(tested, "normal") and bool(values) and min(values) > 0
    numbers = [log(value) for value in values] if logs else list(values)
    kind = " of logarithms" if logs else ""
    try:
        if len(numbers) <= DIXON_UP_TO:
            found, name = dixon(numbers), "Dixon (gap over range)"
            flagged = [found.value] if found.outlier else []
        elif len(numbers) < LEAST_ROSNER:
            found, name = grubbs(numbers), "Grubbs (highest)"
            flagged = [found.value] if found.outlier else []
        else:
            name, flagged = "Rosner (up to 10)", list(rosner(numbers).outliers)
    except Refused as error:
        return Flags((), f"none made: {error}")
    left = list(flagged)
    places = []
    for at, number in enumerate(numbers):
        if number in left:
            left.remove(number)
            places.append(at)
    return Flags(tuple(places), name + kind)
