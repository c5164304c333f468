"""How far blanks reach: detections whose analyte no blank reports, or of which a blank with a higher limit shows nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.quality.association import KEYS, paired
from screening.quality.findings import Checked
from screening.quality.shown import counted

if TYPE_CHECKING:
    import duckdb

_REACH = f"""
WITH q AS (
    SELECT DISTINCT analyte, unit, detected, value, nondetect_limit, {KEYS}, {{day}} AS day FROM known WHERE sample_kind = $kind
),
r AS (
    SELECT row_id, sample_id, analyte, unit, value, {KEYS}, {{day}} AS day
    FROM known WHERE class = 'result' AND detected AND unit IN ('mg/kg', 'ug/L')
),
pair AS ({{pairs}}),
best AS (
    SELECT row_id, max(CASE WHEN NOT alike THEN 0 WHEN nothing THEN 1 WHEN NOT shows THEN 2 ELSE 3 END) AS place
    FROM pair GROUP BY row_id
)
SELECT coalesce(b.place, -1) AS place, r.sample_id, count(*)
FROM r LEFT JOIN best AS b USING (row_id)
WHERE r.sample_id IN (SELECT unnest($samples))
GROUP BY ALL ORDER BY ALL
"""
_COLUMNS = (
    "r.row_id AS row_id, q.unit = r.unit AS alike, coalesce(q.value, q.nondetect_limit) IS NULL AS nothing, "
    "q.detected OR r.value IS NULL OR q.nondetect_limit <= r.value AS shows"
)
_WHY = {
    -1: "no {} of theirs reports the analyte",
    0: "the {} is reported in another unit",
    1: "the {} states neither an amount nor a limit",
    2: "the limit of the {} is higher, so it shows nothing of them",
}
_HELD = 3


def tell_reach(connection: duckdb.DuckDBPyConnection, kind: str, done: Checked, day: str, ways: tuple[str, ...]) -> None:
    """Tell, into ``done``, of which detections its blanks say nothing.

    A sample counts as checked in part where they say nothing of some of its detections, and as not checked where of none.
    That a trip, field or equipment blank leaves out an analyte is not told: it is asked for some of them alone.
    """
    pairs = paired(_COLUMNS, ways, "q.analyte = r.analyte")
    rows = connection.execute(_REACH.format(day=day, pairs=pairs), {"kind": kind, "samples": sorted(done.samples)}).fetchall()
    told = [row for row in rows if row[0] != -1 or kind == "method_blank"]
    held = {sample for place, sample, _ in told if place == _HELD}
    for place, why in _WHY.items():
        of_place = {sample: count for at, sample, count in told if at == place}
        if of_place:
            detections, samples = counted(sum(of_place.values()), "detection"), counted(len(of_place), "sample")
            done.not_checkable.append(f"{detections} in {samples}: {why.format(kind.replace('_', ' '))}")
            done.partly |= set(of_place) & held
            done.samples -= set(of_place) - held
