"""Portfolios of any size: generated sites imported and written out, then copied under numbers of their own until there are enough.

python portfolios.py PLACE SITES RESULTS [varied]
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import duckdb

from screening.portfolio.shape import APART, SHAPES

sys.path.insert(0, str(Path(__file__).resolve().parent))
from generator import Size, site_file, write_csv

VARIED = (
    ('"us-oh/closure"', 'soil_class = "1"'),
    ('"us-oh/closure"', 'soil_class = "3"'),
    ('"us-wa/soil-method-a-recalled", "us-wa/groundwater-method-a-recalled"', ""),
    ('"us-ma/method-1", "us/drinking-water"', ""),
)
"""Tables and conditions in turn: levels alone, sums and equivalents, rows of unknown conditions, several tables."""
NUMBERS = ("value_no", "sample_no", "parent_no", "duplicate_no", "mean_no")


def fill(place: Path, sites: int, results: int, *, varied: bool) -> None:
    """Import so many sites of so many results each, and write them into ``place / "portfolio"``, all in this process."""
    from click.testing import CliRunner

    from screening.cli.main import commands

    def screening(*words: object) -> None:
        result = CliRunner().invoke(commands(), ["--json", "--database", str(place / "store.duckdb"), *map(str, words)])
        if result.exit_code not in (0, 3):
            raise RuntimeError(f"{words}: {result.stderr}")

    screening("init", place)
    for number in range(1, sites + 1):
        text = site_file(number)
        if varied:
            levels, condition = VARIED[number % len(VARIED)]
            text = text.replace('"us-oh/closure"', levels).replace('soil_class = "2"', condition)
        (place / "site.toml").write_text(text, encoding="utf-8")
        screening("site", "add", place / "site.toml")
        write_csv(place / "lab.csv", Size(results * sites, sites), number, number + 1)
        screening("import", place / "lab.csv", "--site", f"s{number:05d}")
    screening("portfolio", "write", place / "portfolio")


def multiply(folder: Path, large: Path, times: int) -> int:
    """The same portfolio so many times over in the new folder, each copy under sites of its own; returns its amounts."""
    large.mkdir(parents=True)
    (large / "portfolio.json").write_bytes((folder / "portfolio.json").read_bytes())
    with duckdb.connect() as connection:
        found = f"SELECT count(*), max(site_no) + 1 FROM read_parquet('{folder}/value/*.parquet')"
        amounts, sites = connection.execute(found).fetchall()[0]
        for name, columns in SHAPES.items():
            shutil.copytree(folder / name, large / name)
            rows = f"read_parquet('{folder}/{name}/*.parquet')"
            there = connection.execute(f"SELECT count(*) FROM {rows}").fetchall() != [(0,)]
            for copy in range(1, times if there else 1):
                on = {"site_no": copy * sites, **dict.fromkeys(NUMBERS, copy * sites * APART)}
                changes = [f"{column} + {more} AS {column}" for column, more in on.items() if f"{column} " in columns]
                if name == "site":
                    changes += [f"site || '-{copy}' AS site"]
                to = large / name / f"copy-{copy:05d}.parquet"
                connection.execute(
                    f"COPY (SELECT * REPLACE ({', '.join(changes)}) FROM {rows}) TO '{to}' (FORMAT parquet, COMPRESSION zstd)"
                )
    return int(amounts) * times


def bytes_of(folder: Path) -> int:
    """What the files below a folder take on the disk."""
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


if __name__ == "__main__":
    fill(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), varied="varied" in sys.argv[4:])
