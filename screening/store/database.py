"""Opening the store: one DuckDB file, one schema version, one writer at a time."""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, cast
from uuid import uuid4

from screening.errors import Refused
from screening.store.interrupts import interruptible, stop_if_dropped
from screening.store.parsed import Parsed
from screening.vocabulary.headings import FIELDS

if TYPE_CHECKING:
    import duckdb

SCHEMA_VERSION = 5
NEW_COLUMNS = (
    "ALTER TABLE held ADD COLUMN IF NOT EXISTS decision BIGINT",
    *(
        f"ALTER TABLE result ADD COLUMN IF NOT EXISTS {moment}_known VARCHAR"
        for moment in ("sampled_at", "received_at", "prepared_at", "analysed_at")
    ),
    *(f"ALTER TABLE delivered ADD COLUMN IF NOT EXISTS {field} VARCHAR DEFAULT ''" for field in FIELDS),
)
"""What a store of an earlier version lacks beside whole tables, which the schema adds where they are absent."""
FEW_BYTES = 32 * 1024**2
"""Below this size of a store its questions are answered by one thread: handing them to several takes longer."""
FEW_ROWS, ROW_BYTES = 5_000, 200
"""Up to so many delivered rows a question is answered as it is written: to look for a better way takes longer than the answer.

Both limits measured (`make bench`); a file that is to be brought in counts by its bytes, a row as ``ROW_BYTES``.
"""
SETTINGS = {"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"}
_IN_THE_MAKING = re.compile(r"\..+\.[0-9a-f]{32}(\.wal)?")
FILLED = (
    "INSERT INTO run_asked SELECT number, id, site, made_at, 'screen', '', true FROM run "
    "WHERE NOT EXISTS (SELECT 1 FROM run_asked)",
)
"""What the added tables hold of the time before them; without effect where it was done already."""


def schema_text() -> str:
    """The schema with one text column for each field of the normal form."""
    text = (resources.files("screening.store") / "schema.sql").read_text(encoding="utf-8")
    return text.replace("{delivered_fields}", ",\n    ".join(f"{field} VARCHAR NOT NULL" for field in FIELDS))


@contextmanager
def opened(path: Path, *, create: bool = False, coming: int = 0) -> Iterator[duckdb.DuckDBPyConnection]:
    """The store at ``path``, closed again at the end; ``coming`` are the bytes that are to be brought into it.

    Raises `Refused` where there is none (unless ``create``), where another process holds it (its process id is
    named), and where a newer or foreign program wrote it.
    """
    if not path.exists():
        if not create:
            raise Refused(f"{path}: there is no database; run 'screening init' or name one with --database")
        _create(path)
    connection = cast("duckdb.DuckDBPyConnection", Parsed(connected(path)))
    try:
        with interruptible(connection):
            _prepare(path, connection)
            _suit(connection, path.stat().st_size, coming)
            yield connection
    finally:
        connection.close()


def connected(path: Path, *, read_only: bool = False, told_as: Path | None = None) -> duckdb.DuckDBPyConnection:
    """A connection to a file whose content nobody has looked at yet.

    Raises `Refused` where it cannot be opened, naming it, or ``told_as`` for a file that is to take that one's place.
    """
    import duckdb

    try:
        return duckdb.connect(path.absolute(), read_only=read_only, config={**SETTINGS})
    except duckdb.Error as error:
        raise _refusal(told_as or path, str(error)) from error


