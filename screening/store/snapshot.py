"""The data as known on a date: which deliverables, decisions and rows count, and a fingerprint of them."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

KNOWN = """
CREATE OR REPLACE TEMP TABLE known AS
WITH came AS (
    SELECT * FROM deliverable WHERE site = $site AND received <= $data_on
),
whole AS (  -- deliverables that none known by then replaces as a whole
    SELECT * FROM came AS d
    WHERE NOT EXISTS (SELECT 1 FROM came AS n WHERE n.replaces = d.id AND NOT n.replaces_only_contents)
)
SELECT r.*
FROM result AS r
JOIN whole AS d ON d.number = r.deliverable
LEFT JOIN decision AS c ON c.number = r.decision
WHERE (r.decision IS NULL OR CAST(c.made_at AS DATE) <= $data_on)
  AND NOT EXISTS (  -- a partial revision replaces only the values it contains
    SELECT 1 FROM came AS n JOIN result AS s ON s.deliverable = n.number
    WHERE n.replaces = d.id AND n.replaces_only_contents
      AND s.sample_id = r.sample_id AND s.sample_kind = r.sample_kind AND s.analyte = r.analyte AND s.fraction = r.fraction
  )
"""

WAITING = """
SELECT count(*) FROM held AS h JOIN deliverable AS d ON d.number = h.deliverable
WHERE d.site = $site AND d.received <= $data_on
  AND NOT EXISTS (SELECT 1 FROM deliverable AS n WHERE n.replaces = d.id AND NOT n.replaces_only_contents AND n.received <= $data_on)
  AND NOT EXISTS (
    SELECT 1 FROM decision AS c WHERE c.subject = h.id AND c.kind IN ('held_accepted', 'held_rejected')
      AND CAST(c.made_at AS DATE) <= $data_on
  )
"""

FOREVER = dt.date(9999, 12, 31)


@dataclass(frozen=True)
class Snapshot:
    """What was known: fingerprint, ids of the deliverables, and the number of rows still waiting for a person."""

    fingerprint: str
    deliverables: tuple[str, ...]
    waiting: int


def take(connection: duckdb.DuckDBPyConnection, site: str, data_on: dt.date | None) -> Snapshot:
    """Fill the temporary table ``known`` with the rows that count and describe them.

    The fingerprint covers the content of the files, how they were read, which replaces which, and the decisions;
    neither the order of import nor the clock of the machine enters.
    """
    asked = {"site": site, "data_on": data_on or FOREVER}
    connection.execute(KNOWN, asked)
    came = connection.execute(
        "SELECT id, coalesce(replaces, ''), replaces_only_contents FROM deliverable "
        "WHERE site = $site AND received <= $data_on ORDER BY id",
        asked,
    ).fetchall()
    acts = connection.execute(
        "SELECT kind, subject, by_whom, why, old_text, new_text FROM decision "
        "WHERE site = $site AND CAST(made_at AS DATE) <= $data_on ORDER BY number",
        asked,
    ).fetchall()
    waiting = connection.execute(WAITING, asked).fetchone()
    text = repr(came) + repr(acts)
    return Snapshot(
        hashlib.sha256(text.encode()).hexdigest(), tuple(row[0] for row in came), int(waiting[0]) if waiting else 0
    )
