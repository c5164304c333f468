"""What is known of the middle of partly undetected amounts, each estimate with the convention it was made by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from screening.errors import Refused
from screening.screen.statistics.likelihood import cohen, lognormal_likelihood, normal_likelihood
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.order_statistics import complete, complete_by_scores
from screening.screen.statistics.product_limit import Leftover, product_limit
from screening.screen.statistics.ranks import median, median_interval, winsorise

_LEFTOVERS: dict[Leftover, str] = {"lowest": "at the lowest limit", "zero": "at 0"}


@dataclass(frozen=True)
class Estimate:
    """Mean (or median) and spread in the unit of the values, by a named method; ``why`` tells why there is none."""

    method: str
    middle: float | None
    spread: float | None
    why: str = ""


def estimates(observed: Observed) -> tuple[Estimate, ...]:
    """Every estimate that the values allow; those that they do not allow say why. Half limits are never put in."""
    return tuple(_made(observed))


def _made(observed: Observed) -> Iterator[Estimate]:
    if not observed.limits:
        yield Estimate("mean, divisor n - 1", mean(observed.values), sd(observed.values) if observed.n > 1 else None)
        yield _try("median", lambda: (median(observed), None))
        return
    for leftover, words in _LEFTOVERS.items():
        method = f"product limit, share below the lowest limit {words}, divisor n - 1"
        yield _try(method, partial(_by_product_limit, observed, leftover))
    yield _try("robust regression on order statistics", lambda: (complete(observed).mean, complete(observed).sd))
    yield _try("robust regression on normal scores", lambda: _by_scores(observed))
    yield _try(
        "maximum likelihood, lognormal",
        lambda: (lognormal_likelihood(observed).lognormal_mean, lognormal_likelihood(observed).lognormal_sd),
    )
    yield _try("maximum likelihood, normal", lambda: (normal_likelihood(observed).mean, normal_likelihood(observed).sd))
    yield _try("Cohen, normal, one limit", lambda: (cohen(observed).mean, cohen(observed).sd))
    yield _try("Winsorised", lambda: (winsorise(observed).mean, winsorise(observed).sd))
    yield _try("median", lambda: (median(observed), None))


def _by_product_limit(observed: Observed, leftover: Leftover) -> tuple[float, float]:
    curve = product_limit(observed)
    return curve.mean(leftover), curve.sd("mass_n_minus_1", leftover)


def _by_scores(observed: Observed) -> tuple[float, float]:
    if observed.blind or max(observed.limits) > min(observed.detects, default=0):
        raise Refused("normal scores of ranks need limits below all detections")
    found = complete_by_scores(observed.detects, len(observed.limits))[2]
    return found.mean, found.sd


def _try(method: str, run: Callable[[], tuple[float, float | None]]) -> Estimate:
    try:
        return Estimate(method, *run())
    except Refused as error:
        return Estimate(method, None, None, str(error))


def median_words(observed: Observed) -> str:
    """The interval of the median that needs no distribution, in words."""
    try:
        found = median_interval(observed)
    except Refused as error:
        return str(error)
    low = f"<{found.low:.6g}" if found.low_is_limit else f"{found.low:.6g}"
    return (
        f"median between {low} and {found.high:.6g} (ranks {found.ranks[0]} and {found.ranks[1]}, coverage {found.coverage:.1%})"
    )
