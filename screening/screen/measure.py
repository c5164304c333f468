"""What the chosen values prove: for each sample and analyte the bounds between which the true amount lies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb


DOUBTS = {
    "rejected": "the result is rejected",
    "no_solids": "as received and no percent solids",
    "no_basis": "the basis (dry or as received) is not stated",
    "over_range": "over the calibrated range and no diluted run",
    "above": "only known to lie above the number given",
    "trace": "detected without a number",
    "no_limit": "not detected, and no limit is given",
    "parts_missing": "not all parts of the sum are reported",
    "only_total": "only the total is reported",
    "parts_disagree": "the parts reported add up to more than the total reported",
    "late": "not detected, and analysed too late to prove it",
    "limit_unadjusted": "not detected, and the limit may be higher: it is not adjusted for the sample",
    "blank": "detected in a blank of its batch or day as well, so it may be lower",
    "other_fraction": "the level is one of the total or the dissolved amount, and this is not reported",
    "leachate": "a leachate result is not compared with a level for the solid",
}
"""Why bounds are wider than a number. The key is stored, the words are shown."""

PLAIN = "CREATE OR REPLACE TEMP MACRO plain(amount) AS rtrim(rtrim(CAST(amount AS VARCHAR), '0'), '.')"
"""SQL of an amount with decimals in words, as `plain`."""

COMPARAND = """
CREATE OR REPLACE TEMP TABLE comparand AS
WITH one AS (
    SELECT r.*,
        d.row_id IS NOT NULL AS converted,
        CASE WHEN d.row_id IS NULL THEN r.value ELSE d.value END AS dry_value,
        CASE WHEN d.row_id IS NULL THEN r.nondetect_limit ELSE d.nondetect_limit END AS dry_limit,
        CASE WHEN d.row_id IS NULL THEN coalesce(r.quantitation_limit, r.reporting_limit)
             ELSE coalesce(d.quantitation_limit, d.reporting_limit) END AS dry_quantitation,
        CASE WHEN d.row_id IS NULL THEN r.quantitation_limit ELSE d.quantitation_limit END AS stated_quantitation,
        CASE WHEN d.row_id IS NULL THEN r.detection_limit ELSE d.detection_limit END AS dry_detection,
        d.solids_used, detected AND coalesce(v.blank, false) AS in_blank,
        CASE
            WHEN is_rejected OR v.qualifier = 'rejected' THEN 'rejected'
            WHEN r.fraction = 'leachate' AND medium IN ('soil', 'sediment') THEN 'leachate'
            WHEN medium IN ('soil', 'sediment') AND d.row_id IS NULL
                 AND (basis = 'as_received' OR (basis = '' AND $missing_basis = 'as_received')) THEN 'no_solids'
            WHEN medium IN ('soil', 'sediment') AND basis = '' AND $missing_basis = 'open' THEN 'no_basis'
            WHEN state = 'trace' THEN 'trace'
            WHEN sign = '>' THEN 'above'
            WHEN is_over_range AND detected THEN 'over_range'
            WHEN NOT detected AND r.nondetect_limit IS NULL THEN 'no_limit'
            WHEN v.late AND NOT detected THEN 'late'
            WHEN NOT detected AND v.limit_at_most > r.nondetect_limit AND d.row_id IS NULL THEN 'limit_unadjusted'
            WHEN in_blank THEN 'blank'
            ELSE '' END AS doubt,
        v.limit_at_most,
        CASE WHEN v.qualifier = 'not_detected_at_limit' THEN CASE WHEN d.row_id IS NULL THEN coalesce(r.reporting_limit, r.detection_limit)
             ELSE coalesce(d.reporting_limit, d.detection_limit) END END AS blank_limit
    FROM ranked AS r
    LEFT JOIN dry AS d USING (row_id)
    LEFT JOIN reviewed AS v USING (row_id)
    WHERE rank = 1 AND unit IN ('mg/kg', 'ug/L')
)
SELECT
    row_number() OVER (
        ORDER BY sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, sampled_on, analyte, fraction, row_id
    ) AS id,
    dense_rank() OVER (
        ORDER BY sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, sampled_on
    ) AS sample_no,
    row_id, sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, sampled_on, analyte, cas,
    analyte_kind, fraction, unit, detected, sign, doubt, converted, solids_used, lab_qualifiers, effects, runs,
    CASE WHEN doubt IN ('rejected', 'leachate') OR in_blank OR NOT detected OR state = 'trace' THEN CAST(0 AS DECIMAL(38, 18))
         ELSE dry_value END AS lower,
    CASE WHEN doubt IN ('rejected', 'leachate', 'no_solids', 'no_basis', 'above', 'over_range', 'late') THEN NULL
         WHEN doubt = 'blank' THEN greatest(dry_value, coalesce(blank_limit, dry_value))
         WHEN doubt = 'trace' THEN dry_quantitation
         WHEN detected THEN dry_value
         WHEN doubt = 'limit_unadjusted' THEN limit_at_most
         ELSE dry_limit END AS upper,
    NOT detected OR doubt = 'trace' AS below_upper,
    CASE WHEN converted THEN '' WHEN detected THEN value_text ELSE limit_text END AS shown,
    CAST([] AS VARCHAR[]) AS parts,
    analyte AS level_analyte, CAST(NULL AS INTEGER) AS only_table,
    stated_quantitation AS quantitation, dry_detection AS detection, dilution IS NOT NULL AND dilution <= 1 AS undiluted,
    CAST(NULL AS DECIMAL(38, 18)) AS at_zero, CAST(NULL AS DECIMAL(38, 18)) AS at_full
