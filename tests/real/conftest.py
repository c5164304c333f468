"""What the tests on real data share: one office a module, the saved layouts, and reading a csv as its lines."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

LAYOUTS = Path(__file__).resolve().parent / "layouts"

Lines = dict[int, dict[str, str]]


@pytest.fixture(scope="module")
def desk(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """An office (see the conftest above) that the tests of one module share: a big file is imported once."""
    office = next(plugin.Office for plugin in request.config.pluginmanager.get_plugins() if hasattr(plugin, "Office"))
    return office(tmp_path_factory.mktemp("desk"))


@pytest.fixture(scope="session")
def layout() -> Callable[[str], Path]:
    """The saved layout of this name."""
    return lambda name: LAYOUTS / f"{name}.toml"


@pytest.fixture(scope="session")
def lines() -> Callable[[Path], Lines]:
    """The records of a csv by the number that their line has in a spreadsheet (the header is 1)."""

    def read(path: Path) -> Lines:
        with path.open(newline="", encoding="utf-8") as file:
            return dict(enumerate(csv.DictReader(file), start=2))

    return read


@pytest.fixture(scope="session")
def balanced() -> Callable[[Mapping[str, int]], bool]:
    """Whether every row read is a result, quality control, held back or ignored."""
    return lambda rows: rows["read"] == sum(count for name, count in rows.items() if name != "read")
