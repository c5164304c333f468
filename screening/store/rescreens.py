"""Rescreens kept: what was asked, and for each site the run before, the run made, or why there is none."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from screening.store.clock import now

if TYPE_CHECKING:
    import duckdb


def begin(connection: duckdb.DuckDBPyConnection, question: Mapping[str, Any], software: str) -> int:
    """Keep what is asked and return the number of the rescreen."""
    row = connection.execute(
        "INSERT INTO rescreen SELECT coalesce(max(number), 0) + 1, ?, ?, ? FROM rescreen RETURNING number",
        [now(connection), json.dumps(question, ensure_ascii=False, sort_keys=True), software],
    ).fetchone()
    assert row is not None
    return int(row[0])


def keep_sites(
    connection: duckdb.DuckDBPyConnection, rescreen: int, sites: Sequence[tuple[str, str | None, str | None, str]]
) -> None:  # fmt: skip
    """Keep what became of sites: site, run before, run, reason why there is none."""
    if sites:
        rows = [(rescreen, *one) for one in sites]
        connection.executemany("INSERT INTO rescreen_site VALUES (?, ?, ?, ?, ?)", rows)


def questions(connection: duckdb.DuckDBPyConnection) -> dict[str, list[str]]:
    """For each run the days of the levels of the rescreens that gave it, the oldest first."""
    found: dict[str, list[str]] = {}
    rows = connection.execute(
        "SELECT s.run, r.question FROM rescreen_site AS s JOIN rescreen AS r ON r.number = s.rescreen "
        "WHERE s.run IS NOT NULL ORDER BY r.number"
    ).fetchall()
    for run, question in rows:
        day = json.loads(question)["levels_on"]
        if day not in found.setdefault(run, []):
            found[run].append(day)
    return found
