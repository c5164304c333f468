"""Which confidence limit of the mean suits the values: guided by stated distribution tests, and never silent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import exp, inf, log, sqrt

from screening.errors import Refused
from screening.screen.statistics.fit import anderson_darling_gamma, anderson_darling_normal, lilliefors
from screening.screen.statistics.gamma import fit_gamma, gamma_adjusted
from screening.screen.statistics.likelihood import lognormal_likelihood
from screening.screen.statistics.limits import chebyshev, chebyshev_upper, student_t, t_upper
from screening.screen.statistics.lognormal import land, land_of_logs
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed, need
from screening.screen.statistics.product_limit import product_limit
from screening.screen.statistics.resampling import SEED
from screening.screen.statistics.shapiro import MOST, royston

LEAST = 4
"""Fewer values than this give no limit of a mean at all (common practice, no source)."""
FEW = 10
"""Below so many values a limit is given with a warning (common practice, no source)."""
LEAST_DETECTS = 4
ALPHA = 0.05
MANY = 30
SKEWED = (
    "values this skewed and few: a limit chosen by tests of them may hold the mean in 8 of 10 cases, not 19 of 20, and passes "
    "nothing by itself: Land's limit (lognormal values) or Chebyshev's must not be above the level either"
)
"""As `make coverage-of-limits` shows."""
SKEWED_FROM = 0.7
"""Above this spread of the logarithms of few values a limit is doubted; found with `make coverage-of-limits`."""
STEEP = 1.0
"""Above this spread of the logarithms Land's limit grows beyond use (common practice, no source)."""


@dataclass(frozen=True)
class Tested:
    """One distribution test: of which distribution, by which test, statistic, p (None: above 0.1), and whether it rejects."""

    distribution: str
    test: str
    statistic: float
    p: float | None
    rejects: bool

    @property
    def told(self) -> str:
        """The test in words."""
        p = "above 0.1" if self.p is None else f"{self.p:.2g}"
        return (
            f"{self.distribution} {'rejected' if self.rejects else 'not rejected'} by {self.test} ({self.statistic:.4g}, p {p})"
        )


@dataclass(frozen=True)
class Limit:
    """An estimate of the mean and its one-sided 95 % upper limit, in the unit of the values, how, and why so.

    ``instead``: the highest value or limit stands for the limit, since no mean can be bounded. ``ceiling``: where the
    limit is known to be too low for such values, what a level must reach for the answer not to stay open.
    """

    method: str
    estimate: float | None
    limit: float
    because: str
    warnings: tuple[str, ...] = ()
    instead: bool = False
    ceiling: float | None = None


def distributions(values: Sequence[float], seed: int = SEED) -> tuple[Tested, ...]:
    """Every distribution test that so many values allow, of the detected values alone; level 5 %.

    Nothing is rejected for lack of values: a test that needs more is left out.
    """
    positive = bool(values) and min(values) > 0
    made: list[Tested] = []
    for name, numbers in (("normal", list(values)), ("lognormal", [log(value) for value in values] if positive else [])):
        made += _normality(name, numbers)
    if positive:
        made += _try(
            "gamma", "Anderson-Darling", lambda: (lambda fit: (fit.statistic, fit.p))(anderson_darling_gamma(values, seed))
        )
    return tuple(made)


def _normality(name: str, values: Sequence[float]) -> Iterator[Tested]:
    def shapiro() -> tuple[float, float]:
        w, p = royston(values)
        return w.value, p

    if not values:
        return
    if len(values) <= MOST:
        yield from _try(name, "Shapiro-Wilk (Royston)", shapiro)
    yield from _try(name, "Lilliefors", lambda: (lambda fit: (fit.statistic, fit.p))(lilliefors(values)))
    yield from _try(name, "Anderson-Darling", lambda: (lambda fit: (fit.statistic, fit.p))(anderson_darling_normal(values)))


def _try(name: str, test: str, run: Callable[[], tuple[float, float | None]]) -> Iterator[Tested]:
    try:
        statistic, p = run()
    except Refused:
        return
    yield Tested(name, test, statistic, p, p is not None and p < ALPHA)


def fits(tested: Sequence[Tested], distribution: str) -> bool:
    """Whether the leading test of a distribution, the first made, was made and does not reject it."""
    made = [one for one in tested if one.distribution == distribution]
    return bool(made) and not made[0].rejects


