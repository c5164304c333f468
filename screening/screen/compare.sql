-- One outcome a comparand and level table. Reads the temporary tables comparand, level_row, covered, sample_state.
-- Grain of `judged`: one row a comparand and candidate level row. Grain of `outcome`: one row a comparand and table.

CREATE OR REPLACE TEMP TABLE judged AS
WITH candidate AS (
    SELECT c.id, l.*,
        c.lower, c.upper, c.below_upper, c.doubt,
        CASE
            WHEN l.state_key = '' THEN 'yes'
            WHEN s.state IS NULL OR s.state = 'unknown' THEN 'unknown'
            WHEN s.state = l.state_value THEN 'yes'
            ELSE 'no' END AS fits,
        coalesce(s.told, '') AS told
    FROM comparand AS c
    JOIN level_row AS l ON l.analyte = c.analyte AND l.medium = c.medium AND (l.fraction = '' OR l.fraction = c.fraction)
    LEFT JOIN sample_state AS s
        ON s.table_no = l.table_no AND s.state_key = l.state_key AND s.sample_id = c.sample_id AND s.sample_kind = c.sample_kind
)
SELECT id, table_no, row_no, fits, told, level, level_upper, kind,
    CASE
        WHEN kind = 'no_level' THEN 'no_level'
        WHEN kind <> 'number' AND kind <> 'range' THEN 'open'
        WHEN at_or_above AND lower >= coalesce(level_upper, level) THEN 'exceeds'
        WHEN NOT at_or_above AND lower > coalesce(level_upper, level) THEN 'exceeds'
        WHEN at_or_above AND (upper < level OR (upper = level AND below_upper)) THEN 'does_not_exceed'
        WHEN NOT at_or_above AND upper <= level THEN 'does_not_exceed'
        ELSE 'open' END AS outcome
FROM candidate
WHERE fits <> 'no';

CREATE OR REPLACE TEMP TABLE outcome AS
WITH agreed AS (
    SELECT id, table_no,
        count(DISTINCT outcome) = 1 AS agree,
        count(*) > 1 OR bool_or(fits = 'unknown') AS condition_unknown,
        arg_min(row_no, (coalesce(level, 1e18::DECIMAL(38, 18)), row_no)) AS row_no,
        any_value(outcome) AS outcome,
        list(row_no ORDER BY row_no) AS candidates,
        max(told) AS told
    FROM judged
    GROUP BY id, table_no
)
SELECT id, table_no, row_no, candidates, told, condition_unknown,
    CASE WHEN agree THEN outcome ELSE 'open' END AS outcome,
    NOT agree AS rows_disagree
FROM agreed
;

-- A result has no level only where no table in use lists one; it is told once, by the first table that covers its medium.
DELETE FROM outcome
WHERE outcome = 'no_level'
  AND (id, table_no) NOT IN (
    SELECT id, min(table_no) FROM outcome GROUP BY id HAVING bool_and(outcome = 'no_level')
  );

INSERT INTO outcome
SELECT c.id, min(t.table_no), NULL, [], '', false, CASE WHEN count(u.analyte) > 0 THEN 'open' ELSE 'no_level' END, false
FROM comparand AS c
JOIN covered AS t ON t.medium = c.medium
LEFT JOIN unavailable AS u ON u.table_no = t.table_no AND u.analyte = c.analyte AND u.medium = c.medium
WHERE NOT EXISTS (SELECT 1 FROM outcome AS o WHERE o.id = c.id)
  AND c.doubt <> 'only_total'
  AND NOT EXISTS (  -- a part without a level of its own is told with the sum in which it counts
    SELECT 1 FROM sum_part AS p JOIN comparand AS s ON s.analyte = p.sum_analyte
    WHERE p.part = c.analyte AND s.sample_id = c.sample_id AND s.sample_kind = c.sample_kind
      AND s.location = c.location AND s.medium = c.medium AND s.depth_top IS NOT DISTINCT FROM c.depth_top
  )
GROUP BY c.id;

INSERT INTO outcome  -- media that no table in use covers
SELECT c.id, 0, NULL, [], '', false, 'no_level', false
FROM comparand AS c
WHERE NOT EXISTS (SELECT 1 FROM covered AS t WHERE t.medium = c.medium)
  AND c.doubt <> 'only_total';
