"""What the property tests share: one reproducible profile, new sites in one store, outcomes without their place."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tests.conftest import Office

settings.register_profile(
    "house",
    derandomize=True,
    deadline=None,
    max_examples=100,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
settings.load_profile("house")


@pytest.fixture
def new_site(office: Any) -> Callable[[], str]:
    """The id of a new site each time, all in the store of one test (a store for each example takes too long)."""
    numbers = itertools.count()

    def make() -> str:
        identity = f"site-{next(numbers)}"
        assert office.plain_site(identity, more='[conditions]\nsoil_class = "1"\n').status == 0
        return identity

    return make


@pytest.fixture
def outcomes() -> Callable[[Mapping[str, Any]], list[tuple[Any, ...]]]:
    """The outcomes of an answer in a fixed order, without the cell they came from."""

    def of(answer: Mapping[str, Any]) -> list[tuple[Any, ...]]:
        return sorted(
            (
                item["sample_id"], item["sample_kind"], item["medium"], item["analyte"], item["table"], item["outcome"],
                item["detected"], str(item["value"]), str(item["limit"]), str(item["level"]), item["because"],
            )
            for item in answer["outcomes"]
        )  # fmt: skip

    return of


@pytest.fixture
def office(office: Office) -> Office:
    """Nothing here hangs on the review of quality."""
    office.reviewed = False
    return office
