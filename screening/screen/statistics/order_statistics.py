"""Robust regression on order statistics: non-detects filled in from a line through the logarithms of the detections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, pi

from scipy import integrate, special, stats

from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed, need, need_positive

LEAST_DETECTS = 3


@dataclass(frozen=True)
class Completed:
    """The completed sample in rising order, with mean and standard deviation, all in the unit of the values.

    ``log_mean`` and ``log_sd`` are those of the natural logarithms of the completed sample. Only the whole sample
    means something, never one filled-in value.
    """

    values: tuple[float, ...]

    @property
    def mean(self) -> float:
        """The mean of the completed sample."""
        return mean(self.values)

    @property
    def sd(self) -> float:
        """The standard deviation of the completed sample (divisor n - 1)."""
        return sd(self.values)

    @property
    def log_mean(self) -> float:
        """The mean of the logarithms."""
        return mean([log(value) for value in self.values])

    @property
    def log_sd(self) -> float:
        """The standard deviation of the logarithms (divisor n - 1)."""
        return sd([log(value) for value in self.values])


def complete(observed: Observed) -> Completed:
    """Fill in non-detects of any number of limits.

    Helsel and Cohn (1988), Water Resources Research 24, 1997-2004, with the plotting positions of Hirsch and Stedinger
    (1987). Assumes that the detections are about lognormal. Needs 3 detections and amounts above 0; raises `Refused`.
    """
    need(len(observed.detects), LEAST_DETECTS, "regression on order statistics", "detections")
    need_positive(observed.values, "regression on order statistics")
    placed = positions(observed)
    line = stats.linregress(
        [float(stats.norm.ppf(at)) for _, at, hidden in placed if not hidden],
        [log(value) for value, _, hidden in placed if not hidden],
    )
    return Completed(
        tuple(
            sorted(
                exp(line.intercept + line.slope * float(stats.norm.ppf(at))) if hidden else value for value, at, hidden in placed
            )
        )
    )


def positions(observed: Observed) -> list[tuple[float, float, bool]]:
    """Each value with its plotting position (between 0 and 1) and whether it is a non-detect; Hirsch and Stedinger (1987)."""
    detects, hidden = sorted(observed.detects), sorted(observed.limits)
    edges = sorted({0.0, *hidden})
    above = [0.0] * (len(edges) + 1)
    inside: list[list[float]] = []
    for at, edge in enumerate(edges):
        end = edges[at + 1] if at + 1 < len(edges) else float("inf")
        inside.append([value for value in detects if edge <= value < end])
    for at in range(len(edges) - 1, -1, -1):
        here = len(inside[at])
        below = sum(value < edges[at] for value in detects) + sum(limit <= edges[at] for limit in hidden)
        above[at] = above[at + 1] + (here / (here + below) * (1 - above[at + 1]) if here + below else 0.0)
    found = []
    for at, edge in enumerate(edges):
        step = (above[at] - above[at + 1]) / (len(inside[at]) + 1)
        found += [(value, 1 - above[at] + step * place, False) for place, value in enumerate(inside[at], start=1)]
        alike = hidden.count(edge)
        found += [(edge, (1 - above[at]) * place / (alike + 1), True) for place in range(1, alike + 1)]
    return found


def normal_scores(n: int) -> list[float]:
    """The expected values of n ordered standard normal values (rankits), by integration."""
    need(n, 1, "normal scores")

    def score(place: int) -> float:
        ways = float(special.betaln(place, n + 1 - place)) + log(2 * pi) / 2

        def weighed(x: float) -> float:
            below, above = float(special.log_ndtr(x)), float(special.log_ndtr(-x))
            return x * exp((place - 1) * below + (n - place) * above - x * x / 2 - ways)

        return float(integrate.quad(weighed, -8, 8, limit=200)[0])

    lower = [score(place) for place in range(1, n // 2 + 1)]
    return [*lower, *([0.0] if n % 2 else []), *(-one for one in reversed(lower))]


def complete_by_scores(detects: Sequence[float], hidden: int) -> tuple[float, float, Completed]:
    """Fill in non-detects below all detections by the normal scores of their ranks.

    Berthouex and Brown (2002), Statistics for Environmental Engineers, chapter 15: one limit, below every detection.
    Returns intercept and slope of the line through the logarithms, and the completed sample. Needs 3 detections above 0;
    raises `Refused`.
    """
    need(len(detects), LEAST_DETECTS, "regression on normal scores", "detections")
    need_positive(detects, "regression on normal scores")
    scores = normal_scores(len(detects) + hidden)
    line = stats.linregress(scores[hidden:], [log(value) for value in sorted(detects)])
    filled = [exp(line.intercept + line.slope * score) for score in scores[:hidden]]
    return float(line.intercept), float(line.slope), Completed((*filled, *sorted(detects)))
