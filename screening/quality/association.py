"""Which results a quality-control row speaks for: those of its batch and method, or those of its day.

Batches are the same where their ids are, capitals and outer blanks aside, within one deliverable (and what revises it in
part) or one laboratory; an id like "1" of another laboratory's file is another batch. Where either row states no batch,
the row speaks for its whole deliverable. In the SQL made here ``q`` is the quality-control row and ``r`` the result.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import duckdb

KEYS = "delivery, lower(trim(batch)) AS batch_key, lower(trim(method)) AS method_key, lower(trim(lab)) AS lab_key"
"""What `WAYS_OF_BATCH` compares, made from the columns of ``known``."""
_LAB = "(q.lab_key = '' OR r.lab_key = '' OR r.lab_key = q.lab_key)"
_METHOD = "(q.method_key = '' OR r.method_key = '' OR r.method_key = q.method_key)"
WAYS_OF_BATCH = (
    f"q.batch_key <> '' AND r.batch_key = q.batch_key AND r.delivery = q.delivery AND {_LAB} AND {_METHOD}",
    f"q.batch_key <> '' AND r.batch_key = q.batch_key AND q.lab_key <> '' AND r.lab_key = q.lab_key AND {_METHOD}",
    f"r.delivery = q.delivery AND q.batch_key = '' AND {_LAB} AND {_METHOD}",
    f"r.delivery = q.delivery AND r.batch_key = '' AND {_LAB} AND {_METHOD}",
)
"""The ways in which q and r belong to one batch, each a condition that a join can hash, after what it asks of one side alone
has left few rows there: 'or' between the last two would join each row of a deliverable with each."""
WAYS_OF_DAY = (
    "r.day = q.day",
    "r.delivery = q.delivery AND q.day IS NULL",
    "r.delivery = q.delivery AND r.day IS NULL",
)
"""The ways in which q and r belong to one day; a moment that is not stated leaves the deliverable."""


def local_day(moment: str) -> str:
    """SQL of the day that the delivered clock showed, whichever offset from UTC it had."""
    known = f"{moment}_known"
    hours, minutes = (
        f"TRY_CAST(substr({known}, 1, 3) AS BIGINT)",
        f"TRY_CAST(substr({known}, 1, 1) || substr({known}, 5, 2) AS BIGINT)",
    )
    return f"CAST({moment} + to_minutes(coalesce({hours} * 60 + {minutes}, 0)) AS DATE)"


def paired(columns: str, ways: tuple[str, ...], more: str = "true") -> str:
    """SQL of the pairs of the tables ``q`` and ``r`` that belong together in one of the ways, each pair once."""
    return " UNION ".join(f"SELECT {columns} FROM q JOIN r ON {way} AND {more}" for way in ways)


OF_BATCH = f"""
WITH q AS (SELECT row_id, analyte, {KEYS} FROM known WHERE row_id IN (SELECT unnest($rows))),
r AS (
    SELECT row_id, sample_id, analyte, detected, {KEYS} FROM known WHERE class = 'result' AND analyte IN (SELECT analyte FROM q)
)
SELECT * FROM (
    {paired("q.row_id AS spoken_by, r.row_id AS row_id, r.sample_id AS sample_id, r.analyte, r.detected", WAYS_OF_BATCH, "q.analyte = r.analyte")}
)
ORDER BY spoken_by, row_id
"""
"""The results of the batch and analyte of each row: its id, then row_id, sample_id, analyte, detected."""
OF_PARENT = """
WITH q AS (
    SELECT row_id, analyte, unit, fraction, CASE WHEN parent_sample <> '' THEN parent_sample ELSE sample_id END AS parent,
        lower(trim(method)) AS method_key
    FROM known WHERE row_id IN (SELECT unnest($rows))
)
SELECT q.row_id AS spoken_by, r.row_id, r.sample_id, r.analyte, r.detected, CASE WHEN r.unit = q.unit THEN r.value END
FROM known AS r JOIN q ON r.sample_id = q.parent AND r.analyte = q.analyte AND r.fraction IN (q.fraction, '')
    AND (q.method_key = '' OR r.method = '' OR lower(trim(r.method)) = q.method_key)
WHERE r.class = 'result'
ORDER BY spoken_by, r.row_id
"""
"""The results of the spiked sample and analyte of each row, with their amount where the unit is that of the spike."""


def reached(connection: duckdb.DuckDBPyConnection, query: str, rows: Iterable[int]) -> dict[int, list[tuple[Any, ...]]]:
    """The results that each of the rows speaks for, by `OF_BATCH`, `OF_PARENT` or a query of their form."""
    found: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    ids = list(rows)
    for row_id, *result in connection.execute(query, {"rows": ids}).fetchall() if ids else []:
        found[row_id].append(tuple(result))
    return found


def samples_reached(connection: duckdb.DuckDBPyConnection, query: str, rows: Iterable[int]) -> set[str]:
    """The samples of all results that the rows speak for."""
    ids = list(rows)
    answer = connection.execute(f"SELECT DISTINCT sample_id FROM ({query})", {"rows": ids}).fetchall() if ids else []
    return {row[0] for row in answer}
