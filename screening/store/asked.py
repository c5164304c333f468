"""Who asked for a run and when: a person's screen or a rescreen; the last screen of a person is the site's answer."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from screening.store.clock import now

if TYPE_CHECKING:
    import duckdb

How = Literal["screen", "rescreen"]
_FIRST = "SELECT run, min_by(how, number), min_by(software, number), max(asked_at) FROM run_asked"


@dataclass(frozen=True)
class Origin:
    """How a run came about first: by whom, with which version of the program ('': not told), and when it was asked last."""

    how: str
    software: str
    asked_at: dt.datetime


def note(connection: duckdb.DuckDBPyConnection, run: str, site: str, how: How, software: str, *, made: bool) -> None:
    """Note inside the caller's transaction that a run was asked for."""
    connection.execute(
        "INSERT INTO run_asked SELECT coalesce(max(number), 0) + 1, ?, ?, ?, ?, ?, ? FROM run_asked",
        [run, site, now(connection), how, software, made],
    )


def last_screened(connection: duckdb.DuckDBPyConnection, site: str) -> str | None:
    """The run that a person's last screen of the site gave; runs of rescreens are questions, not the site's answer."""
    row = connection.execute(
        "SELECT run FROM run_asked WHERE site = ? AND how = 'screen' ORDER BY number DESC LIMIT 1", [site]
    ).fetchone()
    return None if row is None else str(row[0])


def every_last_screened(connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """As `last_screened`, of every site that has one."""
    rows = connection.execute("SELECT site, max_by(run, number) FROM run_asked WHERE how = 'screen' GROUP BY site").fetchall()
    return dict(rows)


def origin(connection: duckdb.DuckDBPyConnection, run: str) -> Origin:
    """How a run came about first."""
    row = connection.execute(f"{_FIRST} WHERE run = ? GROUP BY run", [run]).fetchone()
    assert row is not None, f"run {run} was asked for by somebody"
    return Origin(*row[1:])


def origins(connection: duckdb.DuckDBPyConnection) -> dict[str, Origin]:
    """How each run came about first."""
    return {row[0]: Origin(*row[1:]) for row in connection.execute(f"{_FIRST} GROUP BY run").fetchall()}
