-- One outcome a value and level table, for every site of a portfolio at once. What `compare.sql` does for one site, in words
-- of SQL that DuckDB and Apache Spark both know; a test holds the two against each other.
--
-- Reads value, derived_value, sample_state, value_state, pair (the portfolio), site_in_hand (the sites that are worked out now,
-- of scheme_site) and level_row, group_condition, covered, unavailable, wanted, counted_part, tolerance, used_table (the law, by scheme: sites with the same tables and
-- conditions). A level row is alone where no other of its table speaks of the same analyte and medium and it hangs on nothing.
-- What values of the same scheme, analyte and medium have in common is worked out once for them all, by their `asked`; each
-- value is then joined with that alone. Only what hangs on facts of a sample, on other results or on duplicates is worked out
-- by value. A step with `keep` is worked out once; it has no rows where what it `needs` is not there.

-- step used_derived keep needs derived_value: sums, species and other fractions that some level in use asks for
SELECT v.*, s.scheme_no, s.site
FROM derived_value AS v
JOIN site_in_hand AS s ON s.site_no = v.site_no
SEMI JOIN wanted AS w ON w.scheme_no = s.scheme_no AND w.derived = v.derived AND w.analyte = v.level_analyte
    AND (w.medium = '' OR w.medium = v.medium) AND (w.fraction = '' OR w.fraction = v.fraction)
    AND (w.level_table = '' OR w.level_table = v.only_table);

-- step used
SELECT v.*, s.scheme_no, s.site FROM value AS v JOIN site_in_hand AS s ON s.site_no = v.site_no
UNION ALL
SELECT * FROM used_derived;

-- step asked keep: what level rows are looked up by; the day only where versions follow the sampling
SELECT row_number() OVER (ORDER BY scheme_no, analyte, level_analyte, medium, fraction, only_table, day) AS asked_no, *
FROM (
    SELECT DISTINCT c.scheme_no, c.analyte, c.level_analyte, c.medium, c.fraction, coalesce(c.only_table, '') AS only_table,
        {day} AS day
    FROM used AS c
) AS found;

-- step applied keep: one row an asked and level row
SELECT k.asked_no, l.table_no, l.level_table, l.group_no, l.row_no, l.kind, l.counts, l.alone, l.level, l.bar, l.bar_counts,
    l.low_bar, l.low_counts, l.tolerated, l.stand_in, l.stand_in_counts, l.stand_in_times, l.stand_in_nondetects, l.background
FROM asked AS k
JOIN level_row AS l ON l.scheme_no = k.scheme_no AND l.analyte = k.level_analyte AND l.medium = k.medium
    AND (l.fraction = '' OR l.fraction = k.fraction) AND (k.only_table = '' OR k.only_table = l.level_table)
    AND (l.since IS NULL OR k.day >= l.since) AND (l.until IS NULL OR k.day <= l.until);

-- step not_read keep needs perhaps: the row of the analyte was not read, or may lie in the part that was not read
SELECT k.asked_no, t.table_no, u.analyte IS NOT NULL AS named
FROM asked AS k
JOIN covered AS t ON t.scheme_no = k.scheme_no AND t.medium = k.medium AND t.perhaps
    AND (t.since IS NULL OR k.day >= t.since) AND (t.until IS NULL OR k.day <= t.until)
LEFT JOIN unavailable AS u
    ON u.scheme_no = k.scheme_no AND u.table_no = t.table_no AND u.analyte = k.analyte AND u.medium = k.medium
ANTI JOIN level_row AS l
    ON l.scheme_no = k.scheme_no AND l.table_no = t.table_no AND l.analyte = k.analyte AND l.medium = k.medium
WHERE k.only_table = '' AND (u.analyte IS NOT NULL OR t.unlisted);

