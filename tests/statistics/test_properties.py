"""What must hold for any values: units do not matter, limits lie above the mean, undetected amounts add no knowledge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from screening.screen.statistics import limits
from screening.screen.statistics.gamma import fit_gamma, gamma_adjusted
from screening.screen.statistics.lognormal import land
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.order_statistics import complete
from screening.screen.statistics.product_limit import product_limit
from screening.screen.statistics.shares import Bounds, count_above, fewer_than_a_tenth, none_above_times, three_quarters
from screening.screen.statistics.trend import kendall_s

amounts = st.lists(st.integers(1, 500).map(lambda number: number / 10), min_size=6, max_size=25).filter(
    lambda values: len(set(values)) > 3
)
LIMITS: dict[str, Callable[[Sequence[float]], float]] = {
    "student_t": limits.student_t, "chebyshev": limits.chebyshev, "land": land,
    "gamma": lambda values: gamma_adjusted(fit_gamma(values)),
}  # fmt: skip


@pytest.mark.parametrize("name", LIMITS)
@settings(max_examples=25, deadline=None)
@given(values=amounts)
def test_a_limit_lies_above_the_mean_and_follows_the_unit(name: str, values: list[float]) -> None:
    found = LIMITS[name](values)
    assert found > mean(values) or name == "land"
    assert LIMITS[name]([1000 * value for value in values]) == pytest.approx(1000 * found, rel=1e-6)


@settings(max_examples=50, deadline=None)
@given(values=amounts)
def test_without_non_detects_every_estimator_is_the_plain_one(values: list[float]) -> None:
    observed = Observed.of(values)
    curve = product_limit(observed)
    assert curve.mean() == pytest.approx(mean(values)) and curve.sd("mass_n_minus_1") == pytest.approx(sd(values))
    assert curve.sd("error_root_n") == pytest.approx(curve.sd("mass_n"), rel=1e-6)
    assert complete(observed).values == pytest.approx(tuple(sorted(values)))


@settings(max_examples=50, deadline=None)
@given(values=amounts, edge=st.sampled_from([2.0, 10.0, 25.0]))
def test_the_truth_of_hidden_amounts_lies_between_the_two_leftovers(values: list[float], edge: float) -> None:
    """With one limit, the plain mean of the true amounts lies between leftover at 0 and at the limit."""
    hidden = [value < edge for value in values]
    assume(0 < sum(hidden) < len(values))
    curve = product_limit(Observed.of([max(value, edge) for value in values], hidden))
    assert curve.mean("zero") - 1e-9 <= mean(values) <= curve.mean("lowest") + 1e-9


@settings(max_examples=50, deadline=None)
@given(values=amounts)
def test_a_trend_turned_round_has_the_other_sign(values: list[float]) -> None:
    one, other = kendall_s(values), kendall_s(values[::-1])
    assert one.s == -other.s and one.p == pytest.approx(other.p) and 0 <= one.p <= 1


@settings(max_examples=80, deadline=None)
@given(
    found=st.lists(st.tuples(st.integers(0, 300), st.booleans()), min_size=1, max_size=20), level=st.integers(1, 100),
    shares=st.lists(st.integers(0, 100), min_size=20, max_size=20),
)  # fmt: skip
def test_what_is_decided_holds_wherever_the_truth_lies(found: list[tuple[int, bool]], level: int, shares: list[int]) -> None:
    """Any amounts between the bounds give the answer that was decided, and only open ones may go either way."""
    bounds = [Bounds(Decimal(0 if hidden else amount), Decimal(amount)) for amount, hidden in found]
    truth = [
        Bounds(at, at)
        for one, share in zip(bounds, shares, strict=False)
        for at in [one.lower + ((one.upper or one.lower) - one.lower) * share / 100]
    ]
    at = Decimal(level)
    for rule in (three_quarters, fewer_than_a_tenth, lambda some, level: none_above_times(some, level, 2)):
        decided = rule(bounds, at).met
        assert decided is None or rule(truth, at).met is decided
    counted = count_above(bounds, at, "above")
    assert counted.surely <= count_above(truth, at, "above").surely <= counted.perhaps
