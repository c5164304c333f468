"""Makes a small store with invented data by the command line of any version of the code, and keeps it for test_upgrades.py.

Run it in a checkout whenever SCHEMA_VERSION is raised or the schema changes: ``python tests/upgrades/keep.py NAME``
(NAME as ``schema-5``); ``--code FOLDER`` runs the command line of another checkout, as for versions of the past.
"""

from __future__ import annotations

import argparse
import csv
import json
import lzma
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
KEPT = Path(__file__).resolve().parent / "kept"
SITE = """
[site]
id = "quarry"
name = "Old Quarry Road 5 (invented)"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[conditions]
soil_class = "1"
[[tank]]
id = "T1"
capacity_gal = 4000
product = "gasoline"
closure = "removed"
[[location]]
id = "QR-1"
component = "T1"
[[location]]
id = "QR-2"
component = "T1"
"""
FIELDS = (
    "sample_id", "location", "sample_kind", "medium", "sampled_at", "analysed_at", "method", "analyte", "cas", "result", "unit",
    "basis", "qualifiers", "reporting_limit", "detection_limit", "dilution",
)  # fmt: skip
SOIL = {"location": "QR-1", "medium": "soil", "sampled_at": "2025-03-04", "unit": "mg/kg", "basis": "dry", "method": "invented"}
FIRST: tuple[dict[str, str], ...] = (
    {"sample_id": "QR-1", "analyte": "Benzene", "cas": "71-43-2", "result": "0.7", "detection_limit": "0.001"},
    {"sample_id": "QR-1", "analyte": "Toluene", "cas": "108-88-3", "result": "<0.005"},
    {"sample_id": "QR-1", "analyte": "Ethylbenzene", "result": "12.50", "reporting_limit": "0.005"},
    {"sample_id": "QR-1", "analyte": "Naphthalene", "result": "0.5 U"},
    {"sample_id": "QR-2", "location": "QR-2", "analyte": "Benzene", "result": "90", "unit": "ug/kg"},
    {"sample_id": "QR-2", "location": "QR-2", "analyte": "Bensene", "result": "0.02"},
    {"sample_id": "QR-2", "location": "QR-2", "analyte": "Toluene", "result": "ND", "reporting_limit": "0.005"},
    {"sample_id": "QR-2", "location": "QR-2", "analyte": "Mystery Oil", "result": "3"},
    {"sample_id": "QR-2", "location": "QR-2", "analyte": "m,p-Xylene", "result": "1.2 J"},
    {"sample_id": "QR-2", "location": "QR-2", "analyte": "Styrene", "result": "0.4", "unit": ""},
    {"sample_id": "QR-W", "location": "QR-W", "medium": "groundwater", "unit": "ug/L", "basis": "", "analyte": "Benzene", "result": "5"},
    {"sample_id": "QR-W", "location": "QR-W", "medium": "groundwater", "unit": "ug/L", "basis": "", "analyte": "Toluene", "result": "1,250"},
    {"sample_id": "MB-1", "location": "", "sample_kind": "method_blank", "analyte": "Benzene", "result": "<0.001"},
)  # fmt: skip
REVISED: tuple[dict[str, str], ...] = (
    {"sample_id": "QR-1", "analyte": "Benzene", "cas": "71-43-2", "result": "0.07", "detection_limit": "0.001"},
)
CUSTODY = "sample,analyses,collected\nQR-1,BTEX,2025-03-04\nQR-2,BTEX,2025-03-04\n"


class CommandLine:
    """`screening --json` of the code in a folder, on the store in another."""

    def __init__(self, code: Path, folder: Path) -> None:
        self.code, self.folder = code, folder
        self.database = folder / "kept.duckdb"

    def run(self, *words: object, may_fail: bool = False) -> Any:
        """The document of a command; None where it fails and may."""
        done = subprocess.run(
            [sys.executable, "-m", "screening", "--json", "--database", str(self.database), *map(str, words)],
            env={**os.environ, "PYTHONPATH": str(self.code)}, cwd=self.folder, text=True, capture_output=True, check=False,
        )  # fmt: skip
        if done.returncode not in (0, 3):
            if may_fail:
                return None
            raise SystemExit(f"{words}: {done.returncode} {done.stderr}")
        return json.loads(done.stdout)


