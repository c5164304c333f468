"""Overrides of the review: a named person says what a result is worth, and why; the automatic answer stays beside it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from screening.errors import Refused
from screening.store.database import transaction
from screening.store.ledger import Act, append_all

if TYPE_CHECKING:
    import duckdb

KIND = "review_override"
USABLE = "usable"
"""The word for a result that counts as delivered, whatever the review says."""

_ROWS = """
SELECT k.row_id, f.id, v.sheet, v.row, v.column_letter, k.sample_id, k.analyte, k.method, k.fraction
FROM known AS k JOIN delivered AS v USING (row_id) JOIN deliverable AS f ON f.number = k.deliverable
WHERE k.class = 'result' AND k.sample_id = $sample AND k.analyte = $analyte ORDER BY k.row_id
"""
_MADE = """
SELECT number, made_at, subject, by_whom, why, new_text FROM decision
WHERE kind = $kind AND list_contains($decisions, number) ORDER BY number
"""
_PLACE = """
SELECT k.row_id, k.sample_id, k.analyte FROM known AS k JOIN delivered AS v USING (row_id) JOIN deliverable AS f ON f.number = k.deliverable
WHERE f.id = ? AND v.sheet = ? AND v.row = ? AND v.column_letter = ?
"""


@dataclass(frozen=True)
class Override:
    """One override in force: the result's row id, the qualifier that stands now, who, when and why."""

    row_id: int
    sample_id: str
    analyte: str
    qualifier: str
    by_whom: str
    why: str
    made_at: datetime


def override(
    connection: duckdb.DuckDBPyConnection,
    site: str,
    sample: str,
    analyte: str,
    qualifier: str,
    automatic: dict[int, str],
    by_whom: str,
    why: str,
    row: int | None = None,
) -> list[int]:
    """Record the override of every result of a sample and analyte (or of the one that stands in ``row`` of its sheet).

    ``automatic`` maps row ids to what the review says now. Returns the row ids concerned. Reads ``known``. Raises
    `Refused` where there is no such result, without name or reason.
    """
    found = connection.execute(_ROWS, {"sample": sample, "analyte": analyte}).fetchall()
    if row is not None:
        found = [one for one in found if one[3] == row]
    if not found:
        where = f" in row {row}" if row is not None else ""
        raise Refused(f"site '{site}' has no result of {analyte} in sample '{sample}'{where}; 'screening results' lists them")
    acts = [
        Act(site, KIND, json.dumps(list(one[1:5]), ensure_ascii=False), automatic.get(one[0], "") or "no qualifier", qualifier)
        for one in found
    ]
    with transaction(connection):
        append_all(connection, acts, by_whom, why)
    return [one[0] for one in found]


def overrides_in_force(connection: duckdb.DuckDBPyConnection, decisions: Sequence[int]) -> list[Override]:
    """The last override of each result among the decisions known. Reads ``known``."""
    last = {
        subject: (made_at, by_whom, why, qualifier)
        for _, made_at, subject, by_whom, why, qualifier in connection.execute(
            _MADE, {"kind": KIND, "decisions": list(decisions)}
        ).fetchall()
    }
    made = []
    for subject, (made_at, by_whom, why, qualifier) in last.items():
        for row_id, sample, analyte in connection.execute(_PLACE, json.loads(subject)).fetchall():
            made.append(Override(row_id, sample, analyte, qualifier, by_whom, why, made_at))
    return made
