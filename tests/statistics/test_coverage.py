"""The exact limits hold the true mean as often as they say, and Student's on skewed values does not: a short form of
`make coverage-of-limits`, whose every row has bounds."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

DRAWS = 400


@pytest.fixture(scope="module")
def coverage() -> ModuleType:
    path = Path(__file__).with_name("coverage_of_limits.py")
    spec = importlib.util.spec_from_file_location("coverage_of_limits", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("limit", ["Student's t", "Land", "gamma, adjusted"])
def test_a_limit_holds_where_it_is_meant_for_and_fails_where_not(coverage: ModuleType, limit: str) -> None:
    """0.033 is three standard errors of 400 draws about 95 %."""
    rows = [row for row in coverage.ROWS if row.limit == limit]
    assert {row.meant for row in rows} == {True, False}
    for row in rows:
        assert row.low - 0.033 <= row.covered(DRAWS) <= row.high + 0.033, row


def test_every_limit_has_a_row(coverage: ModuleType) -> None:
    assert {row.limit for row in coverage.ROWS} == set(coverage.LIMITS)
    assert all(row.high < 0.935 or row.low > 0.965 for row in coverage.ROWS if not row.meant)