FROM one
"""

SUMS = """
INSERT INTO comparand BY NAME
WITH part AS (
    SELECT p.sum_analyte, p.alternative, p.parts, c.*
    FROM sum_part AS p JOIN comparand AS c ON c.analyte = p.part
    WHERE NOT EXISTS (
        SELECT 1 FROM comparand AS t
        WHERE t.analyte = p.sum_analyte AND t.sample_no = c.sample_no
          AND (t.fraction = c.fraction OR t.fraction = '' OR c.fraction = '')
    )
),
summed AS (
    SELECT sum_analyte, alternative, sample_no, sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium,
        sampled_on, fraction, unit, min(row_id) AS row_id, bool_or(detected) AS detected,
        count(*) AS found, any_value(parts) AS wanted,
        sum(lower) AS lower,
        CASE WHEN count(upper) = count(*) AND count(*) = any_value(parts) THEN sum(upper) END AS upper,
        bool_or(below_upper) AS below_upper,
        coalesce(max(nullif(doubt, '')), CASE WHEN count(*) < any_value(parts) THEN 'parts_missing' ELSE '' END) AS doubt,
        list(analyte || ' ' || CASE WHEN detected THEN '' ELSE '<' END || coalesce(nullif(shown, ''), plain(coalesce(upper, lower))) ORDER BY analyte) AS parts
    FROM part
    GROUP BY ALL
),
best AS (  -- the alternative with most of its parts, then the one with the fewest parts
    SELECT *, row_number() OVER (
        PARTITION BY sum_analyte, sample_no, fraction
        ORDER BY found < wanted, found DESC, wanted, alternative
    ) AS place
    FROM summed
)
SELECT (SELECT coalesce(max(id), 0) FROM comparand)
           + row_number() OVER (ORDER BY sample_no, sum_analyte, fraction) AS id,
    sample_no, row_id, sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, sampled_on,
    sum_analyte AS analyte,
    '' AS cas, 'sum' AS analyte_kind, fraction, unit, detected, '' AS sign, doubt, false AS converted, '' AS lab_qualifiers,
    '' AS effects, 1 AS runs, CAST(lower AS DECIMAL(38, 18)) AS lower, CAST(upper AS DECIMAL(38, 18)) AS upper, below_upper,
    '' AS shown, parts, sum_analyte AS level_analyte, false AS undiluted
FROM best WHERE place = 1
"""

PARTS_ABOVE_TOTAL = """
UPDATE comparand
SET upper = above.upper, below_upper = false, doubt = 'parts_disagree'
FROM (
    SELECT id, max(upper) AS upper
    FROM (
        SELECT t.id, p.alternative, CASE WHEN count(c.upper) = any_value(p.parts) THEN sum(c.upper) END AS upper
        FROM sum_part AS p
        JOIN comparand AS c ON c.analyte = p.part
        JOIN comparand AS t
            ON t.analyte = p.sum_analyte AND t.sample_no = c.sample_no
            AND (t.fraction = c.fraction OR t.fraction = '' OR c.fraction = '')
        WHERE len(t.parts) = 0
        GROUP BY t.id, p.alternative, c.fraction
        HAVING sum(c.lower) > any_value(t.upper)
    )
    GROUP BY id
) AS above
WHERE above.id = comparand.id
"""
"""A printed total below its own parts bounds nothing: the truth may be as high as the parts say, where they say it."""

SPECIES = """
INSERT INTO comparand BY NAME
SELECT (SELECT coalesce(max(id), 0) FROM comparand)
           + row_number() OVER (ORDER BY c.sample_no, s.species, c.fraction, c.row_id) AS id,
    c.sample_no, c.row_id, c.sample_id, c.sample_kind, c.location, c.depth_top, c.depth_bottom, c.depth_unit, c.medium,
    c.sampled_on, s.species AS analyte, '' AS cas, 'species' AS analyte_kind, c.fraction, c.unit, c.detected, c.sign, 'only_total' AS doubt,
    c.converted, c.solids_used, c.lab_qualifiers, c.effects, c.runs, CAST(0 AS DECIMAL(38, 18)) AS lower, c.upper, c.below_upper,
    '' AS shown, [c.analyte || ' ' || CASE WHEN c.detected THEN '' ELSE '<' END
        || coalesce(nullif(c.shown, ''), plain(coalesce(c.upper, c.lower)))] AS parts,
    s.species AS level_analyte, c.undiluted
