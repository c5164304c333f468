"""Modules stay small, and each says in one sentence what it is."""

from __future__ import annotations

import ast
import statistics
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "screening"
CODE = sorted(PACKAGE.rglob("*.py"))
LARGEST, MEDIAN = 500, 170


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def test_no_module_is_large() -> None:
    assert [str(path.relative_to(PACKAGE)) for path in CODE if _lines(path) > LARGEST] == []


def test_the_usual_module_is_small() -> None:
    assert statistics.median(_lines(path) for path in CODE if path.name != "__init__.py") <= MEDIAN


def test_every_module_says_what_it_is() -> None:
    """What stands first in a module is a text of its own."""
    silent = [path for path in CODE if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))]
    assert [str(path.relative_to(PACKAGE)) for path in silent] == []


def test_no_drawer_for_leftovers() -> None:
    drawers = {"util", "utils", "helpers", "helper", "misc", "tools", "base"}
    assert not [path for path in CODE if path.stem in drawers or path.parent.name in drawers]