def write_ahead_file(path: Path) -> Path:
    """The file beside a store that holds what a killed program had finished and not yet put into the store."""
    return path.with_name(f"{path.name}.wal")


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All that is written within, or after any fault nothing."""
    import duckdb

    connection.begin()
    try:
        yield
        stop_if_dropped()
        connection.commit()
    except BaseException:
        with contextlib.suppress(duckdb.Error):  # a commit that failed has ended the transaction itself
            connection.rollback()
        raise


def _create(path: Path) -> None:
    """Make an empty store beside the place and put it there whole, so that a killed program leaves none or a whole one."""
    if not path.parent.is_dir():
        raise Refused(f"{path}: the folder {path.parent} does not exist; make it first")
    if write_ahead_file(path).exists():
        raise Refused(
            f"{path}: there is no database, but the write-ahead file of one, {write_ahead_file(path).name}; bring back the "
            "database that belongs to it, or move that file away"
        )
    with in_the_making(path) as beside:
        connection = connected(beside, told_as=path)
        with contextlib.closing(connection), transaction(connection):
            connection.execute(schema_text())
            connection.execute("INSERT INTO about VALUES (?)", [SCHEMA_VERSION])
        if not path.exists():  # another process may have been quicker
            os.replace(beside, path)


@contextmanager
def in_the_making(path: Path) -> Iterator[Path]:
    """A name beside a store for the making of another one; what stands there in the end is taken away."""
    beside = path.with_name(f".{path.name}.{uuid4().hex}")
    try:
        yield beside
    finally:
        for left in (beside, write_ahead_file(beside)):
            with contextlib.suppress(OSError):
                left.unlink()


def left_behind(database: Path) -> list[str]:
    """Names of what killed programs left unfinished beside a store: copies and folders in the making, and work laid aside.

    Nothing reads them again. Of a program that is still at work they are the files it works in.
    """
    aside = f"{database.name}.tmp"
    try:
        return sorted(one.name for one in database.parent.iterdir() if one.name == aside or _IN_THE_MAKING.fullmatch(one.name))
    except OSError:
        return []


def _refusal(path: Path, message: str) -> Refused:
    holder = re.search(r"PID (\d+)", message)
    if holder:
        return Refused(f"{path}: process {holder[1]} has the database open; wait until it is done, then try again")
    if "WAL" in message:
        ahead = write_ahead_file(path).name
        return Refused(
            f"{path}: its write-ahead file {ahead} is damaged, which holds the last steps of a stopped program; copy both files "
            f"away, then restore a backup, or move {ahead} away to go on without those steps"
        )
    if "not a valid DuckDB database" in message or "checksum" in message.lower() or "extension" in message.lower():
        return Refused(f"{path}: is no database of this tool, or damaged; name another file with --database, or restore a backup")
    if "newer version" in message or "storage version" in message.lower():
        return Refused(f"{path}: was written by a newer version of the database library; update the tool")
    return Refused(f"{path}: cannot be opened ({message.splitlines()[0]}); check the folder's permissions and space")


def _suit(connection: duckdb.DuckDBPyConnection, size: int, coming: int) -> None:
    """Spare small stores what pays in large ones only. No answer hangs on it, which a test holds."""
    if size + coming < FEW_BYTES:
        connection.execute("SET threads = 1")
    rows = connection.execute("SELECT count(*) FROM delivered").fetchone()
    if rows and rows[0] + coming / ROW_BYTES < FEW_ROWS:
        connection.execute("PRAGMA disable_optimizer")


def _prepare(path: Path, connection: duckdb.DuckDBPyConnection) -> None:
    connection.execute("SET TimeZone = 'UTC'")
    version = version_of(path, connection)
    if version < SCHEMA_VERSION:
        _bring_up(connection)


def version_of(path: Path, connection: duckdb.DuckDBPyConnection) -> int:
    """The schema version of a store. Raises `Refused` for a database of another program or of a newer version."""
    import duckdb

    try:
        row = connection.execute("SELECT max(schema_version) FROM about").fetchone()
    except (duckdb.CatalogException, duckdb.BinderException) as error:
        raise Refused(f"{path}: is a database of another program; name another file with --database") from error
    version = row[0] if row else None
    if version is None or version > SCHEMA_VERSION:
        raise Refused(f"{path}: has schema version {version}, this program knows {SCHEMA_VERSION}; update the program")
    return int(version)


def _bring_up(connection: duckdb.DuckDBPyConnection) -> None:
    """Add what a store of an earlier version lacks; nothing that it holds is changed."""
    with transaction(connection):
        connection.execute(schema_text())
        for statement in (*NEW_COLUMNS, *FILLED):
            connection.execute(statement)
        connection.execute("INSERT INTO about VALUES (?)", [SCHEMA_VERSION])
