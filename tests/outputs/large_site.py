"""An invented site of any size: tanks in a row, borings at three depths, wells in rounds; the numbers come from a fixed seed."""

from __future__ import annotations

import csv
import math
import random
from pathlib import Path

from screening.vocabulary.analysis_groups import groups

HEADINGS = (
    "sample_id", "location", "sample_kind", "parent_sample", "medium", "depth_top", "depth_unit", "sampled_at", "received_at",
    "analysed_at", "lab", "method", "batch", "analyte", "result", "unit", "basis", "reporting_limit", "detection_limit",
    "dilution", "percent_solids",
)  # fmt: skip
DEPTHS = ("4", "9", "14.5")
ROUNDS = ("2024-06-11", "2024-09-17", "2024-12-10", "2025-03-18")


def write_large_site(folder: Path, borings: int, wells: int, analytes: int) -> tuple[Path, Path]:
    """A site file and a deliverable of ``(3 borings + 4 wells) × analytes`` results."""
    names = [name for group in ("VOC", "PAH", "Metals") for name in sorted(groups()[group].analytes)]
    names = list(dict.fromkeys(names))[:analytes]
    site, delivered = folder / "site.toml", folder / "wellesby-analytical.csv"
    site.write_text(_site(borings, wells), encoding="utf-8")
    chance = random.Random(20250601)
    with delivered.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEADINGS)
        for number in range(1, borings + 1):
            near = chance.uniform(-1.5, 1.5)
            for depth in DEPTHS:
                sample, day = f"QB-{number}-{depth}", f"2025-05-{6 + number % 9:02d}"
                for name in names:
                    writer.writerow(_line(chance, sample, f"QB-{number}", "soil", depth, day, name, near))
        for number in range(1, wells + 1):
            near = chance.uniform(-1.5, 1.5)
            for turn, day in enumerate(ROUNDS, start=1):
                for name in names:
                    line = _line(chance, f"QW-{number}-{turn}", f"QW-{number}", "groundwater", "", day, name, near - turn / 4)
                    writer.writerow(line)
    return site, delivered


def _line(
    chance: random.Random, sample: str, location: str, medium: str, depth: str, day: str, analyte: str, near: float
) -> list[str]:
    soil = medium == "soil"
    limit = chance.choice(("5.2", "5.6", "6.1") if soil else ("0.50", "1.0"))
    amount = math.exp(chance.gauss(near + (2.5 if soil else 0.5), 2.2))
    result = f"{amount:.3g}" if amount > float(limit) else f"<{limit}"
    if "e" in result:
        result = f"{float(result):.0f}"
    return [
        sample, location, "field", "", medium, depth, "ft" if soil else "", day, day, day, "Wellesby Analytical (invented)", "8260D",
        f"B{day[5:7]}{day[8:]}", analyte, result, "ug/kg" if soil else "ug/L", "dry" if soil else "", limit, f"{float(limit) / 4:.2f}",
        "1", "86.0" if soil else "",
    ]  # fmt: skip


def _site(borings: int, wells: int) -> str:
    text = """# Invented: no such town, firm or laboratory exists.
[site]
id = "quillham"
name = "Marlow Street Bus Depot, Quillham (invented)"
place = "us-ny"
time_zone = "America/New_York"
[screening]
levels = ["us-ny/soil-objectives-recalled", "us-wi/groundwater"]
[events]
removed = 2025-05-05
discovered = 2025-05-06
"""
    for number in range(1, 7):
        text += f'[[tank]]\nid = "T{number}"\ncapacity_gal = 10000\nproduct = "{("gasoline", "diesel")[number % 2]}"\n'
    across = math.ceil(math.sqrt(borings + wells))
    for number in range(borings + wells):
        boring = number < borings
        name = f"QB-{number + 1}" if boring else f"QW-{number - borings + 1}"
        component = f'component = "T{number % 6 + 1}"\n' if boring else ""
        x, y = 6 * (number % across) + number % 3, 5 * (number // across) + number % 2
        text += f'[[location]]\nid = "{name}"\n{component}x = {x}\ny = {y}\n'
    return text
