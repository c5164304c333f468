"""Whether a well rises or falls over its rounds: Mann-Kendall, exact for few rounds, and the slope of Theil and Sen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from math import comb, factorial, sqrt

from scipy import stats

from screening.errors import Refused
from screening.screen.statistics.observed import Observed, need

EXACT_UP_TO = 40
"""Up to so many rounds the exact distribution decides, above it the normal approximation."""
LEAST_SLOPE = 3
ALPHA = 0.05
DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Trend:
    """S, its variance with ties, Z with a correction for continuity, and one-sided p values (both without unit).

    The sign of S tells the direction; ``p_exact`` is None for more than 40 rounds or two on one day. ``ties`` are the sizes of the groups
    of equal values.
    """

    s: int
    variance: float
    z: float
    p_normal: float
    p_exact: float | None
    n: int
    ties: tuple[int, ...]

    @property
    def tau(self) -> float:
        """S over the number of pairs (tau a), from -1 to 1."""
        return self.s / comb(self.n, 2)

    @property
    def p(self) -> float:
        """The one-sided p that decides: exact where there is one, else normal."""
        return self.p_normal if self.p_exact is None else self.p_exact

    @property
    def p_two_sided(self) -> float:
        """Twice the one-sided p, at most 1."""
        return min(1.0, 2 * self.p)


def mann_kendall(observed: Observed, times: Sequence[float] | None = None) -> Trend:
    """Mann-Kendall test of amounts at their times, or in the order of their rounds.

    Mann (1945), Econometrica 13; Kendall (1975), Rank Correlation Methods. Everything below the highest limit of a
    non-detect is taken as tied there, so that a limit that changes from round to round makes no trend. Assumes rounds
    that are independent, without season. Needs 3 rounds (which can show nothing at 5 %; see `least_rounds`).
    """
    need(observed.n, 3, "a Mann-Kendall test", "rounds")
    return kendall_s(levelled(observed), times)


def levelled(observed: Observed) -> list[float]:
    """The amounts with all below the highest limit set to one value below every other."""
    edge = max(observed.limits, default=None)
    if edge is None:
        return list(observed.values)
    return [
        float("-inf") if hidden or value < edge else value
        for value, hidden in zip(observed.values, observed.censored, strict=True)
    ]


def kendall_s(values: Sequence[float], times: Sequence[float] | None = None) -> Trend:
    """The same for plain amounts with ties among them; without times the order is that of the sequence.

    Pairs of one time count nothing; the variance allows for ties on both sides (Kendall 1975), and no exact p is given
    where times are tied.
    """
    n = len(values)
    when = range(n) if times is None else times
    pairs = combinations(zip(when, values, strict=True), 2)
    s = sum(((b[0] > a[0]) - (b[0] < a[0])) * ((b[1] > a[1]) - (b[1] < a[1])) for a, b in pairs)
    ties, days = _ties(values), _ties(when)
    z = (abs(s) - 1) / sqrt(variance) * (1 if s > 0 else -1) if (variance := _variance(n, ties, days)) and s else 0.0
    exact = p_exact(abs(s), n, ties) if n <= EXACT_UP_TO and not days else None
    return Trend(s, variance, z, float(stats.norm.sf(abs(z))), exact, n, ties)


def _ties(found: Iterable[float]) -> tuple[int, ...]:
    return tuple(sorted(count for count in Counter(found).values() if count > 1))


def _variance(n: int, ties: Sequence[int], days: Sequence[int]) -> float:
    def sums(groups: Sequence[int]) -> tuple[int, int, int]:
        return (
            sum(t * (t - 1) * (2 * t + 5) for t in groups), sum(t * (t - 1) * (t - 2) for t in groups),
            sum(t * (t - 1) for t in groups),
        )  # fmt: skip

    (first, triples, doubles), (second, other_triples, other_doubles) = sums(ties), sums(days)
    whole = Fraction(n * (n - 1) * (2 * n + 5) - first - second, 18) + Fraction(doubles * other_doubles, 2 * n * (n - 1))
    return float(whole + (Fraction(triples * other_triples, 9 * n * (n - 1) * (n - 2)) if n > 2 else 0))


def p_exact(s: int, n: int, ties: tuple[int, ...] = ()) -> float:
    """The chance that S is at least ``s`` where every order of the values is as likely as any other, ties included.

    Kendall (1975); reprinted without ties in Gilbert (1987), Table A18.
    """
    ways = _ways(n, ties)
    pairs = len(ways) - 1
    return float(Fraction(sum(count for falls, count in enumerate(ways) if pairs - 2 * falls >= s), sum(ways)))


@lru_cache(maxsize=256)
def _ways(n: int, ties: tuple[int, ...]) -> tuple[int, ...]:
    """How many orders have so many falling pairs: [n]! / product of [t]! in powers of q."""
    ways = _factorial(n)
    for tie in ties:
        below = _factorial(tie)
        kept = list(ways)
        quotient = []
        for at in range(len(ways) - len(below) + 1):
            quotient.append(kept[at])
            for step, factor in enumerate(below):
                kept[at + step] -= quotient[at] * factor
        ways = quotient
    return tuple(ways)


def _factorial(n: int) -> list[int]:
    ways = [1]
    for size in range(2, n + 1):
        ways = [sum(ways[max(0, at - size + 1) : at + 1]) for at in range(len(ways) + size - 1)]
    return ways


def least_rounds(alpha: float = 0.05, two_sided: bool = False) -> int:
    """The least number of rounds that can show any trend at the level: n with 1/n! (two-sided 2/n!) at most ``alpha``."""
    n = 2
    while Fraction(2 if two_sided else 1, factorial(n)) > alpha:
        n += 1
    return n


@dataclass(frozen=True)
class Slope:
    """Slope in units of amount over units of time, where the line starts at time 0, and the interval of the slope."""

    slope: float
    intercept: float
    low: float
    high: float


def theil_sen(times: Sequence[float], values: Sequence[float], confidence: float = 0.95) -> Slope:
    """The median of the slopes of all pairs, with its two-sided interval.

    Theil (1950); Sen (1968), JASA 63, 1379-1389; by scipy, intercept = median(value) - slope median(time). Assumes
    independent rounds; non-detects must have been given numbers. Needs 3 rounds on different days; raises `Refused`.
    """
    need(len(values), LEAST_SLOPE, "a Theil-Sen slope", "rounds")
    if len(set(times)) != len(times):
        raise Refused("a Theil-Sen slope needs one value for each day: two rounds have the same day")
    found = stats.theilslopes(values, times, alpha=confidence, method="separate")
    return Slope(float(found.slope), float(found.intercept), float(found.low_slope), float(found.high_slope))


def significant(trend: Trend, alpha: float = ALPHA) -> bool:
    """Whether a rise or fall is shown, each direction tested one-sided."""
    return trend.s != 0 and trend.p <= alpha


def slope_a_year(days: Sequence[int], observed: Observed) -> tuple[float, float, float]:
    """Slope and its 95 % interval in units of amount a year, from the numbers of the days.

    With non-detects the slope is made with them at their limits, and the interval spans that with them at 0 as well. Raises
    `Refused` where more than half are non-detects: such a slope is one of the limits.
    """
    if 2 * len(observed.limits) > observed.n:
        raise Refused("more than half of the rounds are non-detects: a slope would be one of the limits")
    times = [day / DAYS_A_YEAR for day in days]
    at_limits = theil_sen(times, observed.values)
    if not observed.limits:
        return at_limits.slope, at_limits.low, at_limits.high
    at_zero = theil_sen(
        times, [0.0 if hidden else value for value, hidden in zip(observed.values, observed.censored, strict=True)]
    )
    return at_limits.slope, min(at_limits.low, at_zero.low), max(at_limits.high, at_zero.high)
