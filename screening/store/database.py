"""Opening the store: one DuckDB file, one schema version, one writer at a time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from screening.errors import Refused
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
def opened(path: Path, *, create: bool = False) -> Iterator[duckdb.DuckDBPyConnection]:
    """The store at ``path``, closed again at the end.

    Raises `Refused` where there is none (unless ``create``), where another process holds it (its process id is
    named), and where a newer or foreign program wrote it.
    """
    import duckdb

    fresh = not path.exists()
    if fresh and not create:
        raise Refused(f"{path}: there is no database; run 'screening init' or name one with --database")
    if fresh and not path.parent.is_dir():
        raise Refused(f"{path}: the folder {path.parent} does not exist; make it first")
    try:
        connection = duckdb.connect(path, config={"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"})
    except (duckdb.IOException, duckdb.CatalogException, duckdb.BinderException) as error:
        raise _refusal(path, str(error)) from error
    try:
        _prepare(path, connection, fresh)
        yield connection
    finally:
        connection.close()


def _refusal(path: Path, message: str) -> Refused:
    holder = re.search(r"PID (\d+)", message)
    if holder:
        return Refused(f"{path}: process {holder[1]} has the database open; wait until it is done, then try again")
    if "not a valid DuckDB database" in message or "checksum" in message.lower() or "extension" in message.lower():
        return Refused(f"{path}: is no database of this tool; name another file with --database")
    if "newer version" in message or "storage version" in message.lower():
        return Refused(f"{path}: was written by a newer version of the database library; update the tool")
    return Refused(f"{path}: cannot be opened ({message.splitlines()[0]}); check the folder's permissions")


def _prepare(path: Path, connection: duckdb.DuckDBPyConnection, fresh: bool) -> None:
    connection.execute("SET TimeZone = 'UTC'")
    if fresh:
        connection.begin()
        connection.execute(schema_text())
        connection.execute("INSERT INTO about VALUES (?)", [SCHEMA_VERSION])
        connection.commit()
        return
    tables = {name for (name,) in connection.execute("SELECT table_name FROM duckdb_tables()").fetchall()}
    if "about" not in tables:
        raise Refused(f"{path}: is a database of another program; name another file with --database")
    row = connection.execute("SELECT max(schema_version) FROM about").fetchone()
    version = row[0] if row else None
    if version is None or version > SCHEMA_VERSION:
        raise Refused(f"{path}: has schema version {version}, this program knows {SCHEMA_VERSION}; update the program")
    if version < SCHEMA_VERSION:
        _bring_up(connection)


def _bring_up(connection: duckdb.DuckDBPyConnection) -> None:
    """Add what a store of an earlier version lacks; nothing that it holds is changed."""
    connection.begin()
    connection.execute(schema_text())
    for statement in (*NEW_COLUMNS, *FILLED):
        connection.execute(statement)
    connection.execute("INSERT INTO about VALUES (?)", [SCHEMA_VERSION])
    connection.commit()