def _deliverable(folder: Path, name: str, rows: tuple[dict[str, str], ...]) -> Path:
    path = folder / name
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, FIELDS, restval="")
        writer.writeheader()
        writer.writerows({**SOIL, **row} for row in rows)
    return path


def documents(line: CommandLine) -> dict[str, Any]:
    """What the command line says of the store."""
    runs = line.run("runs", "list")["runs"]
    return {
        "results": line.run("results", "--site", "quarry", "--all")["results"],
        "held": line.run("held", "list", "--site", "quarry")["held"],
        "runs": runs,
        "answers": {one["run"]: line.run("runs", "show", one["run"]) for one in runs},
    }


def make(code: Path, folder: Path) -> CommandLine:
    """The job: a deliverable with held rows, answers to them, a screen, a revision, a custody record, levels, overrides."""
    line = CommandLine(code, folder)
    site = folder / "site.toml"
    site.write_text(SITE, encoding="utf-8")
    line.run("site", "add", site)
    first = line.run("import", _deliverable(folder, "quarry-1.csv", FIRST), "--site", "quarry", "--received", "2025-03-20")
    line.run("screen", "--site", "quarry", "--levels-on", "2025-04-01")
    who = ("--by", "I. Nvented", "--why", "read in the laboratory's list")
    for held in first["deliverables"][0]["held_back"]:
        if held["text"] == "Bensene":
            line.run("held", "accept", held["id"], "--as", "benzene", *who)
        elif held["text"] == "Mystery Oil":
            line.run("held", "reject", held["id"], *who)
    line.run("screen", "--site", "quarry", "--levels-on", "2025-04-01")
    line.run(
        "import", _deliverable(folder, "quarry-1b.csv", REVISED), "--site", "quarry", "--received", "2025-04-10",
        "--replaces", first["deliverables"][0]["id"], "--replaces-only-contents",
    )  # fmt: skip
    record = folder / "custody.csv"
    record.write_text(CUSTODY, encoding="utf-8")
    line.run("custody", "add", record, "--site", "quarry", "--received", "2025-03-05", may_fail=True)
    own = folder / "2025-01-01.csv"
    own.write_text("analyte,cas,medium,level,unit\nBenzene,71-43-2,soil,0.05,mg/kg\n", encoding="utf-8")
    line.run("levels", "add", own, "--table", "own/quarry", *who, may_fail=True)
    override = ("--sample", "QR-1", "--analyte", "Ethylbenzene", "--as", "estimated")
    line.run("review", "override", "--site", "quarry", *override, *who, may_fail=True)
    line.run("screen", "--site", "quarry", "--levels-on", "2025-04-01")
    line.run("screen", "--site", "quarry", "--levels", "own/quarry@2025-01-01", may_fail=True)
    line.run("rescreen", "--site", "quarry", "--levels-on", "2025-05-01", may_fail=True)
    line.run("sign-off", line.run("runs", "list")["runs"][-1]["run"], "--although-stale", *who, may_fail=True)
    return line


def main() -> None:
    """Make a store and keep it, packed, with what was said of it then."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("name")
    words.add_argument("--code", type=Path, default=ROOT)
    asked = words.parse_args()
    KEPT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        line = make(asked.code.resolve(), Path(folder))
        said = json.dumps(documents(line), ensure_ascii=False, sort_keys=True, indent=1)
        (KEPT / f"{asked.name}.duckdb.xz").write_bytes(lzma.compress(line.database.read_bytes(), preset=9))
        (KEPT / f"{asked.name}.json.xz").write_bytes(lzma.compress(said.encode(), preset=9))


if __name__ == "__main__":
    main()
