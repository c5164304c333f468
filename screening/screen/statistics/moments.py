"""Mean, standard deviation and skewness without loss of digits."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from fractions import Fraction

from screening.errors import Refused
from screening.screen.statistics.observed import Amount, need


def mean(values: Sequence[Amount]) -> float:
    """The arithmetic mean in the unit of the values, added as exact fractions and rounded once."""
    need(len(values), 1, "a mean")
    return float(statistics.mean(map(Fraction, values)))


def sd(values: Sequence[Amount]) -> float:
    """The standard deviation (divisor n - 1) in the unit of the values.

    The squares are added as exact fractions about the exact mean: a short cut through the sum of squares loses every
    digit of the NIST set NumAcc4 (Simon and Lesage 1989). Needs 2 values.
    """
    need(len(values), 2, "a standard deviation")
    return float(statistics.stdev([Fraction(value) for value in values]))


def skewness(values: Sequence[Amount]) -> float:
    """The skewness corrected for small samples (adjusted Fisher-Pearson, G1), without unit.

    Needs 3 values, not all the same; raises `Refused`.
    """
    n = len(values)
    need(n, 3, "a skewness")
    centre, spread = mean(values), sd(values)
    if spread == 0:
        raise Refused("a skewness needs values that differ; these are all the same")
    return n / ((n - 1) * (n - 2)) * sum(((float(value) - centre) / spread) ** 3 for value in values)
