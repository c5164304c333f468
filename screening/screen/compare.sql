-- One outcome a comparand and level table. Reads the temporary tables comparand, level_row, group_condition, sample_state,
-- value_state, covered, unavailable, sum_part. A group is a set of level rows of which the strictest decides: the rows of an
-- unknown condition, or of pathways that apply together. Several groups of an analyte hang on facts of the sample.

-- grain: one row a comparand, group and condition that the group hangs on
CREATE OR REPLACE TEMP TABLE hanging AS
WITH hung AS (
    SELECT DISTINCT l.table_no, l.group_no, l.analyte, l.medium, l.fraction, l.since, l.until
    FROM level_row AS l JOIN group_condition AS g USING (table_no, group_no)
)
SELECT c.id, h.table_no, h.group_no, g.state_key, g.strictest,
    coalesce(v.state, s.state, 'unknown') AS state,
    g.state_value,
    coalesce(v.told, s.told, '') AS told
FROM comparand AS c
JOIN hung AS h ON h.analyte = c.level_analyte AND h.medium = c.medium AND (h.fraction = '' OR h.fraction = c.fraction)
    AND (c.only_table IS NULL OR c.only_table = h.table_no)
    AND (h.since IS NULL OR c.sampled_on >= h.since) AND (h.until IS NULL OR c.sampled_on <= h.until)
JOIN group_condition AS g USING (table_no, group_no)
LEFT JOIN value_state AS v ON v.table_no = h.table_no AND v.state_key = g.state_key AND v.id = c.id
LEFT JOIN sample_state AS s
    ON s.table_no = h.table_no AND s.state_key = g.state_key AND s.sample_no = c.sample_no;

-- grain: one row a comparand and group that may apply
CREATE OR REPLACE TEMP TABLE fitting AS
SELECT id, table_no, group_no,
    bool_or(state NOT IN ('unknown', state_value)) AS excluded,
    bool_or(state = 'unknown') AS unknown,
    bool_or(state = 'unknown' AND NOT strictest) AS left_open,
    string_agg(told, '; ' ORDER BY state_key) FILTER (WHERE told <> '') AS told
FROM hanging
GROUP BY id, table_no, group_no;

-- grain: one row a comparand and level row
CREATE OR REPLACE TEMP TABLE judged AS
WITH candidate AS (
    SELECT c.id, l.table_no, l.group_no, l.row_no, l.kind, l.counts, l.level, l.tolerated,
        c.lower, c.upper, c.below_upper,
        coalesce(f.unknown, false) AS unknown, coalesce(f.left_open, false) AS left_open, coalesce(f.told, '') AS told,
        l.bar, l.bar_counts, l.low_bar, l.low_counts, l.stand_in_counts,
        CASE
            WHEN l.kind <> 'number' OR (l.stand_in_nondetects AND c.detected) THEN NULL
            WHEN l.stand_in = 'quantitation_limit' AND c.undiluted AND c.quantitation > l.level
                 AND (l.stand_in_times IS NULL OR c.quantitation <= l.stand_in_times * c.detection) THEN c.quantitation
            WHEN l.stand_in = 'detection_limit' AND c.undiluted AND c.detection > l.level THEN c.detection
            WHEN l.stand_in = 'background' AND l.background > l.level THEN l.background
        END AS stands_in
    FROM comparand AS c
    JOIN level_row AS l ON l.analyte = c.level_analyte AND l.medium = c.medium AND (l.fraction = '' OR l.fraction = c.fraction)
        AND (c.only_table IS NULL OR c.only_table = l.table_no)
        AND (l.since IS NULL OR c.sampled_on >= l.since) AND (l.until IS NULL OR c.sampled_on <= l.until)
    LEFT JOIN fitting AS f ON f.id = c.id AND f.table_no = l.table_no AND f.group_no = l.group_no
    WHERE NOT coalesce(f.excluded, false)
),
barred AS (
    SELECT * REPLACE (
            coalesce(stands_in, bar) AS bar, coalesce(stands_in, low_bar) AS low_bar,
            CASE WHEN stands_in IS NULL THEN bar_counts ELSE stand_in_counts END AS bar_counts,
            CASE WHEN stands_in IS NULL THEN low_counts ELSE stand_in_counts END AS low_counts
        )
    FROM candidate
)
SELECT id, table_no, group_no, row_no, level, counts, unknown, left_open, told, stands_in,
    kind = 'number' AND tolerated IS NOT NULL AND stands_in IS NULL
        AND (lower > bar OR (bar_counts AND lower = bar)) AND lower <= tolerated AS within_tolerance,
    CASE
        WHEN kind = 'no_level' THEN 'no_level'
        WHEN kind <> 'number' AND kind <> 'range' THEN 'open'
        WHEN within_tolerance THEN 'open'
        WHEN lower > bar OR (bar_counts AND lower = bar) THEN 'exceeds'
        WHEN upper < low_bar OR (upper = low_bar AND (NOT low_counts OR below_upper)) THEN 'does_not_exceed'
        ELSE 'open' END AS outcome
FROM barred;

