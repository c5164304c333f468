"""The same job as a user would write it with pandas, row by row: read the deliverable, hold it against the action levels.

Right for the deliverables of `deliverables.py` and no others: their units, marks and kinds of sample, one level table whose
rows are picked by the soil class, holding times, method blanks, diluted runs and field duplicates.

    python by_hand.py DELIVERABLE.csv LEVELS.csv SOIL_CLASS OUTCOMES.csv
"""

from __future__ import annotations

import sys
from collections import Counter
from decimal import Decimal
from typing import Any

import pandas as pd

RENAMED = {"Xylenes, Total": "Total Xylenes", "Methyl tert-butyl ether": "MTBE", "1,2-Dichloroethane": "1,2-Dichloroethane (EDC)"}
FACTORS = {"mg/kg": Decimal(1), "ug/kg": Decimal("0.001"), "ug/L": Decimal(1), "mg/L": Decimal(1000)}
MEDIA = {"Soil": "soil", "Groundwater": "groundwater"}
FIELD = ("field", "field duplicate")
WORSE = ["exceeds", "open", "no_level", "does_not_exceed"]
BLANK_TIMES = 5

Levels = dict[tuple[str, str], Decimal | None]
Blanks = dict[tuple[str, str, str], Decimal]


def read_levels(path: str, soil_class: str) -> Levels:
    """The level of each substance and medium in mg/kg or ug/L; None where the table says that there is none."""
    levels: Levels = {}
    for row in pd.read_csv(path, dtype=str, keep_default_na=False).to_dict("records"):
        if row["soil_class"] in ("", soil_class):
            known = row["level"] != "NL"
            levels[row["analyte"], row["medium"]] = (
                Decimal(row["level"].replace(",", "")) * FACTORS[row["unit"]] if known else None
            )
    return levels


def amount(text: str, unit: str) -> Decimal | None:
    """A printed amount in the unit of comparison."""
    return Decimal(text.lstrip("<")) * FACTORS[unit] if text and text != "ND" else None


def is_detected(row: pd.Series) -> bool:
    """Neither flagged nor written as a non-detect."""
    return row["Flag"] != "U" and row["Result"] != "ND" and not row["Result"].startswith("<")


def value_of(row: pd.Series) -> Decimal | None:
    """The amount of a detection."""
    return amount(row["Result"], row["Units"]) if row["detected"] else None


def limit_of(row: pd.Series) -> Decimal | None:
    """The limit of a non-detect: the number in its cell, else the reporting limit; the reporting limit of a detection."""
    own = None if row["detected"] else amount(row["Result"], row["Units"])
    return own if own is not None else amount(row["RL"], row["Units"])


def is_late(row: pd.Series) -> bool:
    """Past the holding time of its method."""
    if row["Sample type"] not in FIELD:
        return False
    if row["Method"] == "6020B":
        return (row["analysed"] - row["collected"]).days > 180
    if row["Method"] == "8260D":
        return (row["analysed"] - row["collected"]).days > 14
    before = 14 if row["Matrix"] == "Soil" else 7
    return (row["prepared"] - row["collected"]).days > before or (row["analysed"] - row["prepared"]).days > 40


def verdict(row: pd.Series, levels: Levels, blanks: Blanks) -> str:
    """One result held against its level."""
    level = levels.get((RENAMED.get(row["Compound"], row["Compound"]), MEDIA[row["Matrix"]]))
    if level is None:
        return "no_level"
    if not row["detected"]:
        return "open" if row["late"] or row["limit"] > level else "does_not_exceed"
    hit = blanks.get((row["Batch"], row["Method"], row["Compound"]))
    if hit is not None and (row["value"] <= row["limit"] or row["value"] <= BLANK_TIMES * hit * int(row["Dilution"])):
        upper = max(row["value"], row["limit"]) if row["value"] <= row["limit"] else row["value"]
        return "does_not_exceed" if upper <= level else "open"
    return "exceeds" if row["value"] > level else "does_not_exceed"


def screen(path: str, level_path: str, soil_class: str) -> pd.DataFrame:
    """Outcomes by sample and substance."""
    levels = read_levels(level_path, soil_class)
    rows = pd.read_csv(path, dtype=str, keep_default_na=False)
    for name, heading in (("collected", "Collected"), ("prepared", "Prepared"), ("analysed", "Analyzed")):
        rows[name] = pd.to_datetime(rows[heading], errors="coerce")
    for name, read in (("detected", is_detected), ("value", value_of), ("limit", limit_of), ("late", is_late)):
        rows[name] = rows.apply(read, axis=1)
    found = rows[(rows["Sample type"] == "method blank") & rows["detected"]]
    blanks = {(row["Batch"], row["Method"], row["Compound"]): row["value"] for row in found.to_dict("records")}
    results = rows[rows["Sample type"].isin(FIELD)]
    # the diluted run stands for one over the calibrated range
    diluted = results[results["Flag"] == "D"].set_index(["Sample ID", "Compound"]).index
    over = results.set_index(["Sample ID", "Compound"]).index.isin(diluted) & (results["Flag"] == "E").to_numpy()
    results = results[~over].copy()
    results["outcome"] = results.apply(verdict, axis=1, levels=levels, blanks=blanks)
    results["place"] = results["Parent sample"].where(results["Parent sample"] != "", results["Sample ID"])
    # of a sample and its duplicate the worse outcome stands; of equal ones the one that shows nothing (late and not detected),
    # then the higher value, then the sample
    standing: dict[tuple[str, str], Any] = {}
    for row in results.to_dict("records"):
        amount_shown = row["value"] if row["detected"] else row["limit"]
        unknown = row["late"] and not row["detected"]
        rank = (WORSE.index(row["outcome"]), not unknown, -amount_shown, row["Parent sample"] != "")
        pair = (row["place"], row["Compound"])
        if pair not in standing or rank < standing[pair][0]:
            standing[pair] = (rank, row["Sample ID"], row["Compound"], row["outcome"])
    return pd.DataFrame([kept[1:] for kept in standing.values()], columns=["Sample ID", "Compound", "outcome"])


def main() -> None:
    """Write the outcomes and print how many there are of each."""
    path, level_path, soil_class, to = sys.argv[1:]
    outcomes = screen(path, level_path, soil_class)
    outcomes.to_csv(to, index=False)
    print(dict(sorted(Counter(outcomes["outcome"]).items())))


if __name__ == "__main__":
    main()
