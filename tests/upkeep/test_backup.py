"""Backup and restore: nothing lost of what a killed program had finished, nothing replaced unasked, nothing half."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest

from screening.errors import Refused
from screening.store import backup
from screening.store.backup import back_up, restore
from screening.store.database import opened, write_ahead_file

KILLED = """
import os, signal, sys
from pathlib import Path
from screening.store.database import opened
with opened(Path(sys.argv[1])) as store:
    store.execute("INSERT INTO site_file VALUES ('late', 1, 'x', 'y', TIMESTAMP '2025-01-01')")
    os.kill(os.getpid(), signal.SIGKILL)
"""
Contents = dict[str, list[tuple[Any, ...]]]


def contents(path: Path) -> Contents:
    with duckdb.connect(path, read_only=True) as store:
        tables = [name for (name,) in store.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall()]
        return {name: store.execute(f'SELECT * FROM "{name}"').fetchall() for name in tables}


def files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


@pytest.fixture(scope="module")
def left_by_a_killed_program(whole: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a committed row that is in its write-ahead file alone."""
    path = tmp_path_factory.mktemp("killed") / "store.duckdb"
    shutil.copyfile(whole, path)
    done = subprocess.run([sys.executable, "-c", KILLED, str(path)], timeout=60)
    assert done.returncode == -signal.SIGKILL
    assert write_ahead_file(path).stat().st_size > 0
    return path


def copied(store: Path, folder: Path) -> Path:
    for path in (store, write_ahead_file(store)):
        if path.exists():
            shutil.copyfile(path, folder / path.name)
    return folder / store.name


def test_a_bare_copy_of_the_file_loses_what_a_backup_keeps(left_by_a_killed_program: Path, tmp_path: Path) -> None:
    bare = tmp_path / "bare.duckdb"
    shutil.copyfile(left_by_a_killed_program, bare)
    assert len(contents(bare)["site_file"]) == 1  # why the command is there at all
    store = copied(left_by_a_killed_program, tmp_path)
    made = back_up(store, tmp_path / "copy.duckdb")
    assert made["rows"]["site_file"] == 2
    assert contents(tmp_path / "copy.duckdb") == contents(store)
    assert files(tmp_path) == {"bare.duckdb", "store.duckdb", "copy.duckdb"}


def test_a_backup_is_the_store_row_by_row_and_in_order(busy: Any) -> None:
    made = busy.run("backup", busy.folder / "copy.duckdb")
    assert made.status == 0
    told = made.document["backup"]
    assert told["sha256"] == hashlib.sha256((busy.folder / "copy.duckdb").read_bytes()).hexdigest()
    assert told["bytes"] == (busy.folder / "copy.duckdb").stat().st_size
    kept = contents(busy.folder / "copy.duckdb")
    assert kept == contents(busy.database)
    assert told["rows"] == {table: len(rows) for table, rows in kept.items()}
    # what keeps rows single and columns filled is kept too
    with duckdb.connect(busy.folder / "copy.duckdb") as copy, pytest.raises(duckdb.ConstraintException):
        copy.execute("INSERT INTO run SELECT * FROM run")


def test_a_run_reproduces_after_restore(busy: Any) -> None:
    before = contents(busy.database)
    assert busy.run("backup", busy.folder / "copy.duckdb").status == 0
    with opened(busy.database) as store:
        store.execute("DELETE FROM result")
    restored = busy.run("restore", busy.folder / "copy.duckdb", "--force")
    assert restored.status == 0
    assert contents(busy.database) == before
    aside = Path(restored.document["restored"]["kept_aside"])
    assert aside.parent == busy.folder and contents(aside)["result"] == []
    run = busy.run("runs", "list").document["runs"][-1]["run"]
    assert busy.run("runs", "reproduce", run).document["identical"]


def test_nothing_is_replaced_unasked(busy: Any) -> None:
    there = busy.folder / "copy.duckdb"
    there.write_text("something else")
    before = contents(busy.database)
    said = busy.run("backup", there)
    assert said.status == 1 and "--force" in said.error and there.read_text() == "something else"
    assert busy.run("backup", there, "--force").status == 0 and contents(there) == before
    said = busy.run("restore", there)
    assert said.status == 1 and "--force" in said.error and "kept beside it" in said.error
    assert contents(busy.database) == before


