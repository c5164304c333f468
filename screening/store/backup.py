"""A copy of the store that is whole by itself, and the way back from one."""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screening.errors import Refused
from screening.store.database import connected, in_the_making, opened, version_of, write_ahead_file

if TYPE_CHECKING:
    import duckdb

Contents = dict[str, tuple[int, str]]
"""Of each table the number of its rows and a hash of all that they hold."""


def back_up(database: Path, file: Path, *, force: bool = False) -> dict[str, Any]:
    """Copy the store as it stands into ``file``, which needs no other file beside it.

    The copy is made in one snapshot, opened again and compared with the store row by row before it takes its place.
    Returns file, bytes, SHA-256 of the file, schema version and rows of each table. Raises `Refused` where ``file`` is
    there (unless ``force``), is the store itself, or cannot be written.
    """
    if file.is_dir():
        raise Refused(f"{file}: is a folder; name the file of the backup in it")
    if file.exists() and database.exists() and os.path.samefile(file, database):
        raise Refused(f"{file}: is the database itself; name another file for the backup")
    if file.exists() and not force:
        raise Refused(f"{file}: is there already; name another file, or say --force to replace it")
    if not file.parent.is_dir():
        raise Refused(f"{file}: the folder {file.parent} does not exist; make it first")
    with opened(database) as connection, in_the_making(file) as copy:
        connection.execute("CHECKPOINT")
        version, contents = version_of(database, connection), _copied(connection, copy)
        os.replace(copy, file)
        _kept_on_disk(file)
    with file.open("rb") as written:
        digest = hashlib.file_digest(written, "sha256").hexdigest()
    return {
        "database": str(database), "file": str(file), "bytes": file.stat().st_size, "sha256": digest, "schema_version": version,
        "rows": {table: rows for table, (rows, _) in contents.items()},
    }  # fmt: skip


def restore(file: Path, database: Path, *, force: bool = False) -> dict[str, Any]:
    """Put the store back as a backup holds it; the store that was there is kept beside it under a name that tells the day.

    Raises `Refused` where ``file`` is no store, where a store is there (unless ``force``), or another process holds it.
    """
    if not file.is_file():
        raise Refused(f"{file}: there is no such backup; check the name and the folder")
    if database.exists() and os.path.samefile(file, database):
        raise Refused(f"{file}: is the database itself; name the backup")
    if database.exists() and not force:
        raise Refused(f"{database}: is there already; say --force to put the backup in its place, the old one is kept beside it")
    if not database.parent.is_dir():
        raise Refused(f"{database}: the folder {database.parent} does not exist; make it first")
    with in_the_making(database) as copy:
        with contextlib.closing(connected(file, read_only=True)) as source:
            version, contents = version_of(file, source), _copied(source, copy)
        aside = _set_aside(database)
        os.replace(copy, database)
        _kept_on_disk(database)
    return {
        "database": str(database), "file": str(file), "kept_aside": str(aside) if aside else "", "schema_version": version,
        "rows": {table: rows for table, (rows, _) in contents.items()},
    }  # fmt: skip


def _copied(connection: duckdb.DuckDBPyConnection, copy: Path) -> Contents:
    """Copy all that a connection shows into a new file, and read that file again."""
    name = _one(connection, "SELECT current_database()")
    connection.execute("SET threads = 1")  # so that the rows keep their order
    connection.execute(f"ATTACH {_text(str(copy.absolute()))} AS copy_of_the_store (READ_WRITE)")
    connection.begin()
    connection.execute(f"COPY FROM DATABASE {_name(name)} TO copy_of_the_store")
    contents = _contents(connection, name)
    connection.commit()
    connection.execute("DETACH copy_of_the_store")
    with contextlib.closing(connected(copy, read_only=True)) as again:
        found = _contents(again, _one(again, "SELECT current_database()"))
    if found != contents:
        table = next(table for table in contents if found.get(table) != contents[table])
        raise Refused(f"{copy}: table {table} was not written as it is in the store; check the disk, nothing was replaced")
    _kept_on_disk(copy)
    return contents


def _contents(connection: duckdb.DuckDBPyConnection, database: str) -> Contents:
    tables = connection.execute(
        "SELECT table_name FROM duckdb_tables() WHERE database_name = ? AND NOT temporary ORDER BY table_name", [database]
    ).fetchall()
    found = {}
    for (table,) in tables:
        row = connection.execute(
            f"SELECT count(*), sum(hash(kept)) FROM {_name(database)}.main.{_name(table)} AS kept"
        ).fetchone()
        assert row is not None
        found[table] = (int(row[0]), str(row[1]))
    return found


def _set_aside(database: Path) -> Path | None:
    """Keep the store that is there under another name, with its write-ahead file where that is not yet taken over."""
    ahead = write_ahead_file(database)
    if not database.exists() and not ahead.exists():
        return None
    moment = dt.datetime.now(dt.UTC)
    aside = database.with_name(f"{database.stem}.before-restore-{moment:%Y%m%dT%H%M%S%f}{database.suffix}")
    if database.exists():
        try:
            connected(database).close()  # takes the write-ahead file over, and is refused where another process is at work
        except Refused as error:
            if "has the database open" in str(error):
                raise
        _named_too(database, aside)
    if ahead.exists():
        os.replace(ahead, write_ahead_file(aside))
    return aside


def _named_too(file: Path, other: Path) -> None:
    """Give a file a second name, so that its place is never empty; or its only other name where a disk knows no second ones."""
    try:
        os.link(file, other)
    except FileExistsError:
        raise
    except OSError:
        os.replace(file, other)


def _kept_on_disk(file: Path) -> None:
    for path in (file, file.parent):
        number = os.open(path, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)


def _one(connection: duckdb.DuckDBPyConnection, query: str) -> str:
    row = connection.execute(query).fetchone()
    assert row is not None
    return str(row[0])


def _name(identifier: str) -> str:
    return '"' + identifier.replace('"', '""') + '"'


def _text(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
