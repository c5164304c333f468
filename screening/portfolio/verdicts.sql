-- One outcome a value and level table, for every site of a portfolio at once. What `compare.sql` does for one site, in words
-- of SQL that DuckDB and Apache Spark both know; a test holds the two against each other.
--
-- Reads value, derived_value, sample_state, value_state, pair (the portfolio) and scheme_site, level_row, group_condition,
-- covered, unavailable, wanted, counted_part, tolerance, used_table (the law, by scheme: sites with the same tables and
-- conditions). A level row is alone where no other of its table speaks of the same analyte and medium and it hangs on nothing.
-- A step with `keep` is worked out once; it has no rows where what it `needs` is not there.

-- step used_derived keep needs derived_value: sums, species and other fractions that some level in use asks for
SELECT v.*, s.scheme_no, s.several
FROM derived_value AS v
JOIN scheme_site AS s ON s.site_no = v.site_no
SEMI JOIN wanted AS w ON w.scheme_no = s.scheme_no AND w.derived = v.derived AND w.analyte = v.level_analyte
    AND (w.medium = '' OR w.medium = v.medium) AND (w.fraction = '' OR w.fraction = v.fraction)
    AND (w.level_table = '' OR w.level_table = v.only_table);

-- step used
SELECT v.*, s.scheme_no, s.several FROM value AS v JOIN scheme_site AS s ON s.site_no = v.site_no
UNION ALL
SELECT * FROM used_derived;

-- step hung
SELECT DISTINCT l.scheme_no, l.table_no, l.level_table, l.group_no, l.analyte, l.medium, l.fraction, l.since, l.until
FROM level_row AS l
SEMI JOIN group_condition AS g ON g.scheme_no = l.scheme_no AND g.table_no = l.table_no AND g.group_no = l.group_no;

-- step fitting keep needs group_condition: one row a value and group that hangs on facts of the sample
SELECT c.value_no, h.table_no, h.group_no,
    bool_or(coalesce(v.state, s.state, 'unknown') NOT IN ('unknown', g.state_value)) AS excluded,
    bool_or(coalesce(v.state, s.state, 'unknown') = 'unknown') AS unknown,
    bool_or(coalesce(v.state, s.state, 'unknown') = 'unknown' AND NOT g.strictest) AS left_open
FROM used AS c
JOIN hung AS h ON h.scheme_no = c.scheme_no AND h.analyte = c.level_analyte AND h.medium = c.medium
    AND (h.fraction = '' OR h.fraction = c.fraction) AND (c.only_table IS NULL OR c.only_table = h.level_table)
    AND (h.since IS NULL OR c.sampled_on >= h.since) AND (h.until IS NULL OR c.sampled_on <= h.until)
JOIN group_condition AS g ON g.scheme_no = h.scheme_no AND g.table_no = h.table_no AND g.group_no = h.group_no
LEFT JOIN value_state AS v ON v.value_no = c.value_no AND v.level_table = h.level_table AND v.state_key = g.state_key
LEFT JOIN sample_state AS s ON s.sample_no = c.sample_no AND s.level_table = h.level_table AND s.state_key = g.state_key
GROUP BY c.value_no, h.table_no, h.group_no;

-- step stand_in keep needs stands_in: the limit or the background that stands in for a lower level (exact for amounts of up to 15 decimals)
SELECT * FROM (
    SELECT c.value_no, l.table_no, l.row_no,
        CASE
            WHEN l.kind <> 'number' OR (l.stand_in_nondetects AND c.detected) THEN NULL
            WHEN l.stand_in = 'quantitation_limit' AND c.undiluted AND c.quantitation > l.level
                 AND (l.stand_in_times IS NULL
                      OR c.quantitation <= CAST(l.stand_in_times * CAST(c.detection AS DECIMAL(24, 18)) AS DECIMAL(38, 18)))
                 THEN c.quantitation
            WHEN l.stand_in = 'detection_limit' AND c.undiluted AND c.detection > l.level THEN c.detection
            WHEN l.stand_in = 'background' AND l.background > l.level THEN l.background
        END AS stands_in
    FROM used AS c
    JOIN level_row AS l ON {applies} AND l.stand_in <> ''
) AS found
WHERE stands_in IS NOT NULL;

-- step barred: one row a value and level row
SELECT {value}, l.table_no, l.group_no, l.row_no, l.kind, l.counts, l.alone, l.level, l.tolerated, d.stands_in,
    coalesce(d.stands_in, l.bar) AS bar, coalesce(d.stands_in, l.low_bar) AS low_bar,
    CASE WHEN d.stands_in IS NULL THEN l.bar_counts ELSE l.stand_in_counts END AS bar_counts,
    CASE WHEN d.stands_in IS NULL THEN l.low_counts ELSE l.stand_in_counts END AS low_counts
