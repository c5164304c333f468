"""The data as known on a date: which deliverables, decisions and rows count, and a fingerprint of them."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screening.store.custody import records
from screening.store.sign_offs import KINDS as SPEAK_OF_RUNS

if TYPE_CHECKING:
    import duckdb

KNOWN = """
CREATE OR REPLACE TEMP TABLE known AS
WITH came AS (
    SELECT * FROM deliverable WHERE list_contains($deliverables, id)
),
whole AS (  -- deliverables that none of the others replaces as a whole, alone or together with what they revise in part
    SELECT d.*, coalesce(o.number, d.number) AS delivery  -- a partial revision belongs to what it revises
    FROM came AS d LEFT JOIN came AS o ON d.replaces_only_contents AND o.id = d.replaces
    WHERE NOT EXISTS (
        SELECT 1 FROM came AS n
        WHERE NOT n.replaces_only_contents
          AND (n.replaces = d.id OR (d.replaces_only_contents AND n.replaces = d.replaces AND n.number > d.number))
    )
)
SELECT {columns}, d.delivery
FROM result AS r
JOIN whole AS d ON d.number = r.deliverable
WHERE (r.decision IS NULL OR list_contains($decisions, r.decision))
"""
NOT_RENAMED = """
  AND NOT EXISTS (  -- taken under another name, or rejected, after a custody record or plan put its name in doubt
    SELECT 1 FROM held AS h JOIN decision AS c ON c.subject = h.id
    WHERE h.row_id = r.row_id AND h.field IN ('sample_id', 'location') AND c.kind IN ('held_accepted', 'held_rejected')
      AND c.number > coalesce(r.decision, 0) AND list_contains($decisions, c.number)
  )
"""
NOT_REPLACED = """
  AND NOT EXISTS (  -- a partial revision replaces only the values it contains
    SELECT 1 FROM came AS n JOIN result AS s ON s.deliverable = n.number
    WHERE n.replaces = d.id AND n.replaces_only_contents
      AND s.sample_id = r.sample_id AND s.sample_kind = r.sample_kind AND s.analyte = r.analyte AND s.fraction = r.fraction
      AND s.medium = r.medium AND (s.depth_top = r.depth_top OR s.depth_top IS NULL OR r.depth_top IS NULL)
      AND (CAST(s.sampled_at AS DATE) = CAST(r.sampled_at AS DATE) OR s.sampled_at IS NULL OR r.sampled_at IS NULL)
  )
"""

SAMPLE_DAY = """
CREATE OR REPLACE TEMP TABLE sample_day AS
SELECT sample_id, sample_kind, location, medium, min(CAST(sampled_at AS DATE)) AS only_day
FROM known
WHERE class = 'result'
GROUP BY ALL
HAVING count(DISTINCT CAST(sampled_at AS DATE)) = 1
"""
"""The day of a sample that was taken on one day only; it holds for its rows without a day as well."""

WAITING = """
SELECT h.id, d.file, v.sheet, v.row, v.sample_id, v.analyte, h.reason
FROM held AS h
JOIN deliverable AS d ON d.number = h.deliverable
JOIN delivered AS v ON v.row_id = h.row_id
WHERE list_contains($deliverables, d.id)
  AND (h.decision IS NULL OR list_contains($decisions, h.decision))
"""
OF_STANDING = """
  AND NOT EXISTS (
    SELECT 1 FROM deliverable AS n
    WHERE NOT n.replaces_only_contents AND list_contains($deliverables, n.id)
      AND (n.replaces = d.id OR (d.replaces_only_contents AND n.replaces = d.replaces AND n.number > d.number))
  )
"""
UNDECIDED = """
  AND NOT EXISTS (
    SELECT 1 FROM decision AS c
    WHERE c.subject = h.id AND c.kind IN ('held_accepted', 'held_rejected') AND list_contains($decisions, c.number)
  )
