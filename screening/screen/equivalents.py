"""Toxic equivalents: analytes weighed by a rule's factors, added, and held against the level that the rule names."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screening.levels.rules import Equivalents
from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb

WEIGHED = """
INSERT INTO comparand BY NAME
WITH part AS (
    SELECT e.table_no, e.name, e.summed, e.wanted, e.nondetects, e.factor_text, c.*,
        CAST(CAST(c.lower AS DECIMAL(28, 18)) * e.factor AS DECIMAL(28, 18)) AS low,
        CAST(CAST(c.upper AS DECIMAL(28, 18)) * e.factor AS DECIMAL(28, 18)) AS high,
        CASE WHEN c.detected OR e.nondetects = 'bounds' THEN NULL
             WHEN e.nondetects = 'zero' THEN 0.0 WHEN e.nondetects = 'half' THEN 0.5 ELSE 1.0 END AS share  -- of its limit
    FROM equivalent_part AS e
    JOIN comparand AS c ON c.analyte = e.part AND c.only_table IS NULL AND c.doubt NOT IN ('leachate', 'other_fraction')
),
added AS (
    SELECT table_no, name, summed, nondetects, sample_no, sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit,
        medium, sampled_on, fraction, unit, min(row_id) AS row_id, bool_or(detected) AS detected, bool_or(below_upper) AS below_upper,
        count(high) = any_value(wanted) AS whole,
        sum(coalesce(high * share, low)) AS counted_low, sum(coalesce(high * share, high)) AS counted_high,
        CAST(sum(low) AS DECIMAL(38, 18)) AS at_zero,
        CASE WHEN count(high) = any_value(wanted) THEN CAST(sum(high) AS DECIMAL(38, 18)) END AS at_full,
        coalesce(max(nullif(doubt, '')), CASE WHEN count(*) < any_value(wanted) THEN 'parts_missing' ELSE '' END) AS doubt,
        list(analyte || ' ' || CASE WHEN detected THEN '' ELSE '<' END
             || coalesce(nullif(shown, ''), plain(coalesce(upper, lower))) || ' x ' || factor_text ORDER BY analyte) AS parts
    FROM part
    GROUP BY ALL
)
SELECT (SELECT coalesce(max(id), 0) FROM comparand)
           + row_number() OVER (ORDER BY table_no, name, sample_no, fraction, row_id) AS id,
    sample_no, row_id, sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, sampled_on,
    summed AS analyte, '' AS cas, 'sum' AS analyte_kind, fraction, unit, detected, '' AS sign, doubt,
    false AS converted, '' AS lab_qualifiers, '' AS effects, 1 AS runs,
    CASE WHEN detected AND whole THEN CAST(counted_low AS DECIMAL(38, 18)) ELSE at_zero END AS lower,
    CASE WHEN NOT detected THEN at_full WHEN whole THEN CAST(counted_high AS DECIMAL(38, 18)) END AS upper,
    CASE WHEN NOT detected OR nondetects = 'bounds' THEN below_upper ELSE false END AS below_upper,
    '' AS shown, parts, name AS level_analyte, table_no AS only_table, false AS undiluted, at_zero, at_full
FROM added
"""
"""Where some part is detected, the rule's own way of counting non-detects decides; where none is, the sum is a non-detect
whose limit is that of all parts in full. A detection that is only bounded (in a blank, a trace) keeps its bounds. A
missing part leaves the sum without an upper bound."""


def weigh(connection: duckdb.DuckDBPyConnection, rules: Sequence[tuple[int, Equivalents]], nondetects: str) -> None:
    """Add the toxic equivalents of each table (by its number) to ``comparand``.

    ``nondetects`` is 'rule' or the way of counting non-detects that a person chose: bounds, zero, half or full.
    """
    rows = [
        (
            number,
            rule.name,
            rule.summed,
            len(rule.factors),
            rule.nondetects if nondetects == "rule" else nondetects,
            part,
            f"{factor:f}",
            f"{factor:f}",
        )
        for number, rule in rules
        for part, factor in rule.factors.items()
    ]
    fill(
        connection, "equivalent_part",
        "table_no INTEGER, name VARCHAR, summed VARCHAR, wanted INTEGER, nondetects VARCHAR, part VARCHAR, factor DECIMAL(10, 6), factor_text VARCHAR",
        rows,
    )  # fmt: skip
    if rows:
        connection.execute(WEIGHED)