FROM used AS c
JOIN level_row AS l ON {applies}
LEFT JOIN stand_in AS d ON d.value_no = c.value_no AND d.table_no = l.table_no AND d.row_no = l.row_no;

-- step judged
SELECT *,
    CASE
        WHEN kind = 'no_level' THEN 'no_level'
        WHEN kind <> 'number' AND kind <> 'range' THEN 'open'
        WHEN within_tolerance THEN 'open'
        WHEN lower > bar OR (bar_counts AND lower = bar) THEN 'exceeds'
        WHEN upper < low_bar OR (upper = low_bar AND (NOT low_counts OR below_upper)) THEN 'does_not_exceed'
        ELSE 'open' END AS outcome
FROM (
    SELECT *, kind = 'number' AND tolerated IS NOT NULL AND stands_in IS NULL
        AND (lower > bar OR (bar_counts AND lower = bar)) AND lower <= tolerated AS within_tolerance
    FROM barred
) AS tested;

-- step several_rows: the rows that decide together with others
SELECT j.value_no, j.table_no, j.group_no, j.row_no, j.level, j.stands_in, j.counts, j.within_tolerance,
    coalesce(f.unknown, false) AS unknown, coalesce(f.left_open, false) AS left_open,
    CASE j.outcome WHEN 'exceeds' THEN 0 WHEN 'open' THEN 1 WHEN 'does_not_exceed' THEN 2 ELSE 3 END AS place
FROM judged AS j
LEFT JOIN fitting AS f ON f.value_no = j.value_no AND f.table_no = j.table_no AND f.group_no = j.group_no
WHERE NOT j.alone AND NOT coalesce(f.excluded, false);

-- step ordered
SELECT *, row_number() OVER (
        PARTITION BY value_no, table_no, group_no ORDER BY counts DESC, place, within_tolerance, row_no
    ) AS nth
FROM several_rows;

-- step grouped: the strictest row of a group decides; a row that was not read leaves open what the others let pass
SELECT value_no, table_no, group_no,
    min(CASE WHEN counts THEN place END) AS worst,
    max(CASE WHEN nth = 1 THEN row_no END) AS first_row,
    max(CASE WHEN nth = 1 THEN level END) AS first_level,
    max(CASE WHEN nth = 1 THEN stands_in END) AS first_stands_in,
    coalesce(bool_and(CASE WHEN counts AND place = 1 THEN within_tolerance END), false) AS all_within,
    bool_and(CASE WHEN counts AND place = 1 THEN within_tolerance END) AS maybe_within,
    bool_or(unknown) AS group_unknown, bool_or(left_open) AS group_open
FROM ordered
GROUP BY value_no, table_no, group_no;

-- step placed
SELECT *, row_number() OVER (
        PARTITION BY value_no, table_no
        ORDER BY worst, all_within, coalesce(first_level, CAST('1000000000000000000' AS DECIMAL(38, 18))), first_row
    ) AS nth
FROM grouped;

-- step agreed keep needs together
SELECT value_no, table_no,
    max(CASE WHEN nth = 1 THEN first_row END) AS row_no,
    max(CASE WHEN nth = 1 THEN first_level END) AS level,
    max(CASE WHEN nth = 1 THEN first_stands_in END) AS stands_in,
    coalesce(bool_and(maybe_within), false) AS within_tolerance,
    count(*) > 1 OR bool_or(group_unknown) AS condition_unknown,
    NOT (count(DISTINCT worst) = 1 OR NOT bool_or(group_open)
         OR coalesce(min(CASE WHEN NOT group_unknown THEN worst END) = min(worst), false)) AS rows_disagree,
    min(worst) AS worst
FROM placed
GROUP BY value_no, table_no;

-- step with_level
SELECT {value}, c.table_no, c.row_no, c.level, c.stands_in, c.outcome, c.within_tolerance,
    false AS condition_unknown, false AS rows_disagree
FROM judged AS c
WHERE c.alone
UNION ALL
SELECT {value}, a.table_no, a.row_no, a.level, a.stands_in,
    CASE WHEN a.rows_disagree OR a.worst = 1 THEN 'open' WHEN a.worst = 0 THEN 'exceeds' WHEN a.worst = 2 THEN 'does_not_exceed'
         ELSE 'no_level' END,
    a.within_tolerance, a.condition_unknown, a.rows_disagree
FROM agreed AS a
JOIN used AS c ON c.value_no = a.value_no;

-- step no_level_dropped keep needs several: a result has no level only where no table in use lists one; it is told once, by the first table
SELECT DISTINCT n.value_no, n.table_no
FROM with_level AS n
SEMI JOIN with_level AS o ON o.value_no = n.value_no AND (o.outcome <> 'no_level' OR o.table_no < n.table_no)
WHERE n.outcome = 'no_level' AND n.several;

