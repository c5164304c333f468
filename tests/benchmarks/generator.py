"""Deliverables of any size, all invented: sites, samples, values and laboratories exist nowhere.

Rows come from DuckDB by arithmetic on the numbers of site, sample and substance, so the same size is the same file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import duckdb

SUBSTANCES = Path(__file__).with_name("substances.csv")
HEADINGS = {
    "lab": "Laboratory", "sample": "Sample ID", "lab_number": "Lab number", "kind": "Sample type", "parent": "Parent sample",
    "location": "Location", "matrix": "Matrix", "depth": "Depth (ft)", "collected": "Collected", "received": "Received",
    "prepared": "Prepared", "analysed": "Analyzed", "batch": "Batch", "method": "Method", "compound": "Compound", "cas": "CAS",
    "result": "Result", "unit": "Units", "basis": "Basis", "flag": "Flag", "rl": "RL", "mdl": "MDL", "dilution": "Dilution",
    "solids": "% solids", "run": "Run", "recovery": "Recovery %", "low": "Lower recovery limit", "high": "Upper recovery limit",
}  # fmt: skip
A_BATCH = 20
"""Samples of a batch; each batch has a method blank and a laboratory control sample."""


@dataclass(frozen=True)
class Size:
    """About so many results at so many sites."""

    results: int
    sites: int = 1

    @property
    def samples(self) -> int:
        """Samples a site."""
        with SUBSTANCES.open(encoding="utf-8") as lines:
            substances = sum(1 for _ in lines) - 1
        return max(1, round(self.results / self.sites / substances))


ROWS = """
CREATE OR REPLACE TEMP MACRO chance(a, b, c, salt) AS CAST(hash(a * 1000003 + b * 1009 + c * 31 + salt) % 10000 AS INTEGER);
CREATE OR REPLACE TEMP MACRO digits(x) AS CASE
    WHEN x >= 100 THEN format('{:.0f}', x) WHEN x >= 10 THEN format('{:.1f}', x) WHEN x >= 1 THEN format('{:.2f}', x)
    WHEN x >= 0.1 THEN format('{:.3f}', x) WHEN x >= 0.01 THEN format('{:.4f}', x) WHEN x >= 0.001 THEN format('{:.5f}', x)
    ELSE format('{:.6f}', x) END;
CREATE OR REPLACE TEMP TABLE substance AS
    SELECT row_number() OVER () AS no, name, coalesce(cas, '') AS cas, "group" AS sort, CAST(soil AS DOUBLE) AS soil, CAST(water AS DOUBLE) AS water
    FROM read_csv($substances, all_varchar = true);
