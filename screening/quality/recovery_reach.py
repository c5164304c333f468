"""How far control samples and spikes reach: results whose analyte none of theirs holds, or whose limits are not known."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from screening.quality.association import KEYS, WAYS_OF_BATCH, paired
from screening.quality.findings import Checked
from screening.quality.shown import counted

if TYPE_CHECKING:
    import duckdb

_REACH = f"""
WITH q AS (
    SELECT DISTINCT analyte, row_id IN (SELECT unnest($bounded)) AS bounded, {KEYS}
    FROM known WHERE row_id IN (SELECT unnest($read))
),
r AS (
    SELECT DISTINCT sample_id, analyte, {KEYS} FROM known WHERE class = 'result' AND unit IN ('mg/kg', 'ug/L')
),
pair AS ({paired("r.sample_id, r.analyte, q.bounded", WAYS_OF_BATCH, "q.analyte = r.analyte")})
SELECT r.sample_id, count(DISTINCT r.analyte), count(DISTINCT p.analyte), count(DISTINCT p.analyte) FILTER (p.bounded)
FROM r LEFT JOIN pair AS p ON p.sample_id = r.sample_id AND p.analyte = r.analyte
GROUP BY r.sample_id ORDER BY r.sample_id
"""


def tell_reach(
    connection: duckdb.DuckDBPyConnection, done: Checked, words: str, read: Collection[int], bounded: Collection[int]
) -> None:
    """Fill, into ``done``, the samples that recoveries speak for, wholly or in part; tell for which analytes none does.

    ``read`` are the ids of the rows whose recovery can be read, ``bounded`` those of them with both limits known.
    """
    if not read:
        return
    rows = connection.execute(_REACH, {"read": sorted(read), "bounded": sorted(bounded)}).fetchall()
    alone, lacking = 0, set[str]()
    for sample, analytes, found, limited in rows:
        if not found:
            continue
        done.samples.add(sample)
        if limited < analytes:
            done.partly.add(sample)
        if found < analytes:
            alone, lacking = alone + analytes - found, lacking | {sample}
    if alone:
        done.not_checkable.append(
            f"{counted(alone, 'result')} of {counted(len(lacking), 'sample')}: no {words} of theirs holds the analyte"
        )