-- step unlisted keep: the table by which a value is told to have no level, if none has a row for it
SELECT k.asked_no, min(t.table_no) AS table_no
FROM asked AS k
JOIN covered AS t ON t.scheme_no = k.scheme_no AND t.medium = k.medium
    AND (t.since IS NULL OR k.day >= t.since) AND (t.until IS NULL OR k.day <= t.until)
ANTI JOIN not_read AS n ON n.asked_no = k.asked_no
GROUP BY k.asked_no
UNION ALL
SELECT k.asked_no, 0 AS table_no
FROM asked AS k
ANTI JOIN covered AS t ON t.scheme_no = k.scheme_no AND t.medium = k.medium;

-- step ruling keep: one row an asked and level row, and one without a row for a table that lists none or was not read;
-- a result has no level only where no table in use lists one, and it is told once, by the first table
SELECT k.asked_no, k.scheme_no, k.analyte, k.level_analyte, k.medium, k.fraction, k.only_table, k.day, u.level_table, u.version,
    r.table_no, r.group_no, r.row_no, r.kind, r.counts, r.alone, r.level, r.bar, r.bar_counts, r.low_bar, r.low_counts,
    r.tolerated, r.stand_in, r.stand_in_counts, r.named
FROM (
    SELECT a.asked_no, a.table_no, a.group_no, a.row_no, a.kind, a.counts, a.alone, a.level, a.bar, a.bar_counts, a.low_bar,
        a.low_counts, a.tolerated, a.stand_in, a.stand_in_counts, false AS named
    FROM applied AS a
    LEFT JOIN applied AS o
        ON o.asked_no = a.asked_no AND o.alone AND a.alone AND a.kind = 'no_level' AND (o.kind <> 'no_level' OR o.table_no < a.table_no)
    WHERE o.asked_no IS NULL
    UNION ALL
    SELECT asked_no, table_no, -1, -1, 'not_read', true, true, NULL, NULL, false, NULL, false, NULL, '', false, named FROM not_read
    UNION ALL
    SELECT n.asked_no, n.table_no, -1, -1, 'no_level', true, true, NULL, NULL, false, NULL, false, NULL, '', false, false
    FROM unlisted AS n
    ANTI JOIN applied AS a ON a.asked_no = n.asked_no
) AS r
JOIN asked AS k ON k.asked_no = r.asked_no
JOIN used_table AS u ON u.scheme_no = k.scheme_no AND u.table_no = r.table_no;

-- step hung
SELECT DISTINCT a.asked_no, a.table_no, a.level_table, a.group_no
FROM applied AS a
JOIN asked AS k ON k.asked_no = a.asked_no
SEMI JOIN group_condition AS g ON g.scheme_no = k.scheme_no AND g.table_no = a.table_no AND g.group_no = a.group_no;

-- step fitting keep needs group_condition: one row a value and group that hangs on facts of the sample
SELECT c.value_no, h.table_no, h.group_no,
    bool_or(coalesce(v.state, s.state, 'unknown') NOT IN ('unknown', g.state_value)) AS excluded,
    bool_or(coalesce(v.state, s.state, 'unknown') = 'unknown') AS unknown,
    bool_or(coalesce(v.state, s.state, 'unknown') = 'unknown' AND NOT g.strictest) AS left_open
FROM used AS c
JOIN asked AS k ON {asks}
JOIN hung AS h ON h.asked_no = k.asked_no
JOIN group_condition AS g ON g.scheme_no = k.scheme_no AND g.table_no = h.table_no AND g.group_no = h.group_no
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
    JOIN asked AS k ON {asks}
    JOIN applied AS l ON l.asked_no = k.asked_no AND l.stand_in <> ''
) AS found
WHERE stands_in IS NOT NULL;

-- step barred: one row a value and ruling
SELECT {value}, k.level_table, k.version, k.table_no, k.group_no, k.row_no, k.kind, k.counts, k.alone, k.level, k.tolerated, d.stands_in,
    coalesce(d.stands_in, k.bar) AS bar, coalesce(d.stands_in, k.low_bar) AS low_bar,
    CASE WHEN d.stands_in IS NULL THEN k.bar_counts ELSE k.stand_in_counts END AS bar_counts,
    CASE WHEN d.stands_in IS NULL THEN k.low_counts ELSE k.stand_in_counts END AS low_counts
