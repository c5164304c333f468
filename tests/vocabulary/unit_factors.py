"""Write screening/vocabulary/unit_factors.csv: what pint gives, as exact decimals, for every unit that the table of units lists.

`make unit-factors` runs it after a unit was added; a test works each factor out anew.
"""

from __future__ import annotations

import csv
from pathlib import Path

from screening.vocabulary.tables import rows
from screening.vocabulary.units import NORMAL, factor_by_pint

FILE = Path(__file__).resolve().parents[2] / "screening" / "vocabulary" / "unit_factors.csv"


def needed() -> list[tuple[str, str]]:
    """Every pair of a listed unit and the unit kept that a deliverable may ask for."""
    pairs = set()
    for row in rows("units.csv"):
        unit, kind = row["unit"], row["kind"]
        if kind == "parts":
            pairs |= {(f"{unit}/kg", "mg/kg"), (f"{unit}/L", "ug/L")}
        elif kind in ("mass_per_mass", "mass_per_volume"):
            size = unit.replace("/mL", "/g").replace("/L", "/kg")
            pairs |= {(unit, NORMAL[kind]), (size, "mg/kg")}
    return sorted(pairs)


def main() -> None:
    """Write the file."""
    with FILE.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["unit", "kept", "factor"])
        writer.writerows((unit, kept, f"{factor_by_pint(unit, kept):f}") for unit, kept in needed())


if __name__ == "__main__":
    main()
