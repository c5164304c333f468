"""A refusal is one line, status 1, and a store that is byte for byte what it was."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest

from tests.conftest import Office

Contents = dict[str, list[tuple[Any, ...]]]


def bytes_of(database: Path) -> bytes:
    """The store as it lies on the disk, b"" where there is none."""
    if not database.is_file():
        return b""
    with database.open("rb") as store:
        return store.read()


def contents(database: Path) -> Contents:
    """Every row of every table of a store."""
    if not database.exists():
        return {}
    with duckdb.connect(database, read_only=True) as store:
        tables = [name for (name,) in store.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall()]
        return {name: store.execute(f"SELECT * FROM {name} ORDER BY ALL").fetchall() for name in tables}


@pytest.fixture
def office(office: Office) -> Office:
    """Each command opens the store for itself."""
    office.kept_open = False
    return office


@pytest.fixture
def refused(office: Any) -> Callable[..., str]:
    """Run a command that must be refused; returns its one line."""

    def run(*words: object, status: int = 1, watch: bool = True) -> str:
        before = bytes_of(office.database) if watch else b""
        files = sorted(path.name for path in office.folder.rglob("*"))
        said = office.run(*words)
        assert said.status == status, (said.status, said.error, said.document)
        assert said.document is None
        assert "Traceback" not in said.error
        assert said.error.startswith("screening: ")
        assert said.error.count("\n") == 1 and said.error.endswith("\n"), said.error
        assert sorted(path.name for path in office.folder.rglob("*")) == files
        if watch and bytes_of(office.database) != before:  # a table read anew may be laid out anew
            kept = office.folder / "before.duckdb"
            kept.write_bytes(before)
            assert contents(office.database) == contents(kept)
            kept.unlink()
        return str(said.error).removeprefix("screening: ").rstrip("\n")

    return run


@pytest.fixture
def filled(office: Office, begun: Office) -> Office:
    """An office with a site, one deliverable and one run, so that something could be spoiled."""
    return office.takes(begun)


@pytest.fixture(scope="session")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Office:
    """What `filled` begins with."""
    office = Office(tmp_path_factory.mktemp("begun"))
    office.plain_site(levels="us-oh/closure@2017-01-01")
    row = {"sample_id": "S1", "medium": "soil", "analyte": "Benzene", "result": "0.1", "unit": "mg/kg", "basis": "dry"}
    assert office.run("import", office.deliverable("good.csv", [row]), "--site", "one").status == 0
    assert office.run("screen", "--site", "one").status == 0
    return office
