"""Exactly one value an analyte and sample, where dilutions, repeats or methods gave several."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

RULE = (
    "rejected values last; then values over the calibrated range (of those the most diluted first), late non-detects "
    "after timely ones; then the least diluted; then detections before non-detects; then the higher detection, the lower "
    "limit; then the last analysed"
)
"""The stated rule. A diluted run exists because the first went over range, so an in-range first run decides, and its
limits are the lower ones (common practice, no source)."""
LAST_RUN_RULE = "rejected values last; then the last analysed, then the highest run number"
ORDERS = {
    "default": """is_over_range, is_late,
        CASE WHEN is_over_range THEN -coalesce(dilution, 1) ELSE coalesce(dilution, 1) END,
        NOT detected, ranked_value DESC NULLS LAST, ranked_limit NULLS LAST, analysed_at DESC NULLS LAST""",
    "last_run": "analysed_at DESC NULLS LAST, TRY_CAST(run_no AS BIGINT) DESC NULLS LAST",
}

CHOSEN = """
CREATE OR REPLACE TEMP TABLE ranked AS
WITH marked AS (
    SELECT known.*, coalesce(CAST(sampled_at AS DATE), only_day) AS sampled_on,
        CASE WHEN d.row_id IS NULL THEN known.value ELSE d.value END AS ranked_value,
        CASE WHEN d.row_id IS NULL THEN known.nondetect_limit ELSE d.nondetect_limit END AS ranked_limit,
        ' ' || effects || ' ' LIKE '% rejected %' OR coalesce(v.qualifier = 'rejected', false) AS is_rejected,
        coalesce(v.late, false) AS is_late,  -- of a non-detect only
        (' ' || effects || ' ' LIKE '% over_range %' OR sign = '>') AS is_over_range
    FROM known
    LEFT JOIN dry AS d USING (row_id)
    LEFT JOIN reviewed AS v USING (row_id)
    LEFT JOIN sample_day USING (sample_id, sample_kind, location, medium)
    WHERE class = 'result'
)
SELECT *,
    row_number() OVER same AS rank,
    count(*) OVER (
        PARTITION BY sample_id, sample_kind, location, medium, sampled_on, depth_top, depth_bottom, depth_unit, analyte, fraction
    ) AS runs
FROM marked
WINDOW same AS (
    PARTITION BY sample_id, sample_kind, location, medium, sampled_on, depth_top, depth_bottom, depth_unit, analyte, fraction
    ORDER BY is_rejected, {order},
        run_no DESC, method, lab_sample_id, batch, lab, basis, lab_qualifiers, value_text, limit_text, reporting_limit,
        quantitation_limit, detection_limit, percent_solids, comment, row_id  -- content before the order of the file
)
"""


def rank(connection: duckdb.DuckDBPyConnection, rule: str = "default") -> None:
    """Rank the known results into the temporary table ``ranked``; rank 1 is the chosen value.

    Reads ``known``, ``sample_day``, ``dry`` and ``reviewed``; ``rule`` is a key of `ORDERS`. What was taken on two days
    under one number (a well by its name) is two samples; ``sampled_on`` tells them apart.
    """
    connection.execute(CHOSEN.format(order=ORDERS[rule]))


SWITCHED = """
SELECT a.sample_id, a.analyte, a.fraction, a.unit, a.detected, a.value_text, a.limit_text, b.detected, b.value_text, b.limit_text
FROM chosen_before AS a
JOIN ranked AS b ON b.rank = 1 AND b.sample_id = a.sample_id AND b.sample_kind = a.sample_kind AND b.location = a.location
    AND b.medium = a.medium AND b.analyte = a.analyte AND b.fraction = a.fraction
    AND b.depth_top IS NOT DISTINCT FROM a.depth_top AND b.depth_bottom IS NOT DISTINCT FROM a.depth_bottom
    AND b.depth_unit = a.depth_unit AND b.sampled_on IS NOT DISTINCT FROM a.sampled_on
WHERE b.row_id <> a.row_id ORDER BY ALL
"""


def switching(connection: duckdb.DuckDBPyConnection, rule: str) -> list[dict[str, str]]:
    """What the other rule would choose differently; ``ranked`` is left under the rule given."""
    connection.execute("CREATE OR REPLACE TEMP TABLE chosen_before AS SELECT * FROM ranked WHERE rank = 1 AND runs > 1")
    rank(connection, next(name for name in ORDERS if name != rule))
    rows = connection.execute(SWITCHED).fetchall()
    rank(connection, rule)
    return [
        {
            "sample_id": row[0], "analyte": row[1], "fraction": row[2], "unit": row[3],
            "chosen": row[5] if row[4] else f"<{row[6]}", "under_other_rule": row[8] if row[7] else f"<{row[9]}",
        }
        for row in rows
    ]  # fmt: skip


def why_not(
    row_over_range: bool, row_rejected: bool, row_dilution: object, chosen_dilution: object, *, late: bool = False
) -> str:
    """The reason why a value was not chosen, in words."""
    if row_rejected:
        return "not chosen: rejected"
    if row_over_range:
        return "not chosen: over the calibrated range, the diluted run stands for it"
    if late:
        return "not chosen: not detected and late, a timely analysis stands for it"
    if row_dilution != chosen_dilution:
        return "not chosen: the less diluted run is in range"
    return "not chosen: another analysis of the same sample stands for it"