"""

FOREVER = dt.date(9999, 12, 31)
WARNING = "warning: "
"""How a stored note begins that is no assumption but a doubt; a screen tells it beside the recommendation."""


@dataclass(frozen=True)
class WaitingRow:
    """A held row that nobody had decided by then."""

    id: str
    file: str
    sheet: str
    row: int
    sample_id: str
    analyte: str
    reason: str


@dataclass(frozen=True)
class Snapshot:
    """What was known: the ids of the deliverables, the numbers of the decisions, the ids of the custody records."""

    deliverables: tuple[str, ...]
    decisions: tuple[int, ...]
    custody: tuple[str, ...] = ()


def known_on(connection: duckdb.DuckDBPyConnection, site: str, data_on: dt.date | None) -> Snapshot:
    """Deliverables and custody records received, decisions made up to the end of a day (UTC); None means up to now."""
    asked = [site, data_on or FOREVER]
    came = connection.execute("SELECT id FROM deliverable WHERE site = ? AND received <= ? ORDER BY id", asked).fetchall()
    made = connection.execute(
        "SELECT number FROM decision WHERE site = ? AND CAST(made_at AS DATE) <= ? AND NOT list_contains(?, kind) ORDER BY number",
        [*asked, list(SPEAK_OF_RUNS)],
    ).fetchall()
    return Snapshot(tuple(row[0] for row in came), tuple(row[0] for row in made), records(connection, site, data_on))


def load(connection: duckdb.DuckDBPyConnection, snapshot: Snapshot) -> list[WaitingRow]:
    """Fill the temporary tables ``known`` with the rows that count and ``sample_day``; return the rows that still wait."""
    take_in(connection, snapshot)
    connection.execute(SAMPLE_DAY)
    waiting = [WAITING]
    if snapshot.decisions:
        waiting.append(UNDECIDED)
    if len(snapshot.deliverables) > 1:
        waiting.append(OF_STANDING)
    rows = connection.execute("".join([*waiting, "ORDER BY d.id, v.row"]), _asked(snapshot)).fetchall()
    return [WaitingRow(*row) for row in rows]


def take_in(connection: duckdb.DuckDBPyConnection, snapshot: Snapshot, columns: Sequence[str] = ("*",)) -> None:
    """Fill ``known`` with these columns of the rows that count, and the delivery that each is of.

    One deliverable replaces nothing and without decisions nothing is decided: what only they could rule out is not asked.
    """
    known = [KNOWN.format(columns=", ".join(f"r.{name}" for name in columns))]
    if snapshot.decisions:
        known.append(NOT_RENAMED)
    if len(snapshot.deliverables) > 1:
        known.append(NOT_REPLACED)
    connection.execute("".join(known), _asked(snapshot))


def _asked(snapshot: Snapshot) -> dict[str, object]:
    return {"deliverables": list(snapshot.deliverables), "decisions": list(snapshot.decisions)}


def fingerprint(connection: duckdb.DuckDBPyConnection, snapshot: Snapshot) -> str:
    """A hash of the files' content, how they were read, which replaces which, the decisions and the custody records.

    Neither the order of import nor the clock of the machine enters, so two offices with the same files and
    decisions have the same fingerprint.
    """
    came = connection.execute(
        "SELECT id, coalesce(replaces, ''), replaces_only_contents FROM deliverable WHERE list_contains(?, id) ORDER BY id",
        [list(snapshot.deliverables)],
    ).fetchall()
    acts = connection.execute(
        "SELECT kind, subject, by_whom, why, old_text, new_text FROM decision WHERE list_contains(?, number) ORDER BY number",
        [list(snapshot.decisions)],
    ).fetchall()
    asked = connection.execute(
        "SELECT id, coalesce(replaces, '') FROM custody WHERE list_contains(?, id) ORDER BY id", [list(snapshot.custody)]
    ).fetchall()
    parts = (came, acts, asked) if asked else (came, acts)  # without custody records the hash is what it always was
    return hashlib.sha256(repr(parts).encode()).hexdigest()


def notes(connection: duckdb.DuckDBPyConnection, snapshot: Snapshot) -> tuple[list[str], list[str]]:
    """What was assumed, and what was doubted, when the deliverables were read; each with its file."""
    rows = connection.execute(
        "SELECT file, assumptions FROM deliverable WHERE list_contains(?, id) ORDER BY file, id", [list(snapshot.deliverables)]
    ).fetchall()
    told = [(file, note) for file, said in rows for note in said]
    assumed = [f"{file}: {note}" for file, note in told if not note.startswith(WARNING)]
    return assumed, [f"{file}: {note.removeprefix(WARNING)}" for file, note in told if note.startswith(WARNING)]
