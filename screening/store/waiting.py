"""Rows that nobody has decided yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

OPEN_ROWS = """
SELECT h.id, h.row_id, h.deliverable, d.site, d.file, r.sheet, r.row, r.column_letter, h.field, h.text, h.reason, h.proposal
FROM held AS h
JOIN deliverable AS d ON d.number = h.deliverable
JOIN delivered AS r ON r.row_id = h.row_id
WHERE NOT EXISTS (SELECT 1 FROM decision AS c WHERE c.subject = h.id AND c.kind IN ('held_accepted', 'held_rejected'))
"""


@dataclass(frozen=True)
class Held:
    """One row that waits: where it stands in which file, the text at fault, why, and what is proposed."""

    id: str
    row_id: int
    deliverable: int
    site: str
    file: str
    sheet: str
    row: int
    column: str
    field: str
    text: str
    reason: str
    proposal: str


def waiting(connection: duckdb.DuckDBPyConnection, site: str) -> list[Held]:
    """The rows of a site that nobody has decided yet, in the order of the files."""
    rows = connection.execute(OPEN_ROWS + " AND d.site = ? ORDER BY h.row_id", [site]).fetchall()
    return [Held(*row) for row in rows]
