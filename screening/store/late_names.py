"""Rows taken over before a custody record or plan came that has a name near theirs: they wait, and are compared with nothing.

Worked out from what a snapshot knows, so that runs made before the record came stay as they are. Reads the temporary
table ``known`` (see `screening.store.snapshot`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.site.site_file import SiteFile
from screening.store.sample_check import Names, Question, expected_by
from screening.store.snapshot import Snapshot, WaitingRow
from screening.store.waiting import Held

if TYPE_CHECKING:
    import duckdb

OF_FIELD = "k.class = 'result' AND k.sample_kind IN ('field', 'field_duplicate')"
SAMPLES = f"""
SELECT DISTINCT k.sample_id, k.location FROM known AS k
WHERE {OF_FIELD} AND NOT (k.sample_kind = 'field_duplicate' AND list_contains($names, k.parent_sample)) ORDER BY ALL
"""
ROWS = f"""
SELECT d.id || '-' || CAST(k.row_id - f.first + 1 AS VARCHAR)
        || (CASE WHEN n.questions > 0 THEN '.' || CAST(n.questions + 1 AS VARCHAR) ELSE '' END),
    k.row_id, d.number, d.site, d.file, v.sheet, v.row, v.column_letter, v.sample_id, v.location, k.sample_id, k.analyte
FROM known AS k
JOIN deliverable AS d ON d.number = k.deliverable
JOIN delivered AS v ON v.row_id = k.row_id
JOIN (SELECT deliverable, min(row_id) AS first FROM delivered GROUP BY deliverable) AS f ON f.deliverable = k.deliverable
LEFT JOIN (
    SELECT row_id, count(*) AS questions FROM held WHERE decision IS NULL OR list_contains($decisions, decision) GROUP BY row_id
) AS n ON n.row_id = k.row_id
WHERE {OF_FIELD} AND k.sample_id = $sample AND k.location = $location
ORDER BY k.row_id
"""
PLACE = ("id", "row_id", "deliverable", "site", "file", "sheet", "row", "column")


@dataclass(frozen=True)
class LateRow(Held):
    """One such row, as a held row is shown, with the sample and analyte it was taken as."""

    sample_id: str
    analyte: str


def late_rows(connection: duckdb.DuckDBPyConnection, site: SiteFile, snapshot: Snapshot) -> list[LateRow]:
    """The rows of ``known`` whose sample is no known name but near one on the records and plan of the snapshot."""
    expected = expected_by(connection, site, snapshot.custody, snapshot.decisions)
    if not expected.names:
        return []
    found = []
    names = Names(expected)
    for sample, location in connection.execute(SAMPLES, {"names": list(expected.names)}).fetchall():
        asked = names.question(sample, location, sample, learn=False)  # two names both taken before are two samples
        if {*asked.proposal.split(" | ")} - {"", *expected.accepted_only}:
            given = {"sample": sample, "location": location, "decisions": list(snapshot.decisions)}
            found += [_late(row, asked) for row in connection.execute(ROWS, given).fetchall()]
    return found


def _late(row: tuple[Any, ...], asked: Question) -> LateRow:
    *place, delivered_sample, delivered_location, sample, analyte = row
    by_location = delivered_location and (asked.held_field == "location" or not delivered_sample)
    field, text = ("location", delivered_location) if by_location else ("sample_id", delivered_sample)
    reason = f"{asked.reason} (taken over before that was known)"
    at = dict(zip(PLACE, place, strict=True))
    return LateRow(**at, field=field, text=text, reason=reason, proposal=asked.proposal, sample_id=sample, analyte=analyte)


def take_out(connection: duckdb.DuckDBPyConnection, late: Sequence[LateRow]) -> list[WaitingRow]:
    """Take such rows out of ``known``; they wait like any held row."""
    if late:
        connection.execute("DELETE FROM known WHERE list_contains(?, row_id)", [[row.row_id for row in late]])
    return [WaitingRow(row.id, row.file, row.sheet, row.row, row.sample_id, row.analyte, row.reason) for row in late]
