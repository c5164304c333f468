"""Modules stay small, and each says in one sentence what it is."""

from __future__ import annotations

import ast
import statistics
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "screening"
CODE = sorted(PACKAGE.rglob("*.py"))
LARGEST, MEDIAN = 500, 170


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize("path", CODE, ids=[str(path.relative_to(PACKAGE)) for path in CODE])
def test_no_module_is_large(path: Path) -> None:
    assert _lines(path) <= LARGEST


def test_the_usual_module_is_small() -> None:
    assert statistics.median(_lines(path) for path in CODE if path.name != "__init__.py") <= MEDIAN


@pytest.mark.parametrize("path", CODE, ids=[str(path.relative_to(PACKAGE)) for path in CODE])
def test_every_module_says_what_it_is(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


def test_no_drawer_for_leftovers() -> None:
    drawers = {"util", "utils", "helpers", "helper", "misc", "tools", "base"}
    assert not [path for path in CODE if path.stem in drawers or path.parent.name in drawers]
