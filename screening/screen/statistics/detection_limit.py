"""Detection limits from replicates and from blanks: how low a method may report before noise looks like a substance.

From spiked replicates t(n - 1, 99 %) s, with its confidence bounds and, of two sets whose variances agree, pooled: Wis.
Admin. Code NR 252.0365, the procedure of 40 CFR 136 Appendix B before 2017 (read; worked in Berthouex and Brown 2002,
Example 14.1, read). From method blanks and the choice of the higher of both: 40 CFR 136 Appendix B, Revision 2 of 2017
(recalled). Replicates are taken as normal and independent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, sqrt

from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Amount, need

CONFIDENCE = 0.99
"""One-sided confidence that an amount at the limit is no blank."""
FEWEST = 7
"""Replicates, and blanks, that the procedure asks for at least."""
MANY_BLANKS = 100
"""From more blanks than these on the 99th percentile stands for the highest."""
F_CONFIDENCE = 0.90
"""Up to this point of the ratio of variances two sets are pooled: 3.05 for two sets of seven, as the rule prints (recalled)."""


@dataclass(frozen=True)
class Limit:
    """A detection limit in the unit of its values: how many there were, what they gave, and its two-sided 95 % bounds."""

    n: int
    mean: float
    sd: float
    t: float | None
    limit: float | None
    low: float | None = None
    high: float | None = None
    note: str = ""


def student_t_99(degrees: int) -> float:
    """The one-sided 99 % point of Student's t."""
    return float(stats.t.ppf(CONFIDENCE, degrees))


def factors(degrees: int, low: float = 0.025, high: float = 0.975) -> tuple[float, float]:
    """What a limit is multiplied by for its bounds: those of a standard deviation, by chi-square."""
    return tuple(sqrt(degrees / float(stats.chi2.ppf(1 - share, degrees))) for share in (low, high))  # type: ignore[return-value]


def from_spikes(values: Sequence[Amount]) -> Limit:
    """The limit from replicates spiked near it: t(n - 1, 99 %) times their standard deviation. Needs 7; raises `Refused`."""
    _enough(len(values), "replicates")
    if min(values) <= 0:
        raise Refused("a replicate of 0 or below shows that the spike was too low: repeat it at a higher amount")
    return _of_spread(len(values), mean(values), sd(values), len(values) - 1)


def _of_spread(n: int, centre: float, spread: float, degrees: int, note: str = "") -> Limit:
    t = student_t_99(degrees)
    below, above = factors(degrees)
    return Limit(n, centre, spread, t, t * spread, below * t * spread, above * t * spread, note)


def may_pool(first: Sequence[Amount], second: Sequence[Amount]) -> tuple[float, bool]:
    """The ratio of the higher variance to the lower, and whether it lies below its critical point."""
    need(min(len(first), len(second)), 2, "a ratio of variances")
    (high, above), (low, below) = sorted(((sd(one) ** 2, len(one) - 1) for one in (first, second)), reverse=True)
    if low == 0:
        raise Refused("a set whose values are all the same has no variance to compare")
    return high / low, high / low < float(stats.f.ppf(F_CONFIDENCE, above, below))


def pooled(first: Sequence[Amount], second: Sequence[Amount]) -> Limit:
    """The limit of two sets together: their variances weighed by degrees of freedom. Raises `Refused` where they differ."""
    _enough(min(len(first), len(second)), "replicates in each set")
    ratio, fit = may_pool(first, second)
    if not fit:
        raise Refused(f"the variances of the two sets differ by a ratio of {ratio:.3g}: they are not pooled")
    one, two = len(first) - 1, len(second) - 1
    spread = sqrt((one * sd(first) ** 2 + two * sd(second) ** 2) / (one + two))
    return _of_spread(len(first) + len(second), mean([*first, *second]), spread, one + two, f"ratio of variances {ratio:.3g}")


def from_blanks(numbers: Sequence[Amount], without_number: int) -> Limit:
    """The limit from method blanks: those with a numerical result (perhaps below 0), and how many have none.

    None of them: it does not apply. Some: the highest, of more than 100 blanks the 99th percentile. All: their mean (0
    where it is below) and t(n - 1, 99 %) standard deviations. Needs 7 blanks; raises `Refused`.
    """
    n = len(numbers) + without_number
    _enough(n, "blanks")
    if not numbers:
        return Limit(n, 0, 0, None, None, note="no blank gave a number: blanks set no limit")
    if without_number:
        ordered = sorted(float(number) for number in numbers)
        if n > MANY_BLANKS:
            place = ceil(n * CONFIDENCE) - without_number
            at = ordered[max(place, 1) - 1]
            return Limit(n, mean(numbers), _spread(numbers), None, at, note="the 99th percentile, as some blanks gave no number")
        return Limit(
            n, mean(numbers), _spread(numbers), None, max(ordered[-1], 0.0), note="the highest, as some blanks gave no number"
        )
    centre, spread, t = mean(numbers), sd(numbers), student_t_99(n - 1)
    note = "the mean lies below 0 and counts as 0" if centre < 0 else ""
    return Limit(n, centre, spread, t, max(centre, 0.0) + t * spread, note=note)


def _enough(n: int, what: str) -> None:
    if n < FEWEST:
        raise Refused(f"the procedure needs at least {FEWEST} {what}, fewer are given")


def _spread(numbers: Sequence[Amount]) -> float:
    return sd(numbers) if len(numbers) > 1 else 0.0