CREATE OR REPLACE TEMP VIEW sample AS
SELECT site, n, n // {batch} AS batch_no,
    'S' || lpad(CAST(site AS VARCHAR), 5, '0') AS site_name,
    n % 19 = 18 AS twin,
    CASE WHEN n % 19 = 18 THEN n - 1 ELSE n END AS of_place,
    DATE '2024-01-08' + CAST((CASE WHEN n % 19 = 18 THEN n - 1 ELSE n END) // {batch} % 500 + site % 90 AS INTEGER) AS day
FROM range({first}, {last}) AS s(site), range({samples}) AS t(n);
CREATE OR REPLACE TEMP VIEW described AS
SELECT *, site_name || '-L' || lpad(CAST(of_place // 3 AS VARCHAR), 6, '0') AS location,
    chance(site, of_place // 3, 0, 1) < 6000 AS is_soil,
    1 + of_place % 3 * 4 + chance(site, of_place, 0, 2) % 4 * 0.5 AS depth,
    70 + chance(site, of_place, 0, 3) % 280 / 10 AS solids
FROM sample;
CREATE OR REPLACE TEMP VIEW measured AS
SELECT d.*, u.no, u.name, u.cas, u.sort, 1 AS run,
    d.site_name || CASE WHEN d.is_soil THEN 'S' ELSE 'W' END || substr(u.sort, 1, 1) || lpad(CAST(d.batch_no AS VARCHAR), 5, '0') AS batch,
    CASE WHEN d.is_soil THEN u.soil ELSE u.water END AS usual,
    exp((chance(d.site, d.of_place, u.no, 4) + chance(d.site, d.of_place, u.no, 5) - 9999) / 3600) AS spread,
    0.9 + CASE WHEN d.twin THEN chance(d.site, d.n, u.no, 6) % 200 / 1000 ELSE 0.1 END AS again,
    chance(d.site, d.of_place, u.no, 7) AS luck,
    chance(d.site, d.n, 0, 8) < 100 AS slow
FROM described AS d CROSS JOIN substance AS u;
CREATE OR REPLACE TEMP VIEW amount AS
SELECT *, usual * 0.05 AS limit_amount, usual * spread * again AS true_amount,
    luck < 4500 AND usual * spread * again > usual * 0.01 AS found, luck < 60 AS over_range
FROM measured;
CREATE OR REPLACE TEMP VIEW written AS
SELECT *, CASE WHEN is_soil AND site % 2 = 0 AND sort IN ('VOC', 'PAH') THEN 1000 ELSE 1 END AS times,
    CASE WHEN NOT is_soil THEN CASE WHEN sort = 'TPH' THEN 'mg/L' ELSE 'ug/L' END
         WHEN site % 2 = 0 AND sort IN ('VOC', 'PAH') THEN 'ug/kg' ELSE 'mg/kg' END AS unit,
    day + 2 AS received, day + 3 AS prepared,
    day + CASE WHEN slow THEN CASE WHEN sort = 'VOC' THEN 17 ELSE 46 END ELSE CAST(4 + n % 5 AS INTEGER) END AS analysed,
    CASE sort WHEN 'VOC' THEN '8260D' WHEN 'PAH' THEN '8270E' WHEN 'TPH' THEN '8015D' ELSE '6020B' END AS method
FROM amount;
CREATE OR REPLACE TEMP VIEW runs AS
SELECT *, 1 AS dilution FROM written
UNION ALL SELECT * REPLACE (2 AS run), 10 AS dilution FROM written WHERE over_range AND found;
CREATE OR REPLACE TEMP VIEW in_text AS
SELECT *, digits(true_amount * CASE WHEN unit = 'mg/L' THEN 0.001 ELSE times END * CASE WHEN run = 2 THEN 1.08 ELSE 1 END) AS amount_text,
    digits(limit_amount * dilution / share * CASE WHEN unit = 'mg/L' THEN 0.001 ELSE times END) AS rl_text,
    digits(limit_amount * dilution / share * CASE WHEN unit = 'mg/L' THEN 0.0002 ELSE 0.2 * times END) AS mdl_text
FROM (  -- limits of a soil are per dry mass, as its results; in one batch of fifty the laboratory forgot to convert them
    SELECT *, CASE WHEN is_soil AND chance(site, batch_no, 0, 12) >= 200 THEN solids / 100 ELSE 1 END AS share FROM runs
);
CREATE OR REPLACE TEMP VIEW field AS
SELECT site, n, 0 AS part, no, run, 'Quenby Analytical (invented)' AS lab, site_name || '-' || lpad(CAST(n AS VARCHAR), 6, '0') AS sample,
    'Q' || site || '-' || n AS lab_number, CASE WHEN twin THEN 'field duplicate' ELSE 'field' END AS kind,
    CASE WHEN twin THEN site_name || '-' || lpad(CAST(n - 1 AS VARCHAR), 6, '0') ELSE '' END AS parent,
    location, CASE WHEN is_soil THEN 'Soil' ELSE 'Groundwater' END AS matrix, CASE WHEN is_soil THEN format('{:.1f}', depth) ELSE '' END AS depth,
    CAST(day AS VARCHAR) AS collected, CAST(received AS VARCHAR) AS received, CASE WHEN sort IN ('PAH', 'TPH') THEN CAST(prepared AS VARCHAR) ELSE '' END AS prepared,
    CAST(analysed AS VARCHAR) AS analysed, batch, method, name AS compound, cas,
    CASE WHEN NOT found THEN CASE chance(site, n, no, 9) % 3 WHEN 0 THEN '<' || rl_text WHEN 1 THEN rl_text ELSE 'ND' END ELSE amount_text END AS result,
    unit, CASE WHEN is_soil THEN 'dry' ELSE '' END AS basis,
    CASE WHEN NOT found THEN 'U' WHEN over_range AND run = 1 THEN 'E' WHEN run = 2 THEN 'D'
         WHEN true_amount < limit_amount THEN 'J' ELSE '' END AS flag,
    rl_text AS rl, mdl_text AS mdl, CAST(dilution AS VARCHAR) AS dilution,
    CASE WHEN is_soil THEN format('{:.1f}', solids) ELSE '' END AS solids, CAST(run AS VARCHAR) AS run_no, '' AS recovery, '' AS low, '' AS high
FROM in_text;
CREATE OR REPLACE TEMP VIEW control AS
SELECT site, batch_no * {batch} + {batch} - 1 AS n, p.part, no, 1 AS run, 'Quenby Analytical (invented)' AS lab,
    p.prefix || batch AS sample, p.prefix || batch AS lab_number, p.kind, '' AS parent, '' AS location,
    CASE WHEN is_soil THEN 'Soil' ELSE 'Groundwater' END AS matrix, '' AS depth, '' AS collected, '' AS received, '' AS prepared,
    CAST(max(analysed) AS VARCHAR) AS analysed, batch, method, name AS compound, cas,
    CASE WHEN p.part = 2 THEN digits(usual * times) WHEN chance(site, batch_no, no, 10) < 15 THEN digits(usual * times * 0.06) ELSE '<' || digits(usual * times * 0.05) END AS result,
    any_value(CASE WHEN unit = 'mg/L' THEN 'ug/L' ELSE unit END) AS unit, any_value(CASE WHEN is_soil THEN 'dry' ELSE '' END) AS basis,
    '' AS flag, CASE WHEN p.part = 1 THEN digits(usual * times * 0.05) ELSE '' END AS rl, '' AS mdl, '1' AS dilution, '' AS solids, '1' AS run_no,
    CASE WHEN p.part = 2 THEN CAST(80 + chance(site, batch_no, no, 11) % 41 AS VARCHAR) ELSE '' END AS recovery,
    CASE WHEN p.part = 2 THEN '70' ELSE '' END AS low, CASE WHEN p.part = 2 THEN '130' ELSE '' END AS high
FROM written CROSS JOIN (VALUES (1, 'method blank', 'MB-'), (2, 'lab control', 'LC-')) AS p(part, kind, prefix)
GROUP BY ALL;
CREATE OR REPLACE TEMP VIEW deliverable_row AS SELECT * FROM field UNION ALL SELECT * FROM control;
"""


def prepare(connection: duckdb.DuckDBPyConnection, size: Size, first: int = 1, last: int | None = None) -> None:
    """Define the view ``deliverable_row`` of the sites from ``first`` up to, without, ``last`` (all by default)."""
    end = size.sites + 1 if last is None else last
    text = ROWS.replace("{batch}", str(A_BATCH)).replace("{first}", str(first)).replace("{last}", str(end))
    text = text.replace("{samples}", str(size.samples)).replace("$substances", f"'{SUBSTANCES}'")
    connection.execute(text)


def picked() -> str:
    """The columns of a deliverable under the headings of a laboratory."""
    names = {"run": "run_no"}
    return ", ".join(f'{names.get(column, column)} AS "{heading}"' for column, heading in HEADINGS.items())


def write_csv(path: Path, size: Size, first: int = 1, last: int | None = None) -> int:
    """Write one csv with the rows of the sites; returns the number of rows."""
    with duckdb.connect() as connection:
        prepare(connection, size, first, last)
        done = connection.execute(
            f"COPY (SELECT {picked()} FROM deliverable_row ORDER BY site, n, part, no, run) TO '{path}' (HEADER, DELIMITER ',')"
        ).fetchone()
    return int(done[0]) if done else 0


def write_xlsx(path: Path, size: Size, rows: int | None = None) -> int:
    """Write one workbook with the rows of all sites, or the first so many; returns the number of rows."""
    import openpyxl

    with duckdb.connect() as connection:
        prepare(connection, size)
        found = connection.execute(
            f"SELECT {picked()} FROM deliverable_row ORDER BY site, n, part, no, run" + (f" LIMIT {rows}" if rows else "")
        ).fetchall()
    book = openpyxl.Workbook(write_only=True)
    page = book.create_sheet("Results")
    page.append(list(HEADINGS.values()))
    for row in found:
        page.append([_number(text) for text in row])
    book.save(path)
    return len(found)


def _number(text: str) -> str | float | None:
    """A cell as laboratories write it: plain numbers as numbers, the rest as text."""
    if not text:
        return None
    try:
        return float(text) if not text.startswith("0") or text.startswith("0.") else text
    except ValueError:
        return text


def site_file(number: int, name: str = "") -> str:
    """The least site file of one generated site."""
    identity = name or f"s{number:05d}"
    return (
        f'[site]\nid = "{identity}"\nname = "Invented site {number}"\nplace = "us-oh"\n'
        '[screening]\nlevels = ["us-oh/closure"]\n[conditions]\nsoil_class = "2"\n'
    )
