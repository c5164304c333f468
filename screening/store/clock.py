"""The moment that entries of the store are dated with: the machine's clock, unless that was set back."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from screening.errors import Refused

if TYPE_CHECKING:
    import duckdb

SLACK = dt.timedelta(minutes=10)
"""How far the clocks of the machines that share a store may differ; within it an entry is dated as the last one."""
FOUND_RIGHT = "clock_found_right"
ENTRIES = {
    "deliverable": "imported_at", "site_file": "added_at", "custody": "added_at", "decision": "made_at", "rule_text": "added_at",
    "review_text": "added_at", "run": "made_at", "run_asked": "asked_at", "rescreen": "begun_at",
}  # fmt: skip
"""What is dated, and in which column."""
PUT_RIGHT = f"SELECT made_at, CAST(old_text AS TIMESTAMP) FROM decision WHERE kind = '{FOUND_RIGHT}'"


def machine_clock() -> dt.datetime:
    """What the machine says: UTC, without a zone."""
    return dt.datetime.now(dt.UTC).replace(tzinfo=None)


def last_entry(connection: duckdb.DuckDBPyConnection) -> dt.datetime | None:
    """The latest moment of any entry, without those that a person found to be dated by a wrong clock."""
    wrong = [
        f"AND NOT (moment > TIMESTAMP '{made}' AND moment <= TIMESTAMP '{until}')"
        for made, until in connection.execute(PUT_RIGHT).fetchall()
    ]
    entries = " UNION ALL ".join(f"SELECT {moment} AS moment FROM {table}" for table, moment in ENTRIES.items())
    row = connection.execute(f"SELECT max(moment) FROM ({entries}) WHERE true {' '.join(wrong)}").fetchone()
    return row[0] if row else None


def now(connection: duckdb.DuckDBPyConnection) -> dt.datetime:
    """The moment of an entry made now (UTC), never before the last one.

    Raises `Refused` where the machine's clock stands more than `SLACK` before it: what was known on which day, and which
    of two entries is the later, would be lost.
    """
    machine, last = machine_clock(), last_entry(connection)
    if last is None or last <= machine:
        return machine
    if last - machine <= SLACK:
        return last
    raise Refused(
        f"the clock of this machine says {machine:%Y-%m-%d %H:%M} UTC, the last entry of the store is of {last:%Y-%m-%d %H:%M} UTC; "
        "set the clock right, then try again. Where the clock is right and that entry is dated wrongly, say "
        "'screening decisions clock-is-right --by NAME --why TEXT'"
    )
