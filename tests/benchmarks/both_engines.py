"""A large portfolio of generated sites screened by DuckDB and by Apache Spark: the same rows, and what each takes.

    python tests/benchmarks/both_engines.py [--sites 1000] [--results 1000] [--imported 50]

Of the sites, ``--imported`` are imported and written out, under tables in turn; the rest are copies under numbers of their own.
Ends with status 1 where a row of the one has no like of the other.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import tempfile
import threading
from pathlib import Path

import duckdb

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "portfolio"))
sys.path.insert(0, str(Path(__file__).resolve().parent))
from measure import PYTHON, machine, run, screening
from portfolios import bytes_of, multiply
from same import rows_apart

HERE = Path(__file__).resolve().parent
ON = ("--levels-on", "2020-01-01")
"""A day on which all their tables were in force."""


class Watched:
    """The processes below this one while it lasts: Java, which no one waits for, would not be counted otherwise."""

    def __enter__(self) -> Watched:
        self.worked, self.peak_mib = 0.0, 0.0
        self._seconds: dict[str, float] = {}
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._look)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()
        self.worked = sum(self._seconds.values())

    def _look(self) -> None:
        page, tick = os.sysconf("SC_PAGE_SIZE"), os.sysconf("SC_CLK_TCK")
        while not self._over.wait(0.2):
            seen = {}
            for stat in Path("/proc").glob("[0-9]*/stat"):
                try:
                    words = stat.read_text().rpartition(")")[2].split()
                except OSError:  # it has ended
                    continue
                seen[stat.parent.name] = (words[1], (int(words[11]) + int(words[12])) / tick, int(words[21]) * page)
            below = {str(os.getpid())}
            while more := {process for process, (parent, *_) in seen.items() if parent in below} - below:
                below |= more
            found = {process: seen[process] for process in below - {str(os.getpid())} if process in seen}
            self._seconds |= {process: seconds for process, (_, seconds, _) in found.items()}
            self.peak_mib = max(self.peak_mib, sum(size for *_, size in found.values()) / 2**20)


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
        times = max(1, asked.sites // asked.imported)
        sites = times * asked.imported
        amounts = multiply(place / "portfolio", place / "large", times)
        print(f"{amounts:,} amounts of {sites} sites, {bytes_of(place / 'large'):,} bytes", flush=True)
        options = [word for option in asked.spark for word in ("--spark", option)]
        for engine, words in (("duckdb", ()), ("spark", options)):
            to = place / engine
            with Watched() as watched:
                taken = screening(
                    place / "none.duckdb", "portfolio", "screen", place / "large", "--to", to, "--engine", engine, *ON, *words
                )
            told = json.loads(taken.output)
            if told["refused"] or told["sites"] != sites:
                raise RuntimeError(f"{engine}: {told['sites']} sites of {sites}; {told['refused'][:1]}")
            (rows,) = duckdb.execute(f"SELECT count(*) FROM read_parquet('{to}/outcome/*.parquet')").fetchall()[0]
            print(
                f"{engine:<8}{rows:>12,} rows{taken.clock:>9.1f} s{watched.worked:>9.1f} s worked{watched.peak_mib:>8.0f} MiB"
                f"{bytes_of(to / 'outcome'):>15,} bytes",
                flush=True,
            )
        apart = rows_apart(place / "duckdb", place / "spark")
        counts = duckdb.execute(
            f"SELECT level_table, outcome, count(*) FROM read_parquet('{place}/duckdb/outcome/*.parquet') GROUP BY ALL ORDER BY ALL"
        )
        print("\n".join(f"  {table:<40}{outcome:<18}{count:>12,}" for table, outcome, count in counts.fetchall()))
        shutil.rmtree(place / "large")
    print(f"rows of the one without their like of the other: {apart}")
    sys.exit(1 if any(apart) else 0)


if __name__ == "__main__":
    main()