def test_the_store_itself_is_no_backup(busy: Any) -> None:
    (busy.folder / "link.duckdb").symlink_to(busy.database)
    for name in ("test.duckdb", "link.duckdb"):
        assert "is the database itself" in busy.run("backup", busy.folder / name, "--force").error
        assert "is the database itself" in busy.run("restore", busy.folder / name, "--force").error
    assert contents(busy.database)["run"]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: path.write_bytes(b"x" * 9000), "is no database of this tool"),
        (lambda path: path.write_bytes(b""), "is no database of this tool"),
        (lambda path: duckdb.connect(path).execute("CREATE TABLE orders (id INTEGER)").close(), "of another program"),
        (lambda path: path.mkdir(), "no such backup"),
        (lambda path: None, "no such backup"),
    ],
    ids=["rubbish", "empty", "another program's", "a folder", "nothing"],
)
def test_what_is_no_backup_is_refused(busy: Any, make: Callable[[Path], object], words: str) -> None:
    make(busy.folder / "copy.duckdb")
    before, names = contents(busy.database), files(busy.folder)
    said = busy.run("restore", busy.folder / "copy.duckdb", "--force")
    assert said.status == 1 and words in said.error and said.error.count("\n") == 1
    assert contents(busy.database) == before and files(busy.folder) == names


def test_a_restore_into_an_empty_place(whole: Path, tmp_path: Path) -> None:
    made = restore(whole, tmp_path / "new.duckdb")
    assert made["kept_aside"] == "" and files(tmp_path) == {"new.duckdb"}
    assert contents(tmp_path / "new.duckdb") == contents(whole)


def test_a_raw_copy_with_its_write_ahead_file_restores_whole(left_by_a_killed_program: Path, tmp_path: Path) -> None:
    store = copied(left_by_a_killed_program, tmp_path)
    restore(store, tmp_path / "new.duckdb")
    assert len(contents(tmp_path / "new.duckdb")["site_file"]) == 2
    assert write_ahead_file(store).exists()  # the backup is only read


def test_the_store_that_was_there_is_kept_with_its_last_steps(
    left_by_a_killed_program: Path, whole: Path, tmp_path: Path
) -> None:
    store = copied(left_by_a_killed_program, tmp_path)
    aside = Path(restore(whole, store, force=True)["kept_aside"])
    assert len(contents(aside)["site_file"]) == 2 and len(contents(store)["site_file"]) == 1
    assert not write_ahead_file(store).exists()


def test_a_damaged_store_is_kept_with_its_write_ahead_file(left_by_a_killed_program: Path, whole: Path, tmp_path: Path) -> None:
    store = copied(left_by_a_killed_program, tmp_path)
    ahead = bytearray(write_ahead_file(store).read_bytes())
    ahead[len(ahead) // 2] ^= 0xFF
    write_ahead_file(store).write_bytes(ahead)
    with pytest.raises(Refused, match=r"write-ahead file store\.duckdb\.wal is damaged"), opened(store):
        pass
    aside = Path(restore(whole, store, force=True)["kept_aside"])
    assert write_ahead_file(aside).read_bytes() == ahead
    assert contents(store) == contents(whole)


def test_two_restores_keep_two_stores(busy: Any, whole: Path) -> None:
    first, second = (restore(whole, busy.database, force=True)["kept_aside"] for _ in range(2))
    assert first != second and contents(Path(first)) == contents(Path(second)) == contents(whole)


def test_a_copy_that_was_not_written_as_the_store_is_refused(busy: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that swallows rows: the copy is compared before it counts."""
    told = backup._contents

    def forgetful(connection: duckdb.DuckDBPyConnection, database: str) -> backup.Contents:
        found = told(connection, database)
        return {**found, "result": (0, "None")} if database != "test" else found

    monkeypatch.setattr(backup, "_contents", forgetful)
    said = busy.run("backup", busy.folder / "copy.duckdb")
    assert said.status == 1 and "table result was not written" in said.error
    assert files(busy.folder) == {"test.duckdb"}


def test_names_that_could_be_read_as_sql(whole: Path, tmp_path: Path) -> None:
    folder = tmp_path / "a'; DROP TABLE run; --"
    folder.mkdir()
    store = folder / "st\"or'e; x.duckdb"
    shutil.copyfile(whole, store)
    back_up(store, folder / "copy'\".duckdb")
    restore(folder / "copy'\".duckdb", folder / "new'.duckdb")
    assert contents(folder / "new'.duckdb") == contents(whole)


def test_no_temporary_file_is_left_by_a_stopped_backup(busy: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stopped)
    said = busy.run("backup", busy.folder / "copy.duckdb")
    assert said.status == 1 and "stopped" in said.error
    assert files(busy.folder) == {"test.duckdb"}
