"""Level tables kept in the store: users' own, and the text of every version that a run used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Protocol

from screening.errors import Altered
from screening.levels.versions import Standards
from screening.store.clock import now

if TYPE_CHECKING:
    import duckdb


class Used(Protocol):
    """A version named by its table, day and hash."""

    @property
    def table(self) -> str: ...
    @property
    def version(self) -> str: ...
    @property
    def sha256(self) -> str: ...


def keep(connection: duckdb.DuckDBPyConnection, standards: Standards, versions: Iterable[tuple[str, str]]) -> None:
    """Keep the text of the versions used, inside the caller's transaction, so that a run outlives the folder."""
    for table, effective in versions:
        version = standards.version(table, effective)
        if not connection.execute("SELECT 1 FROM level_text WHERE sha256 = ? AND NOT own", [version.sha256]).fetchone():
            _insert(connection, version.sha256, table, effective, standards.facts_text(table), version.text, own=False)


def add_own(connection: duckdb.DuckDBPyConnection, table: str, effective: str, sha256: str, facts: str, rows: str) -> None:
    """Add a user's own version of a table."""
    _insert(connection, sha256, table, effective, facts, rows, own=True)


def _insert(
    connection: duckdb.DuckDBPyConnection, sha256: str, table: str, effective: str, facts: str, rows: str, *, own: bool
) -> None:
    moment = now(connection)
    if own:  # the text added last counts, also where the clock was set back or the same text was added before
        last = connection.execute(
            "SELECT max(added_at) FROM level_text WHERE own AND level_table = ? AND effective = ?", [table, effective]
        ).fetchone()
        moment = max(moment, last[0] + dt.timedelta(microseconds=1)) if last and last[0] else moment
    connection.execute(
        "INSERT INTO level_text VALUES (?, ?, ?, ?, ?, ?, ?) "
        "ON CONFLICT DO UPDATE SET added_at = excluded.added_at WHERE excluded.own",
        [sha256, table, effective, facts, rows, own, moment],
    )


def own_texts(connection: duckdb.DuckDBPyConnection) -> dict[str, tuple[str, dict[str, str]]]:
    """Users' own tables: name -> (facts, {effective day: rows}); the last text added for a day counts."""
    found: dict[str, tuple[str, dict[str, str]]] = {}
    rows = connection.execute(
        "SELECT level_table, effective, facts, rows FROM level_text WHERE own ORDER BY added_at, sha256"
    ).fetchall()
    for table, effective, facts, text in rows:
        found[table] = (facts, {**found.get(table, ("", {}))[1], effective: text})
    return found


def kept_standards(connection: duckdb.DuckDBPyConnection, used: Iterable[Used]) -> Standards:
    """Just the versions that a run used, as they were then. Raises `Altered` where one is gone."""
    texts: dict[str, tuple[str, dict[str, str]]] = {}
    for item in used:
        row = connection.execute(
            "SELECT facts, rows FROM level_text WHERE sha256 = ? ORDER BY own LIMIT 1", [item.sha256]
        ).fetchone()
        if row is None:
            raise Altered(f"the text of {item.table}@{item.version}", item.sha256)
        texts[item.table] = (row[0], {**texts.get(item.table, ("", {}))[1], item.version: row[1]})
    return Standards([], texts)
