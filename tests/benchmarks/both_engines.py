"""A large portfolio of generated sites screened by DuckDB and by Apache Spark: the same rows, and what each takes.

    python tests/benchmarks/both_engines.py [--sites 1000] [--results 1000] [--imported 50]

Of the sites, ``--imported`` are imported and written out, under tables in turn; the rest are copies under numbers of their own.
Ends with status 1 where a row of the one has no like of the other.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

import duckdb

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "portfolio"))
sys.path.insert(0, str(Path(__file__).resolve().parent))
from measure import PYTHON, machine, run, screening
from portfolios import bytes_of, multiply
from same import rows_apart

HERE = Path(__file__).resolve().parent


def main() -> None:
    """Generate, import, multiply, screen twice, compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=1000)
    parser.add_argument("--results", type=int, default=1000, help="about so many results a site")
    parser.add_argument("--imported", type=int, default=50, help="sites imported; the others are copies of them")
    parser.add_argument("--spark", action="append", default=["spark.driver.memory=3g"], metavar="KEY=VALUE")
    asked = parser.parse_args()
    print(machine())
    with tempfile.TemporaryDirectory(prefix="engines-") as name:
        place = Path(name)
        taken = run(PYTHON, HERE / "portfolios.py", place, asked.imported, asked.results, "varied")
        print(f"{asked.imported} sites imported and written: {taken.worked:.0f} s worked, {taken.peak_mib:.0f} MiB", flush=True)
        amounts = multiply(place / "portfolio", place / "large", max(1, asked.sites // asked.imported))
        print(f"{amounts:,} amounts of {asked.sites} sites, {bytes_of(place / 'large'):,} bytes", flush=True)
        options = [word for option in asked.spark for word in ("--spark", option)]
        for engine, words in (("duckdb", ()), ("spark", options)):
            to = place / engine
            taken = screening(
                place / "none.duckdb", "portfolio", "screen", place / "large", "--to", to, "--engine", engine, *words
            )
            (rows,) = duckdb.execute(f"SELECT count(*) FROM read_parquet('{to}/outcome/*.parquet')").fetchall()[0]
            print(
                f"{engine:<8}{rows:>12,} rows{taken.clock:>9.1f} s{taken.worked:>9.1f} s worked{taken.peak_mib:>8.0f} MiB"
                f"{bytes_of(to / 'outcome'):>15,} bytes",
                flush=True,
            )
        apart = rows_apart(place / "duckdb", place / "spark")
        told = duckdb.execute(
            f"SELECT level_table, outcome, count(*) FROM read_parquet('{place}/duckdb/outcome/*.parquet') GROUP BY ALL ORDER BY ALL"
        )
        print("\n".join(f"  {table:<40}{outcome:<18}{count:>12,}" for table, outcome, count in told.fetchall()))
        shutil.rmtree(place / "large")
    print(f"rows of the one without their like of the other: {apart}")
    sys.exit(1 if any(apart) else 0)


if __name__ == "__main__":
    main()