FROM used AS c
JOIN ruling AS k ON {asks}
LEFT JOIN stand_in AS d ON d.value_no = c.value_no AND d.table_no = k.table_no AND d.row_no = k.row_no
WHERE k.row_no >= 0 OR c.doubt <> 'only_total';

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

-- step told
SELECT {value}, c.level_table, c.version, c.table_no, c.row_no, c.level, c.stands_in, c.outcome, c.within_tolerance,
    false AS condition_unknown, false AS rows_disagree
FROM judged AS c
WHERE c.alone
UNION ALL
SELECT {value}, u.level_table, u.version, a.table_no, a.row_no, a.level, a.stands_in,
    CASE WHEN a.rows_disagree OR a.worst = 1 THEN 'open' WHEN a.worst = 0 THEN 'exceeds' WHEN a.worst = 2 THEN 'does_not_exceed'
         ELSE 'no_level' END,
    a.within_tolerance, a.condition_unknown, a.rows_disagree
FROM agreed AS a
JOIN used AS c ON c.value_no = a.value_no
JOIN used_table AS u ON u.scheme_no = c.scheme_no AND u.table_no = a.table_no;

-- step told_with_sum keep needs counted_part: a part without a level of its own is told with the sum in which it counts
SELECT DISTINCT c.value_no, k.asked_no, s.level_analyte
FROM used AS c
JOIN asked AS k ON {asks}
SEMI JOIN ruling AS r ON r.asked_no = k.asked_no AND (r.row_no < 0 OR NOT r.alone)
JOIN counted_part AS p ON p.scheme_no = c.scheme_no AND p.part = c.analyte
JOIN used AS s ON s.analyte = p.whole AND s.sample_no = c.sample_no;

-- step of_other_fraction keep needs derived_value: a delivered value that is told as the fraction that a level asks for
SELECT DISTINCT c.value_no, k.asked_no
FROM used_derived AS f
JOIN used AS c ON c.site_no = f.site_no AND c.row_id = f.row_id AND c.value_no <> f.value_no
JOIN asked AS k ON {asks}
WHERE f.doubt = 'other_fraction';

-- step by_facts keep needs group_condition: the facts of the sample leave no row; as if none were listed
SELECT c.value_no, n.table_no
FROM used AS c
JOIN asked AS k ON {asks}
JOIN unlisted AS n ON n.asked_no = k.asked_no
SEMI JOIN fitting AS f ON f.value_no = c.value_no AND f.excluded
ANTI JOIN agreed AS a ON a.value_no = c.value_no
ANTI JOIN ruling AS r ON r.asked_no = k.asked_no AND r.row_no >= 0 AND r.alone
ANTI JOIN told_with_sum AS w ON w.value_no = c.value_no
ANTI JOIN of_other_fraction AS o ON o.value_no = c.value_no
WHERE c.doubt <> 'only_total';

-- step dropped keep needs several: no level by rows that decide together, where another table lists one or says so first
SELECT n.value_no, n.table_no, n.row_no
FROM (SELECT t.* FROM told AS t SEMI JOIN agreed AS a ON a.value_no = t.value_no WHERE t.row_no >= 0 AND t.outcome = 'no_level') AS n
SEMI JOIN (SELECT t.* FROM told AS t SEMI JOIN agreed AS a ON a.value_no = t.value_no WHERE t.row_no >= 0) AS o
    ON o.value_no = n.value_no AND (o.outcome <> 'no_level' OR o.table_no < n.table_no);

