"""A result slightly over its level, where the rule lets the mean of several samples of the same place decide."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screening.screen.register import TableInUse
from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb

DECIDE = """
UPDATE outcome
SET outcome = mean.outcome, of_several = mean.told
FROM (
    SELECT o.id, o.table_no,
        count(*) * any_value(l.bar) AS allowed, any_value(l.bar_counts) AS at_it_too,
        CASE WHEN sum(n.lower) > allowed OR (at_it_too AND sum(n.lower) = allowed) THEN 'exceeds'
             WHEN count(n.upper) = count(*) AND (sum(n.upper) < allowed OR (NOT at_it_too AND sum(n.upper) = allowed)) THEN 'does_not_exceed'
             ELSE 'open' END AS outcome,
        'mean of ' || count(*) || ' samples of the place: '
            || string_agg(n.sample_id || ' ' || CASE WHEN n.detected THEN '' ELSE '<' END
                          || coalesce(nullif(n.shown, ''), plain(n.upper)), ', ' ORDER BY n.sample_id) AS told
    FROM outcome AS o
    JOIN tolerance AS t USING (table_no)
    JOIN comparand AS c ON c.id = o.id
    JOIN comparand AS n ON n.analyte = c.analyte AND n.location = c.location AND n.medium = c.medium AND n.fraction = c.fraction
        AND n.depth_top IS NOT DISTINCT FROM c.depth_top AND n.sample_kind = 'field'
    JOIN level_row AS l ON l.table_no = o.table_no AND l.row_no = o.row_no
    WHERE o.within_tolerance AND o.outcome = 'open' AND NOT o.rows_disagree AND c.location <> '' AND c.sample_kind = 'field'
    GROUP BY o.id, o.table_no
    HAVING count(*) >= any_value(t.samples) AND count(DISTINCT n.sample_id) = count(*)
) AS mean
WHERE outcome.id = mean.id AND outcome.table_no = mean.table_no
"""


def mean_of_several(connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse]) -> None:
    """Decide outcomes left open within a tolerance by the mean of the samples of one location and depth.

    The mean is never formed: the sum is held against the level times the number of samples. With fewer samples than the
    rule asks for the outcome stays open, and says how many are needed.
    """
    connection.execute("ALTER TABLE outcome ADD COLUMN of_several VARCHAR DEFAULT ''")
    if rules := tolerances(tables):
        fill(connection, "tolerance", TOLERANCE, rules)
        connection.execute(DECIDE)


TOLERANCE = "table_no INTEGER, samples INTEGER"


def tolerances(tables: Sequence[TableInUse]) -> list[tuple[int, int]]:
    """How many samples each table with a tolerance asks for, by the number of the table."""
    return [(number, use.table.tolerance.samples) for number, use in enumerate(tables) if use.table.tolerance]
