"""Which results a quality-control row speaks for: those of its batch and method, or those of its day.

Batches are the same where their ids are, capitals and outer blanks aside, within one deliverable (and what revises it in
part) or one laboratory; an id like "1" of another laboratory's file is another batch. Where either row states no batch,
the row speaks for its whole deliverable. In the SQL made here ``q`` is the quality-control row and ``r`` the result.
"""

from __future__ import annotations

KEYS = "delivery, lower(trim(batch)) AS batch_key, lower(trim(method)) AS method_key, lower(trim(lab)) AS lab_key"
"""What `WAYS_OF_BATCH` compares, made from the columns of ``known``."""
_LAB = "(q.lab_key = '' OR r.lab_key = '' OR r.lab_key = q.lab_key)"
_METHOD = "(q.method_key = '' OR r.method_key = '' OR r.method_key = q.method_key)"
WAYS_OF_BATCH = (
    f"q.batch_key <> '' AND r.batch_key = q.batch_key AND r.delivery = q.delivery AND {_LAB} AND {_METHOD}",
    f"q.batch_key <> '' AND r.batch_key = q.batch_key AND q.lab_key <> '' AND r.lab_key = q.lab_key AND {_METHOD}",
    f"r.delivery = q.delivery AND (q.batch_key = '' OR r.batch_key = '') AND {_LAB} AND {_METHOD}",
)
"""The ways in which q and r belong to one batch, each a condition that a join can hash."""
WAYS_OF_DAY = (
    "r.day = q.day",
    "r.delivery = q.delivery AND (q.day IS NULL OR r.day IS NULL)",
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
