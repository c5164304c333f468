"""Stores at each stage of the main job, kept as files, with an invented deliverable; and what a store holds."""

from __future__ import annotations

import csv
import shutil
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb
from forks import Ended

ROW = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "sampled_at": "2025-03-04", "method": "invented"}
ANALYTES = ("Benzene", "Toluene", "Ethylbenzene", "Bensene", "Mystery Oil", "Naphthalene")
SITE = """
[site]
id = "one"
name = "Invented Yard"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[conditions]
soil_class = "1"
"""
Contents = dict[str, list[tuple[Any, ...]]]


def contents(database: Path) -> Contents:
    """Every row of every table, but for the moments at which it was written, and the seals made with them."""
    with duckdb.connect(database) as store:
        found = {}
        for (table,) in store.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall():
            rows = store.execute(f'SELECT * EXCLUDE (moment) FROM (SELECT NULL AS moment, * FROM "{table}") ORDER BY ALL')
            timeless = [at for at, one in enumerate(rows.description or []) if str(one[1]) != "TIMESTAMP" and one[0] != "seal"]
            found[table] = [tuple(row[at] for at in timeless) for row in rows.fetchall()]
        return found


def write_deliverable(folder: Path, name: str = "lab.csv", samples: int = 12) -> Path:
    """A deliverable with results, rows to be held and a method blank (invented)."""
    rows = [
        {**ROW, "sample_id": f"S{number}", "location": f"B{number}", "analyte": analyte, "result": f"{0.01 * (number + at):.2f}"}
        for number in range(samples)
        for at, analyte in enumerate(ANALYTES)
    ]
    rows.append({**ROW, "sample_id": "MB", "sample_kind": "method_blank", "analyte": "Benzene", "result": "<0.01"})
    path = folder / name
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(dict.fromkeys(key for row in rows for key in row)), restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


@dataclass
class Stages:
    """The store after each stage of the job and how the command ended that made it, the first held row, and the run."""

    folder: Path
    held: str = ""
    run: str = ""
    stores: dict[str, Path] = field(default_factory=dict)
    ended: dict[str, Ended] = field(default_factory=dict)

    def begin(self, folder: Path, stage: str) -> Path:
        """A copy of the store as it is after a stage ('' for none at all), with deliverable and site file beside it."""
        for name in ("lab.csv", "site.toml"):
            shutil.copyfile(self.folder / name, folder / name)
        if stage:
            shutil.copyfile(self.stores[stage], folder / "store.duckdb")
        return folder / "store.duckdb"
