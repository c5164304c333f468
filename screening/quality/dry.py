"""As-received solids in dry weight: result and limits together, with the sample's own percent solids, exactly."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal
from typing import TYPE_CHECKING

from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb

_WIDE = Context(prec=60)
_STEP = Decimal(1).scaleb(-18)
_AMOUNTS = ("value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit")

REPORTED_SOLIDS = """
    SELECT r.row_id, s.percent_solids
    FROM known AS r
    LEFT JOIN sample_day AS t USING (sample_id, sample_kind, location, medium)
    JOIN (
        SELECT sample_id, sample_kind, location, medium, depth_top, coalesce(CAST(sampled_at AS DATE), only_day) AS sampled_on,
            any_value(CASE WHEN analyte = 'Percent solids' THEN value ELSE 100 - value END) AS percent_solids
        FROM known LEFT JOIN sample_day USING (sample_id, sample_kind, location, medium)
        WHERE class = 'result' AND analyte IN ('Percent solids', 'Percent moisture') AND value > 0 AND value < 100
        GROUP BY ALL
        HAVING count(DISTINCT CASE WHEN analyte = 'Percent solids' THEN value ELSE 100 - value END) = 1
    ) AS s
        ON s.sample_id = r.sample_id AND s.sample_kind = r.sample_kind AND s.location = r.location AND s.medium = r.medium
        AND s.depth_top IS NOT DISTINCT FROM r.depth_top
        AND s.sampled_on IS NOT DISTINCT FROM coalesce(CAST(r.sampled_at AS DATE), t.only_day)
"""
"""SQL of the percent solids of rows for whose sample they are reported as a result, once or twice alike."""

AS_RECEIVED = f"""
SELECT r.row_id, r.value, r.nondetect_limit, r.reporting_limit, r.quantitation_limit, r.detection_limit,
       coalesce(r.percent_solids, s.percent_solids) AS percent_solids
FROM known AS r
LEFT JOIN ({REPORTED_SOLIDS}) AS s USING (row_id)
WHERE r.class = 'result' AND r.medium IN ('soil', 'sediment') AND r.unit = 'mg/kg'
  AND (r.basis = 'as_received' OR (r.basis = '' AND $missing_basis = 'as_received'))
ORDER BY r.row_id
"""


def dry_amount(as_received: Decimal | None, percent_solids: Decimal) -> Decimal | None:
    """An amount per dry mass from one per mass as received: amount x 100 / percent solids.

    Rounded at the 18th decimal, which no comparison can feel: amount, level and percent solids together carry far
    fewer than 18 decimals, so an amount that is not equal to the level differs from it by more than that.
    """
    if as_received is None:
        return None
    return _WIDE.divide(as_received * 100, percent_solids).quantize(_STEP, ROUND_HALF_EVEN, _WIDE)


def dry(connection: duckdb.DuckDBPyConnection, missing_basis: str) -> None:
    """Fill the temporary table ``dry`` (row_id, solids_used, the amounts in dry weight) from ``known`` and ``sample_day``.

    ``missing_basis`` is 'open', 'dry' or 'as_received'; rows without percent solids are left out.
    """
    rows = connection.execute(AS_RECEIVED, {"missing_basis": missing_basis}).fetchall()
    made = [(row[0], row[6], *(dry_amount(amount, row[6]) for amount in row[1:6])) for row in rows if row[6]]
    amounts = ", ".join(f"{name} DECIMAL(38, 18)" for name in ("solids_used", *_AMOUNTS))
    fill(connection, "dry", f"row_id BIGINT, {amounts}", made)
