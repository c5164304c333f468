"""Stores that cannot be opened: absent, held by another process, written by another program or a newer one."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest

READING = [["screen", "--site", "one"], ["site", "list"], ["runs", "list"], ["results", "--site", "one"]]
HOLDER = "import sys, duckdb; held = duckdb.connect(sys.argv[1]); print('held', flush=True); sys.stdin.read()"


@pytest.mark.parametrize("words", [*READING, ["import", "good.csv", "--site", "one"]])
def test_no_database(office: Any, refused: Callable[..., str], words: list[str]) -> None:
    line = refused(*words)
    assert "there is no database" in line and "screening init" in line
    assert not office.database.exists()


def test_a_folder_that_does_not_exist(office: Any, refused: Callable[..., str]) -> None:
    office.database = office.folder / "nowhere" / "store.duckdb"
    assert "does not exist" in refused("init")


@pytest.fixture
def holder(filled: Any) -> Iterator[int]:
    """The process id of another process that has the store open."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(filled.database)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None and process.stdin is not None
    assert process.stdout.readline().strip() == "held"
    yield process.pid
    process.stdin.close()
    process.wait(timeout=20)
    process.stdout.close()


def test_a_store_held_by_another_process(filled: Any, refused: Callable[..., str], holder: int) -> None:
    for words in (["import", filled.folder / "good.csv", "--site", "one"], *READING):
        line = refused(*words, watch=False)
        assert f"process {holder} has the database open" in line


def test_the_store_is_free_again_afterwards(filled: Any) -> None:
    process = subprocess.run([sys.executable, "-c", HOLDER, str(filled.database)], input="", text=True, capture_output=True)
    assert process.stdout.strip() == "held"
    assert filled.run("screen", "--site", "one").status == 0


def test_a_newer_schema(filled: Any, refused: Callable[..., str]) -> None:
    with duckdb.connect(filled.database) as store:
        store.execute("INSERT INTO about VALUES (999)")
    for words in READING:
        line = refused(*words)
        assert "schema version 999" in line and "update the program" in line


def test_a_database_of_another_program(office: Any, refused: Callable[..., str]) -> None:
    with duckdb.connect(office.database) as store:
        store.execute("CREATE TABLE orders (id INTEGER)")
    for words in [*READING, ["init"]]:
        assert "of another program" in refused(*words)


@pytest.mark.parametrize("data", [b"sample_id,result\nS1,0.1\n", bytes(range(256)) * 64, b"x"], ids=["text", "rubbish", "a byte"])
def test_a_file_that_is_no_database(office: Any, refused: Callable[..., str], data: bytes) -> None:
    path: Path = office.database
    path.write_bytes(data)
    for words in READING:
        line = refused(*words, watch=False)
        assert path.name in line and "name another file with --database" in line
    assert path.read_bytes() == data


def test_a_database_of_another_kind(office: Any, refused: Callable[..., str]) -> None:
    with sqlite3.connect(office.database) as other:
        other.execute("CREATE TABLE orders (id INTEGER)")
    other.close()
    assert "is no database of this tool" in refused("site", "list", watch=False)


def test_a_folder_for_a_database(office: Any, refused: Callable[..., str]) -> None:
    office.database.mkdir()
    assert office.database.name in refused("site", "list", watch=False)


@pytest.mark.skipif(os.name == "nt", reason="permissions differ")
def test_the_program_itself_ends_in_one_line(filled: Any) -> None:
    words = [sys.executable, "-m", "screening", "--json", "--database", str(filled.database)]
    done = subprocess.run([*words, "import", "absent.csv", "--site", "one"], text=True, capture_output=True, timeout=60)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("screening: absent.csv") and done.stderr.count("\n") == 1