-- step bare keep: values for which no table has a row that applies
SELECT c.site_no, c.scheme_no, c.value_no, c.sample_no, c.row_id, c.analyte, c.medium, c.sampled_on, c.doubt
FROM used AS c
ANTI JOIN level_row AS l ON {applies}
UNION ALL
SELECT c.site_no, c.scheme_no, c.value_no, c.sample_no, c.row_id, c.analyte, c.medium, c.sampled_on, c.doubt
FROM used AS c
SEMI JOIN fitting AS f ON f.value_no = c.value_no AND f.excluded
ANTI JOIN agreed AS a ON a.value_no = c.value_no
ANTI JOIN level_row AS l ON {applies} AND l.alone;

-- step perhaps_unavailable keep needs perhaps: the row of the analyte was not read, or may lie in the part that was not read
SELECT c.value_no, c.scheme_no, c.sample_no, c.analyte, c.medium, t.table_no, u.analyte IS NOT NULL AS named
FROM used AS c
JOIN covered AS t ON t.scheme_no = c.scheme_no AND t.medium = c.medium AND t.perhaps
    AND (t.since IS NULL OR c.sampled_on >= t.since) AND (t.until IS NULL OR c.sampled_on <= t.until)
LEFT JOIN unavailable AS u
    ON u.scheme_no = c.scheme_no AND u.table_no = t.table_no AND u.analyte = c.analyte AND u.medium = c.medium
ANTI JOIN level_row AS l
    ON l.scheme_no = c.scheme_no AND l.table_no = t.table_no AND l.analyte = c.analyte AND l.medium = c.medium
WHERE c.only_table IS NULL AND (u.analyte IS NOT NULL OR t.unlisted) AND c.doubt <> 'only_total';

-- step told_with_sum keep needs counted_part: a part without a level of its own is told with the sum in which it counts
SELECT DISTINCT c.value_no, s.level_analyte
FROM (
    SELECT value_no, scheme_no, sample_no, analyte FROM bare
    UNION SELECT value_no, scheme_no, sample_no, analyte FROM perhaps_unavailable
) AS c
JOIN counted_part AS p ON p.scheme_no = c.scheme_no AND p.part = c.analyte
JOIN used AS s ON s.analyte = p.whole AND s.sample_no = c.sample_no;

-- step not_available keep
SELECT c.value_no, c.table_no
FROM perhaps_unavailable AS c
WHERE c.named
UNION
SELECT c.value_no, c.table_no
FROM perhaps_unavailable AS c
ANTI JOIN (
    SELECT w.value_no, l.scheme_no, l.table_no, l.medium
    FROM told_with_sum AS w JOIN level_row AS l ON l.analyte = w.level_analyte
) AS w ON w.value_no = c.value_no AND w.scheme_no = c.scheme_no AND w.table_no = c.table_no AND w.medium = c.medium;

-- step without_level keep
SELECT value_no, table_no, 'open' AS outcome FROM not_available
UNION ALL
SELECT c.value_no, min(t.table_no) AS table_no, 'no_level' AS outcome
FROM bare AS c
JOIN covered AS t ON t.scheme_no = c.scheme_no AND t.medium = c.medium
    AND (t.since IS NULL OR c.sampled_on >= t.since) AND (t.until IS NULL OR c.sampled_on <= t.until)
ANTI JOIN not_available AS n ON n.value_no = c.value_no
ANTI JOIN told_with_sum AS w ON w.value_no = c.value_no
ANTI JOIN used_derived AS f
    ON f.site_no = c.site_no AND f.row_id = c.row_id AND f.doubt = 'other_fraction' AND f.value_no <> c.value_no
WHERE c.doubt <> 'only_total'
GROUP BY c.value_no
UNION ALL
SELECT c.value_no, 0 AS table_no, 'no_level' AS outcome
FROM bare AS c
ANTI JOIN covered AS t ON t.scheme_no = c.scheme_no AND t.medium = c.medium
WHERE c.doubt <> 'only_total';

-- step settled keep needs tolerance: where the rule lets the mean of several samples of a place decide; the sum is held against as many bars
SELECT o.value_no, o.table_no,
    CASE WHEN sum(n.lower) > sum(l.bar) OR (bool_or(l.bar_counts) AND sum(n.lower) = sum(l.bar)) THEN 'exceeds'
         WHEN count(n.upper) = count(*)
              AND (sum(n.upper) < sum(l.bar) OR (NOT bool_or(l.bar_counts) AND sum(n.upper) = sum(l.bar))) THEN 'does_not_exceed'
         ELSE 'open' END AS outcome
FROM with_level AS o
JOIN tolerance AS t ON t.scheme_no = o.scheme_no AND t.table_no = o.table_no
JOIN used AS n ON n.site_no = o.site_no AND n.analyte = o.analyte AND n.location = o.location AND n.medium = o.medium
    AND n.fraction = o.fraction AND n.depth_top IS NOT DISTINCT FROM o.depth_top AND n.sample_kind = 'field'