def upper_limit(observed: Observed, tested: Sequence[Tested], lognormal_first: bool = False) -> Limit:
    """The limit that suits the values.

    Without non-detects: Student's t for normal values, the adjusted gamma limit, Land's for lognormal ones with a spread
    of the logarithms up to 1, else Chebyshev's. ``lognormal_first`` for a rule that takes values as lognormal unless
    shown otherwise. With up to half non-detects: product limit with Student's t or Chebyshev's factor. With more than
    half, or fewer than 4 detections, no mean is bounded: the highest value or limit stands instead. Fewer than 30 values
    whose logarithms spread by more than 0.7 get a ceiling. Needs 4 values; raises `Refused`.
    """
    need(observed.n, LEAST, "an upper confidence limit of the mean")
    hidden = len(observed.limits)
    if 2 * hidden > observed.n or len(observed.detects) < LEAST_DETECTS:
        why = f"{hidden} of {observed.n} are non-detects and {len(observed.detects)} detections are left"
        return Limit(
            "highest value or limit",
            None,
            max(observed.values),
            f"{why}: the highest value or limit is held against the level instead",
            instead=True,
        )
    if min(observed.values) == max(observed.values):
        return Limit("all values alike", mean(observed.values), max(observed.values), "all values are the same", _few(observed))
    if len(set(observed.detects)) == 1:
        return Limit(
            "highest value or limit", None, max(observed.values), "all detections are the same", _few(observed), instead=True
        )
    choose = _censored if hidden else _complete
    limit = _doubted(choose(observed, tested, lognormal_first), observed, tested)
    return replace(limit, warnings=(*_few(observed), *limit.warnings))


def _few(observed: Observed) -> tuple[str, ...]:
    said = []
    if observed.n < FEW:
        said.append(f"only {observed.n} values: distribution tests seldom reject, and the limit is not reliable")
    if observed.blind:
        said.append("some non-detects have limits above every detection and tell nothing")
    return tuple(said)


def _doubted(made: Limit, observed: Observed, tested: Sequence[Tested]) -> Limit:
    """The limit with its ceiling where the values are few and skewed."""
    if observed.n >= MANY or min(observed.values) <= 0:
        return made
    likely = lognormal_likelihood(observed)
    n = observed.n
    spread = likely.sd * sqrt(n / (n - 1))
    if spread <= SKEWED_FROM:
        return made
    if fits(tested, "lognormal"):
        ceiling = max(made.limit, exp(land_of_logs(likely.mean, spread, n)))
    else:
        curve = product_limit(observed)
        wide = chebyshev_upper(curve.mean("lowest"), curve.sd("mass_n_minus_1", "lowest"), n)
        ceiling = max(made.limit, wide) if fits(tested, "gamma") or fits(tested, "normal") else inf
    return replace(made, warnings=(SKEWED,), ceiling=ceiling)


def _complete(observed: Observed, tested: Sequence[Tested], lognormal_first: bool) -> Limit:
    values = observed.values
    spread = sd([log(value) for value in values]) if min(values) > 0 else 0.0
    order = ("lognormal", "normal", "gamma") if lognormal_first else ("normal", "gamma", "lognormal")
    for name in order:
        if not fits(tested, name) or (name == "lognormal" and spread > STEEP):
            continue
        because = f"{name} values are not rejected at 5 %"
        if name == "normal":
            return Limit("Student's t", mean(values), student_t(values), because)
        if name == "gamma":
            return Limit("adjusted gamma", mean(values), gamma_adjusted(fit_gamma(values)), because)
        return Limit("Land's H", mean(values), land(values), because)
    because = (
        f"lognormal values are not rejected, but the logarithms spread by {spread:.2f}, too far for Land's limit"
        if fits(tested, "lognormal") else "no distribution fits"
    )  # fmt: skip
    return Limit("Chebyshev", mean(values), chebyshev(values), because)


def _censored(observed: Observed, tested: Sequence[Tested], lognormal_first: bool) -> Limit:
    n = observed.n
    if lognormal_first and fits(tested, "lognormal") and min(observed.values) > 0:
        likely = lognormal_likelihood(observed)
        if likely.sd <= STEEP:
            limit = exp(land_of_logs(likely.mean, likely.sd, n))
            because = "lognormal detections are not rejected at 5 %; mean and spread of the logarithms by maximum likelihood"
            return Limit("Land's H after maximum likelihood", likely.lognormal_mean, limit, because)
    curve = product_limit(observed)
    centre, spread = curve.mean("lowest"), curve.sd("mass_n_minus_1", "lowest")
    convention = "mean and spread by the product limit (share below the lowest limit at that limit; divisor n - 1)"
    if fits(tested, "normal"):
        limit = t_upper(centre, spread, n)
        return Limit("product limit with Student's t", centre, limit, f"normal detections are not rejected at 5 %; {convention}")
    limit = chebyshev_upper(centre, spread, n)
    return Limit("product limit with Chebyshev's factor", centre, limit, f"normal detections are rejected at 5 %; {convention}")
