"""Only the unavoidable: DuckDB reads the same data, joins the same tables and writes as much, with no rule applied.

python bare.py import DELIVERABLE.csv STORE.duckdb
python bare.py screen STORE.duckdb LEVELS.csv
python bare.py portfolio PORTFOLIO LAW TO
"""

from __future__ import annotations

import sys
from pathlib import Path

import duckdb

HERE = Path(__file__).resolve().parent
MEMORY = "1200MB"


def take_in(deliverable: str, store: str) -> None:
    """The texts as delivered into one table; numbers, days and the names joined into another."""
    with duckdb.connect(store) as connection:
        connection.execute(
            f"CREATE TABLE delivered AS SELECT row_number() OVER () AS row_id, * FROM read_csv('{deliverable}', all_varchar = true)"
        )
        connection.execute(f"CREATE TABLE name AS SELECT * FROM read_csv('{HERE / 'substances.csv'}', all_varchar = true)")
        connection.execute("""
            CREATE TABLE result AS
            SELECT d.row_id, d."Sample ID", d."Lab number", d."Sample type", d."Parent sample", d."Location", d."Matrix",
                TRY_CAST(d."Depth (ft)" AS DECIMAL(18, 6)) AS depth, TRY_CAST(d."Collected" AS TIMESTAMP) AS collected,
                TRY_CAST(d."Received" AS TIMESTAMP) AS received, TRY_CAST(d."Prepared" AS TIMESTAMP) AS prepared,
                TRY_CAST(d."Analyzed" AS TIMESTAMP) AS analysed, d."Laboratory", d."Method", d."Batch", d."Run", n.name, n.cas,
                d."Result", TRY_CAST(ltrim(d."Result", '<') AS DECIMAL(38, 18)) AS amount, d."Units", d."Basis", d."Flag",
                TRY_CAST(d."RL" AS DECIMAL(38, 18)) AS rl, TRY_CAST(d."MDL" AS DECIMAL(38, 18)) AS mdl,
                TRY_CAST(d."Dilution" AS DECIMAL(38, 18)) AS dilution, TRY_CAST(d."% solids" AS DECIMAL(38, 18)) AS solids,
                d."Recovery %", d."Lower recovery limit", d."Upper recovery limit"
            FROM delivered AS d LEFT JOIN name AS n ON n.name = d."Compound"
        """)


def screen(store: str, levels: str) -> None:
    """Stored results joined with the levels, compared, and the outcomes stored."""
    with duckdb.connect(store) as connection:
        connection.execute(f"CREATE OR REPLACE TEMP TABLE level AS SELECT * FROM read_csv('{levels}', all_varchar = true)")
        connection.execute("""
            CREATE OR REPLACE TABLE outcome AS
            SELECT r.*, l.level, l.citation, CASE WHEN r.amount > TRY_CAST(replace(l.level, ',', '') AS DECIMAL(38, 18)) THEN 'exceeds'
                ELSE 'does_not_exceed' END AS outcome
            FROM result AS r LEFT JOIN level AS l ON l.analyte = r.name AND l.medium = lower(r."Matrix") AND l.soil_class IN ('', '2')
            WHERE r."Sample type" IN ('field', 'field duplicate')
        """)


def portfolio(folder: str, law: str, to: str) -> None:
    """The amounts of a portfolio joined with its level rows, compared, and the outcomes written with the same columns."""
    with duckdb.connect() as connection:
        connection.execute(f"SET memory_limit = '{MEMORY}'; SET preserve_insertion_order = false")
        connection.execute(f"""
            COPY (
                SELECT s.site, c.sample_id, c.sample_kind, c.location, c.depth_top, c.depth_bottom, c.depth_unit, c.sampled_on, c.medium,
                    c.analyte, c.cas, c.fraction, c.unit, c.detected, c.lower, c.upper, c.doubt, u.level_table, u.version,
                    l.row_no AS level_row, l.level, NULL::DECIMAL(38, 18) AS stands_in,
                    CASE WHEN c.lower > l.bar THEN 'exceeds' ELSE 'does_not_exceed' END AS outcome, false AS condition_unknown,
                    false AS rows_disagree, false AS outweighed, c.deliverable, c.row_id, c.value_no
                FROM read_parquet('{folder}/value/*.parquet') AS c
                JOIN read_parquet('{law}/scheme_site/*.parquet') AS s ON s.site_no = c.site_no
                LEFT JOIN read_parquet('{law}/level_row/*.parquet') AS l
                    ON l.scheme_no = s.scheme_no AND l.analyte = c.level_analyte AND l.medium = c.medium
                LEFT JOIN read_parquet('{law}/used_table/*.parquet') AS u ON u.scheme_no = s.scheme_no AND u.table_no = l.table_no
            ) TO '{to}' (FORMAT parquet, COMPRESSION zstd)
        """)


if __name__ == "__main__":
    {"import": take_in, "screen": screen, "portfolio": portfolio}[sys.argv[1]](*sys.argv[2:])