JOIN level_row AS l ON l.scheme_no = o.scheme_no AND l.table_no = o.table_no AND l.row_no = o.row_no
WHERE o.within_tolerance AND o.outcome = 'open' AND NOT o.rows_disagree AND o.location <> '' AND o.sample_kind = 'field'
GROUP BY o.value_no, o.table_no
HAVING count(DISTINCT n.sample_id) >= max(t.samples) AND count(DISTINCT n.sample_id) = count(*);

-- step outcome
SELECT {value}, c.table_no, c.row_no, c.level, c.stands_in, coalesce(m.outcome, c.outcome) AS outcome, c.condition_unknown,
    c.rows_disagree
FROM with_level AS c
LEFT JOIN settled AS m ON m.value_no = c.value_no AND m.table_no = c.table_no
ANTI JOIN no_level_dropped AS d ON d.value_no = c.value_no AND d.table_no = c.table_no
UNION ALL
SELECT {value}, w.table_no, CAST(NULL AS INTEGER), CAST(NULL AS DECIMAL(38, 18)), CAST(NULL AS DECIMAL(38, 18)), w.outcome,
    false, false
FROM without_level AS w
JOIN used AS c ON c.value_no = w.value_no;

-- step side keep needs pair: a sample, its field duplicates and the mean, as one table judges them
SELECT p.parent_no, p.role, o.table_no, o.value_no, o.outcome, coalesce(o.row_no, -1) AS row_no,
    row_number() OVER (
        PARTITION BY p.parent_no, o.table_no, p.role = 'mean'
        ORDER BY CASE o.outcome WHEN 'exceeds' THEN 0 WHEN 'open' THEN 1 WHEN 'no_level' THEN 2 ELSE 3 END,
            CASE WHEN o.upper IS NULL THEN 0 ELSE 1 END, coalesce(o.upper, o.lower) DESC, p.role DESC, o.value_no
    ) AS nth
FROM (
    SELECT parent_no, parent_no AS value_no, 'parent' AS role FROM pair
    UNION SELECT parent_no, duplicate_no, 'duplicate' FROM pair
    UNION SELECT parent_no, mean_no, 'mean' FROM pair WHERE mean_no IS NOT NULL
) AS p
JOIN outcome AS o ON o.value_no = p.value_no;

-- step ruled: of each sample and its duplicates the one that stands
SELECT parent_no, table_no,
    CASE '{duplicate_rule}'
        WHEN 'parent' THEN max(CASE WHEN role = 'parent' THEN value_no END)
        WHEN 'mean' THEN
            CASE WHEN count(DISTINCT CASE WHEN role <> 'mean' THEN row_no END) = 1 AND sum(CASE WHEN role = 'mean' THEN 1 ELSE 0 END) = 1
                      AND sum(CASE WHEN role = 'duplicate' THEN 1 ELSE 0 END) = 1
                 THEN max(CASE WHEN role = 'mean' THEN value_no END)
                 ELSE max(CASE WHEN role <> 'mean' AND nth = 1 THEN value_no END) END
        ELSE max(CASE WHEN role <> 'mean' AND nth = 1 THEN value_no END) END AS stands
FROM side
GROUP BY parent_no, table_no
HAVING bool_or(role = 'parent') AND bool_or(role = 'duplicate');

-- step outweighed keep needs pair
SELECT DISTINCT s.value_no, s.table_no, s.role = 'mean' AS mean
FROM side AS s
LEFT JOIN ruled AS r ON r.parent_no = s.parent_no AND r.table_no = s.table_no
WHERE (s.role = 'mean' AND (r.stands IS NULL OR r.stands <> s.value_no)) OR (s.role <> 'mean' AND r.stands <> s.value_no);

-- step answer
SELECT t.site, c.sample_id, c.sample_kind, c.location, c.depth_top, c.depth_bottom, c.depth_unit, c.sampled_on, c.medium,
    c.analyte, c.cas, c.fraction, c.unit, c.detected, c.lower, c.upper, c.doubt, u.level_table, u.version, c.row_no AS level_row,
    c.level, c.stands_in, c.outcome, c.condition_unknown, c.rows_disagree, w.value_no IS NOT NULL AS outweighed, c.deliverable,
    c.row_id, c.value_no
FROM outcome AS c
JOIN scheme_site AS t ON t.site_no = c.site_no
JOIN used_table AS u ON u.scheme_no = c.scheme_no AND u.table_no = c.table_no
LEFT JOIN outweighed AS w ON w.value_no = c.value_no AND w.table_no = c.table_no
WHERE w.mean IS NULL OR NOT w.mean;
