"""The demo's contents and pictures, made once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from screening.decision.contents import Contents, contents_of
from screening.decision.demo import DAY, run_demo
from screening.outputs import pictures
from screening.store.database import opened


@pytest.fixture(scope="session")
def contents(tmp_path_factory: Any) -> Contents:
    """What the run of the demo holds."""
    folder: Path = tmp_path_factory.mktemp("demo")
    done = run_demo(folder)
    with opened(folder / "demo.duckdb") as connection:
        return contents_of(connection, done.answer["run"], DAY)


@pytest.fixture(scope="session")
def demo_pictures(contents: Contents) -> Mapping[str, str]:
    """Every picture of the demo as svg, by name."""
    return dict(pictures.drawn(contents))