-- grain: one row a comparand and table
CREATE OR REPLACE TEMP TABLE outcome AS
WITH ordered AS (
    SELECT *, CASE outcome WHEN 'exceeds' THEN 0 WHEN 'open' THEN 1 WHEN 'does_not_exceed' THEN 2 ELSE 3 END AS place
    FROM judged
),
grouped AS (  -- the strictest row of a group decides; a row that was not read leaves open what the others let pass
    SELECT id, table_no, group_no,
        min(place) FILTER (WHERE counts) AS place,
        arg_min({'row_no': row_no, 'level': level, 'stands_in': stands_in}, (place, within_tolerance, row_no))
            FILTER (WHERE counts) AS decides,
        bool_and(within_tolerance) FILTER (WHERE counts AND place = 1) AS within_tolerance,  -- nothing else leaves it open
        list({'row_no': row_no, 'outcome': outcome} ORDER BY row_no) AS beside,
        any_value(unknown) AS unknown, any_value(left_open) AS left_open, any_value(told) AS told
    FROM ordered
    GROUP BY id, table_no, group_no
),
agreed AS (
    SELECT id, table_no,
        min(place) AS place,
        count(DISTINCT place) = 1 OR NOT bool_or(left_open) OR coalesce(min(place) FILTER (WHERE NOT unknown) = min(place), false)
            AS agree,
        count(*) > 1 OR bool_or(unknown) AS condition_unknown,
        arg_min(decides, (place, place = 1 AND within_tolerance, coalesce(decides.level, 1e18::DECIMAL(38, 18)), decides.row_no))
            AS decides,
        min(place) = 1 AND bool_and(within_tolerance) FILTER (WHERE place = 1) AS within_tolerance,
        list(decides.row_no ORDER BY decides.row_no) AS candidates,
        flatten(list(beside ORDER BY group_no)) AS beside,
        max(told) AS told
    FROM grouped
    GROUP BY id, table_no
)
SELECT id, table_no, decides.row_no AS row_no, candidates, told, condition_unknown,
    CASE WHEN NOT agree THEN 'open' ELSE ['exceeds', 'open', 'does_not_exceed', 'no_level'][place + 1] END AS outcome,
    NOT agree AS rows_disagree,
    decides.stands_in AS stands_in, within_tolerance, beside
FROM agreed
;

-- a part without a level of its own is told with the sum in which it counts
CREATE OR REPLACE TEMP TABLE told_with_sum AS
SELECT DISTINCT c.id, s.level_analyte
FROM comparand AS c
JOIN counted_part AS p ON p.part = c.analyte
JOIN comparand AS s ON s.analyte = p.whole AND s.sample_no = c.sample_no;

-- A result has no level only where no table in use lists one; it is told once, by the first table that covers its medium.
DELETE FROM outcome
WHERE outcome = 'no_level'
  AND (id, table_no) NOT IN (
    SELECT id, min(table_no) FROM outcome GROUP BY id HAVING bool_and(outcome = 'no_level')
  );

-- Where the row of an analyte was not read, or may lie in the part that was not read, its level is not available: open.
INSERT INTO outcome BY NAME
SELECT c.id, t.table_no, [] AS candidates, '' AS told, false AS condition_unknown, 'open' AS outcome, false AS rows_disagree,
    false AS within_tolerance, [] AS beside
FROM comparand AS c
JOIN covered AS t ON t.medium = c.medium
    AND (t.since IS NULL OR c.sampled_on >= t.since) AND (t.until IS NULL OR c.sampled_on <= t.until)
LEFT JOIN unavailable AS u ON u.table_no = t.table_no AND u.analyte = c.analyte AND u.medium = c.medium
WHERE c.only_table IS NULL AND (u.analyte IS NOT NULL OR t.unlisted)
  AND NOT EXISTS (SELECT 1 FROM level_row AS l WHERE l.table_no = t.table_no AND l.analyte = c.analyte AND l.medium = c.medium)
  AND c.doubt <> 'only_total'
  AND (u.analyte IS NOT NULL OR NOT EXISTS (
    SELECT 1 FROM told_with_sum AS w JOIN level_row AS l ON l.analyte = w.level_analyte
    WHERE w.id = c.id AND l.table_no = t.table_no AND l.medium = c.medium
  ));

INSERT INTO outcome BY NAME
SELECT c.id, min(t.table_no) AS table_no, [] AS candidates, coalesce(max(f.told), '') AS told, false AS condition_unknown,
    'no_level' AS outcome, false AS rows_disagree, false AS within_tolerance, [] AS beside
FROM comparand AS c
JOIN covered AS t ON t.medium = c.medium
    AND (t.since IS NULL OR c.sampled_on >= t.since) AND (t.until IS NULL OR c.sampled_on <= t.until)
LEFT JOIN fitting AS f ON f.table_no = t.table_no AND f.id = c.id
WHERE NOT EXISTS (SELECT 1 FROM outcome AS o WHERE o.id = c.id)
  AND c.doubt <> 'only_total'
  AND NOT EXISTS (SELECT 1 FROM comparand AS f WHERE f.doubt = 'other_fraction' AND f.row_id = c.row_id AND f.id <> c.id)
  AND NOT EXISTS (SELECT 1 FROM told_with_sum AS w WHERE w.id = c.id)
GROUP BY c.id;

INSERT INTO outcome BY NAME  -- media that no table in use covers
SELECT c.id, 0 AS table_no, [] AS candidates, '' AS told, false AS condition_unknown, 'no_level' AS outcome,
    false AS rows_disagree, false AS within_tolerance, [] AS beside
FROM comparand AS c
WHERE NOT EXISTS (SELECT 1 FROM covered AS t WHERE t.medium = c.medium)
  AND c.doubt <> 'only_total';