-- step untold keep needs strikes: what is told elsewhere: with a sum, by another fraction, by another table
SELECT w.value_no, r.table_no, r.row_no
FROM told_with_sum AS w
JOIN ruling AS r ON r.asked_no = w.asked_no AND r.row_no < 0
LEFT JOIN level_row AS l
    ON l.scheme_no = r.scheme_no AND l.table_no = r.table_no AND l.medium = r.medium AND l.analyte = w.level_analyte
WHERE r.kind = 'no_level' OR (NOT r.named AND l.row_no IS NOT NULL)
UNION
SELECT o.value_no, r.table_no, r.row_no
FROM of_other_fraction AS o
JOIN ruling AS r ON r.asked_no = o.asked_no AND r.row_no < 0 AND r.kind = 'no_level'
UNION
SELECT value_no, table_no, row_no FROM dropped;

-- step settled keep needs tolerance: where the rule lets the mean of several samples of a place decide; the sum is held against as many bars
SELECT o.value_no, o.table_no,
    CASE WHEN sum(n.lower) > sum(l.bar) OR (bool_or(l.bar_counts) AND sum(n.lower) = sum(l.bar)) THEN 'exceeds'
         WHEN count(n.upper) = count(*)
              AND (sum(n.upper) < sum(l.bar) OR (NOT bool_or(l.bar_counts) AND sum(n.upper) = sum(l.bar))) THEN 'does_not_exceed'
         ELSE 'open' END AS outcome
FROM told AS o
JOIN tolerance AS t ON t.scheme_no = o.scheme_no AND t.table_no = o.table_no
JOIN used AS n ON n.site_no = o.site_no AND n.analyte = o.analyte AND n.location = o.location AND n.medium = o.medium
    AND n.fraction = o.fraction AND n.depth_top IS NOT DISTINCT FROM o.depth_top AND n.sample_kind = 'field'
JOIN level_row AS l ON l.scheme_no = o.scheme_no AND l.table_no = o.table_no AND l.row_no = o.row_no
WHERE o.within_tolerance AND o.outcome = 'open' AND NOT o.rows_disagree AND o.location <> '' AND o.sample_kind = 'field'
GROUP BY o.value_no, o.table_no
HAVING count(DISTINCT n.sample_id) >= max(t.samples) AND count(DISTINCT n.sample_id) = count(*);

-- step outcome
SELECT {value}, c.level_table, c.version, c.table_no, CASE WHEN c.row_no >= 0 THEN c.row_no END AS row_no, c.level, c.stands_in,
    coalesce(m.outcome, c.outcome) AS outcome, c.condition_unknown, c.rows_disagree
FROM told AS c
LEFT JOIN settled AS m ON m.value_no = c.value_no AND m.table_no = c.table_no
ANTI JOIN untold AS d ON d.value_no = c.value_no AND d.table_no = c.table_no AND d.row_no = c.row_no
UNION ALL
SELECT {value}, u.level_table, u.version, w.table_no, CAST(NULL AS INTEGER), CAST(NULL AS DECIMAL(38, 18)), CAST(NULL AS DECIMAL(38, 18)),
    'no_level', false, false
FROM by_facts AS w
JOIN used AS c ON c.value_no = w.value_no
JOIN used_table AS u ON u.scheme_no = c.scheme_no AND u.table_no = w.table_no;

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
SELECT c.site, c.sample_id, c.sample_kind, c.location, c.depth_top, c.depth_bottom, c.depth_unit, c.sampled_on, c.medium,
    c.analyte, c.cas, c.fraction, c.unit, c.detected, c.lower, c.upper, c.doubt, c.level_table, c.version, c.row_no AS level_row,
    c.level, c.stands_in, c.outcome, c.condition_unknown, c.rows_disagree, w.value_no IS NOT NULL AS outweighed, c.deliverable,
    c.row_id, c.value_no
FROM outcome AS c
LEFT JOIN outweighed AS w ON w.value_no = c.value_no AND w.table_no = c.table_no
WHERE w.mean IS NULL OR NOT w.mean;