FROM species_of AS s
JOIN comparand AS c ON c.analyte = s.total
WHERE NOT EXISTS (
    SELECT 1 FROM comparand AS t
    WHERE t.analyte = s.species AND t.sample_no = c.sample_no
)
"""

FRACTIONS = """
INSERT INTO comparand BY NAME
SELECT (SELECT coalesce(max(id), 0) FROM comparand) + row_number() OVER (ORDER BY c.sample_no, c.analyte, f.fraction) AS id,
    c.* EXCLUDE (id, fraction, doubt, lower, upper, parts), f.fraction, 'other_fraction' AS doubt,
    CASE WHEN f.fraction = 'total' THEN c.lower ELSE CAST(0 AS DECIMAL(38, 18)) END AS lower,
    CASE WHEN f.fraction = 'dissolved' THEN c.upper END AS upper,
    [c.analyte || ' ' || coalesce(nullif(c.fraction, ''), 'of no stated fraction') || ' ' || CASE WHEN c.detected THEN '' ELSE '<' END
        || coalesce(nullif(c.shown, ''), plain(coalesce(c.upper, c.lower)))] AS parts
FROM fraction_wanted AS f
JOIN comparand AS c
    ON c.analyte = f.analyte AND c.medium = f.medium AND c.fraction IN ('total', 'dissolved', '')
WHERE NOT EXISTS (
    SELECT 1 FROM comparand AS t WHERE t.analyte = f.analyte AND t.sample_no = c.sample_no AND t.fraction = f.fraction
)
QUALIFY row_number() OVER (PARTITION BY c.sample_no, c.analyte, f.fraction ORDER BY c.fraction DESC) = 1
"""
"""A level of the dissolved amount is bounded by the total, one of the total by what is dissolved; an amount of no stated
fraction may be either."""


def measure(
    connection: duckdb.DuckDBPyConnection,
    sums: Mapping[str, Iterable[tuple[str, ...]]],
    species: Iterable[tuple[str, str]],
    fractions: Iterable[tuple[str, str, str]],
    missing_basis: str,
) -> None:
    """Fill the temporary table ``comparand`` from the chosen values (``ranked``) and their dry weights (``dry``).

    ``sums`` maps a sum to its alternative lists of parts, ``species`` lists (species, total) pairs; only those that
    some level is listed for are given; ``fractions`` are analyte, medium and fraction of levels of one fraction. ``missing_basis`` is 'open', 'dry' or 'as_received'. ``sample_no`` is the same for
    results of one sample: its number, kind, place, depth, medium and day; nothing else is ever joined.
    """
    connection.execute(PLAIN)
    connection.execute(COMPARAND, {"missing_basis": missing_basis})
    parts = [
        (name, number, len(parts), part)
        for name, alternatives in sums.items()
        for number, parts in enumerate(alternatives)
        for part in parts
    ]
    fill(connection, "sum_part", "sum_analyte VARCHAR, alternative INTEGER, parts INTEGER, part VARCHAR", parts)
    if connection.execute("SELECT 1 FROM sum_part JOIN comparand ON analyte = part LIMIT 1").fetchone():
        connection.execute(PARTS_ABOVE_TOTAL)
        connection.execute(SUMS)
    if of := list(species):
        fill(connection, "species_of", "species VARCHAR, total VARCHAR", of)
        connection.execute(SPECIES)
    if wanted := list(fractions):
        fill(connection, "fraction_wanted", "analyte VARCHAR, medium VARCHAR, fraction VARCHAR", wanted)
        connection.execute(FRACTIONS)


def sampling_days(connection: duckdb.DuckDBPyConnection) -> list[tuple[str, date | None]]:
    """Each sample with values that may be compared, and the day of its sampling. Reads ``ranked``."""
    return connection.execute(
        "SELECT DISTINCT sample_id, sampled_on FROM ranked WHERE rank = 1 AND unit IN ('mg/kg', 'ug/L') ORDER BY ALL"
    ).fetchall()


def plain(amount: Decimal | None) -> str | None:
    """A stored amount without trailing zeros and without an exponent."""
    if amount is None:
        return None
    text = f"{amount:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
