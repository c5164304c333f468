"""The whole job on generated deliverables, step by step, against bare DuckDB and against a pandas script of one's own.

    python tests/benchmarks/bench.py [--full] [--to FILE.json]
    python tests/benchmarks/bench.py --rows 10000000
    python tests/benchmarks/bench.py --sites 10000
    python tests/benchmarks/bench.py --amounts 100000000

Prints tables and writes JSON. Nothing here is a test: a slow or busy machine fails nothing.
"""

from __future__ import annotations

import argparse
import csv
import itertools
import json
import shutil
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import duckdb

sys.path.insert(0, str(Path(__file__).resolve().parent))
from generator import SUBSTANCES, Size, site_file, write_csv, write_xlsx
from measure import PYTHON, ROOT, Taken, exponent, machine, row, run, screening
from portfolios import bytes_of, multiply

HERE = Path(__file__).resolve().parent
LEVELS = ROOT / "standards" / "us-oh" / "closure" / "2017-01-01.csv"
SMALL, FULL = (10_000, 100_000), (10_000, 100_000, 1_000_000)
A_SITE, LARGE_SITE = 100, 10_000
"""Results of a site in a portfolio of many sites, and in one of many amounts."""
IMPORTED = 100
"""Sites of a portfolio of many sites that are imported and written out; the others are copies of them."""
ONE_BY_ONE = 100_000
"""The largest site that is screened, rescreened and reported by itself, and the largest that the pandas script is given."""


