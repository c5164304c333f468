"""Exactly one value an analyte and sample, where dilutions, repeats or methods gave several."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

RULE = (
    "rejected values last; then values over the calibrated range (of those the most diluted first); then the least "
    "diluted; then detections before non-detects; then the higher detection, the lower limit; then the last analysed"
)
"""The stated rule. A diluted run exists because the first went over range, so an in-range first run decides, and its
limits are the lower ones (common practice, no source)."""

CHOSEN = """
CREATE OR REPLACE TEMP TABLE ranked AS
WITH marked AS (
    SELECT known.*,
        CASE WHEN d.row_id IS NULL THEN known.value ELSE d.value END AS ranked_value,
        CASE WHEN d.row_id IS NULL THEN known.nondetect_limit ELSE d.nondetect_limit END AS ranked_limit,
        ' ' || effects || ' ' LIKE '% rejected %' AS is_rejected,
        (' ' || effects || ' ' LIKE '% over_range %' OR sign = '>') AS is_over_range
    FROM known
    LEFT JOIN dry AS d USING (row_id)
    WHERE class = 'result'
)
SELECT *,
    row_number() OVER same AS rank,
    count(*) OVER (PARTITION BY sample_id, sample_kind, location, medium, depth_top, depth_bottom, analyte, fraction) AS runs
FROM marked
WINDOW same AS (
    PARTITION BY sample_id, sample_kind, location, medium, depth_top, depth_bottom, analyte, fraction
    ORDER BY is_rejected, is_over_range,
        CASE WHEN is_over_range THEN -coalesce(dilution, 1) ELSE coalesce(dilution, 1) END,
        NOT detected, ranked_value DESC NULLS LAST, ranked_limit NULLS LAST, analysed_at DESC NULLS LAST,
        run_no DESC, method, lab_sample_id, batch, lab, basis, lab_qualifiers, value_text, limit_text, reporting_limit,
        quantitation_limit, detection_limit, percent_solids, comment, row_id  -- content before the order of the file
)
"""


def rank(connection: duckdb.DuckDBPyConnection) -> None:
    """Rank the known results into the temporary table ``ranked``; rank 1 is the chosen value. Reads ``known`` and ``dry``."""
    connection.execute(CHOSEN)


def why_not(row_over_range: bool, row_rejected: bool, row_dilution: object, chosen_dilution: object) -> str:
    """The reason why a value was not chosen, in words."""
    if row_rejected:
        return "not chosen: rejected"
    if row_over_range:
        return "not chosen: over the calibrated range, the diluted run stands for it"
    if row_dilution != chosen_dilution:
        return "not chosen: the less diluted run is in range"
    return "not chosen: another analysis of the same sample stands for it"
