"""A store with everything in it (kept by tests/upgrades), and the command line on a copy of it."""

from __future__ import annotations

import lzma
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest

from screening.store.database import SCHEMA_VERSION, opened

KEPT = Path(__file__).resolve().parents[1] / "upgrades" / "kept" / f"schema-{SCHEMA_VERSION}.duckdb.xz"


@pytest.fixture(scope="session")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound store: deliverables, held rows and answers, a revision, custody, own levels, runs, a rescreen, a sign-off."""
    path = tmp_path_factory.mktemp("whole") / "store.duckdb"
    path.write_bytes(lzma.decompress(KEPT.read_bytes()))
    return path


@pytest.fixture
def busy(office: Any, whole: Path) -> Any:
    """An office whose store is a copy of that one."""
    shutil.copyfile(whole, office.database)
    return office


@pytest.fixture(scope="module")
def connection(whole: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the sound store; a test damages it in a transaction that is rolled back."""
    with opened(whole) as made:
        yield made


@pytest.fixture
def damaged(connection: duckdb.DuckDBPyConnection) -> Iterator[duckdb.DuckDBPyConnection]:
    """The same, in a transaction."""
    connection.begin()
    yield connection
    connection.rollback()