class Bench:
    """The lines measured so far, in the order of the work."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lines: list[dict[str, Any]] = []
        self.told: list[str] = []

    def add(self, step: str, size: int, taken: Taken, beside: dict[str, float] | None = None) -> Taken:
        """Keep and print one line."""
        self.lines.append(row(step, size, taken, beside))
        more = "".join(f"  {value:.2f} {key}" for key, value in (beside or {}).items())
        print(
            f"{step:<18}{size:>11,}{taken.clock:>10.2f} s{taken.worked:>10.2f} s worked{taken.peak_mib:>8.0f} MiB{more}",
            flush=True,
        )
        return taken

    def imported(self, size: int) -> tuple[Path, int, Taken]:
        """One csv of about so many results, imported into a new store: its folder, its rows, what it took."""
        place = self.folder / str(size)
        place.mkdir()
        deliverable, database = place / "lab.csv", place / "store.duckdb"
        rows = write_csv(deliverable, Size(size))
        (place / "site.toml").write_text(site_file(1, "s1"), encoding="utf-8")
        screening(database, "init", place)
        screening(database, "site", "add", place / "site.toml")
        bare = self.add("bare import", rows, run(PYTHON, HERE / "bare.py", "import", deliverable, place / "bare.duckdb"))
        took = screening(database, "import", deliverable, "--site", "s1")
        return place, rows, self.add("import", rows, took, {"times bare": took.worked / bare.worked})

    def site(self, size: int) -> None:
        """One site of about so many results through every step."""
        place, rows, took = self.imported(size)
        deliverable, database = place / "lab.csv", place / "store.duckdb"
        self.add("portfolio write", rows, screening(database, "portfolio", "write", place / "portfolio"))
        self.portfolio(place / "portfolio", place)
        bare = self.add("bare screen", rows, run(PYTHON, HERE / "bare.py", "screen", place / "bare.duckdb", LEVELS))
        if size > ONE_BY_ONE:
            return
        self.add("review", rows, screening(database, "review", "--site", "s1"))
        screen = screening(database, "screen", "--site", "s1")
        self.add("screen one site", rows, screen, {"times bare": screen.worked / bare.worked})
        answer = json.loads(screen.output)
        self.add("rescreen", rows, screening(database, "rescreen", "--levels-on", "2020-01-01", "--site", "s1"))
        self.add(
            "report (data)", rows, screening(database, "report", "--run", answer["run"], "--to", place / "out", "--only", "data")
        )
        hand = run(PYTHON, HERE / "by_hand.py", deliverable, LEVELS, "2", place / "by-hand.csv")
        whole = took.worked + screen.worked
        self.add("pandas, by hand", rows, hand, {"times import and screen": hand.worked / whole})
        self.told.append(same_verdicts(answer, place / "by-hand.csv"))

    def portfolio(self, folder: Path, place: Path) -> None:
        """A portfolio screened by DuckDB, and the bare reading, joining and writing of it."""
        (amounts,) = duckdb.execute(f"SELECT count(*) FROM read_parquet('{folder}/value/*.parquet')").fetchall()[0]
        took = screening(place / "none.duckdb", "portfolio", "screen", folder, "--to", place / "screened")
        bare = run(PYTHON, HERE / "bare.py", "portfolio", folder, place / "screened" / "law", place / "bare.parquet")
        self.add("bare portfolio", amounts, bare)
        beside = {"times bare": took.worked / bare.worked, "times bare by the clock": took.clock / bare.clock}
        sizes = {"MiB read": bytes_of(folder) / 2**20, "MiB written": bytes_of(place / "screened") / 2**20}
        self.add("portfolio screen", amounts, took, {**beside, **sizes})
        shutil.rmtree(place / "screened")
        (place / "bare.parquet").unlink()

    def multiplied(self, folder: Path, times: int) -> None:
        """The same portfolio so many times over, each copy under sites of its own."""
        place = self.folder / f"times-{times}"
        multiply(folder, place / "portfolio", times)
        self.portfolio(place / "portfolio", place)
        shutil.rmtree(place)

    def of_many_sites(self, sites: int, results: int, imported: int) -> None:
        """A portfolio of so many sites, of which ``imported`` are generated, imported and written out; the others are copies of them."""
        place = self.folder / f"sites-{sites}-of-{results}"
        place.mkdir()
        taken = run(PYTHON, HERE / "portfolios.py", place, imported, results)
        self.add(f"{imported} sites imported", imported * results, taken)
        (amounts,) = duckdb.execute(f"SELECT count(*) FROM read_parquet('{place}/portfolio/value/*.parquet')").fetchall()[0]
        times = -(-sites // imported)
        print(f"{sites:,} sites of about {results:,} results, copies of {imported}: {amounts * times:,} amounts", flush=True)
        self.multiplied(place / "portfolio", times)

    def ordinary(self) -> None:
        """What a laboratory sends: a workbook of 2,000 rows, from a new store to the answer."""
        place = self.folder / "ordinary"
        place.mkdir()
        database = place / "store.duckdb"
        write_xlsx(place / "lab.xlsx", Size(2_000), 2_000)
        (place / "site.toml").write_text(site_file(1, "s1"), encoding="utf-8")
        screening(database, "init", place)
        screening(database, "site", "add", place / "site.toml")
        shutil.copy(database, place / "again.duckdb")
        self.add("import xlsx", 2_000, screening(database, "import", place / "lab.xlsx", "--site", "s1"))
        self.add("screen", 2_000, screening(database, "screen", "--site", "s1"))
        both = screening(place / "again.duckdb", "import", place / "lab.xlsx", "--site", "s1", "--screen")
        self.add("import xlsx and screen", 2_000, both)
        self.told.append(f"an ordinary workbook imported and screened in {both.clock:.2f} s ({both.worked:.2f} s worked)")

    def growth(self) -> list[dict[str, Any]]:
        """For each step how its seconds and its memory grow from one size to the next."""
        found = []
        for step in dict.fromkeys(line["step"] for line in self.lines):
            sizes = sorted((line["rows"], line["worked"], line["peak_mib"]) for line in self.lines if line["step"] == step)
            for small, large in itertools.pairwise(sizes):
                found.append(
                    {
                        "step": step, "from": small[0], "to": large[0],
                        "seconds": round(exponent(small[:2], large[:2]), 2),
                        "memory": round(exponent((small[0], small[2]), (large[0], large[2])), 2),
                    }
                )  # fmt: skip
        return found


def same_verdicts(answer: dict[str, Any], by_hand_file: Path) -> str:
    """How many verdicts the tool and the pandas script share; the first that differ are named."""
    with SUBSTANCES.open(newline="", encoding="utf-8") as file:
        numbers = {one["name"]: one["cas"] or one["name"] for one in csv.DictReader(file)}
    with by_hand_file.open(newline="", encoding="utf-8") as file:
        hand = {(one["Sample ID"], numbers[one["Compound"]]): one["outcome"] for one in csv.DictReader(file)}
    tool = {(one["sample_id"], one["cas"] or one["analyte"]): one["outcome"] for one in answer["outcomes"]}
    differ = [
        f"{key}: {tool.get(key)} / by hand {hand.get(key)}" for key in sorted({*hand, *tool}) if tool.get(key) != hand.get(key)
    ]
    return f"{len(hand)} verdicts by hand, {len(differ)} of them or of the tool's differ: {differ[:3]}"


def everything(bench: Bench, sizes: Sequence[int], times: int) -> None:
    """One site of each size through every step, and the largest as a portfolio so many times over."""
    bench.ordinary()
    for size in sizes:
        bench.site(size)
    if times:
        bench.multiplied(bench.folder / str(sizes[-1]) / "portfolio", times)


def main() -> None:
    """Measure, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--sizes", type=int, nargs="+", help="results of one site, in place of the usual sizes")
    parser.add_argument("--times", type=int, default=0, help="copies of the largest portfolio, screened at once")
    parser.add_argument("--sites", type=int, default=0, help=f"nothing but a portfolio of so many sites of {A_SITE} results")
    parser.add_argument(
        "--amounts", type=int, default=0, help=f"nothing but a portfolio of so many amounts, at sites of {LARGE_SITE:,}"
    )
    parser.add_argument("--rows", type=int, default=0, help="nothing but the import of one csv of so many results")
    parser.add_argument("--to", type=Path, default=ROOT / "out" / "bench.json")
    asked = parser.parse_args()
    on = machine()
    print(on)
    with tempfile.TemporaryDirectory(prefix="bench-") as name:
        bench = Bench(Path(name))
        if asked.rows or asked.sites or asked.amounts:
            if asked.rows:
                bench.imported(asked.rows)
            if asked.sites:
                bench.of_many_sites(asked.sites, A_SITE, min(asked.sites, IMPORTED))
            if asked.amounts:
                bench.of_many_sites(max(1, asked.amounts // LARGE_SITE), LARGE_SITE, 10)
        else:
            everything(bench, asked.sizes or (FULL if asked.full else SMALL), asked.times or (10 if asked.full else 0))
    growth = bench.growth()
    print("growth: exponent of seconds worked, of memory")
    for one in growth:
        print(f"  {one['step']:<18}{one['from']:>11,} to {one['to']:>11,}  {one['seconds']:>5.2f}  {one['memory']:>5.2f}")
    print("\n".join(bench.told))
    asked.to.parent.mkdir(parents=True, exist_ok=True)
    asked.to.write_text(json.dumps({"machine": on, "steps": bench.lines, "growth": growth, "told": bench.told}, indent=1) + "\n")
    print(f"written: {asked.to}")


if __name__ == "__main__":
    main()
