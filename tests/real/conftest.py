"""What the tests on real data share: the saved layouts, and reading a csv as its lines."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

LAYOUTS = Path(__file__).resolve().parent / "layouts"

Lines = dict[int, dict[str, str]]


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
