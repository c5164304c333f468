"""What the demo must come out as, worked out straight from the two laboratory files.

Independent on purpose: it shares no code with the tool. The level figures are typed in by hand from the
Ohio closure-assessment levels of 2017 (soil class 1, the strictest, mg/kg dry; groundwater mg/L; a result
exceeds if it is above), as printed on a public reference page: transcription second hand.
Run `python tests/demo/oracle.py` to see the answer, with `--write` to renew demo/expected.json.
"""

import csv
import json
import re
import sys
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl

DEMO = Path(__file__).resolve().parents[2] / "demo"
ONE, TWO = "pemberwick-volatiles.csv", "sundrell-petroleum.xlsx"
XYLENES = ("Total Xylenes", "1330-20-7")
ISOMERS = ("179601-23-1", "95-47-6")
UNLISTED = "NL"

# name in the level table: (CAS number, soil class 1 in mg/kg, groundwater in mg/L)
LEVELS = {
    "Benzene": ("71-43-2", "0.246", "0.005"),
    "Toluene": ("108-88-3", "70.7", "1"),
    "Ethylbenzene": ("100-41-4", "84.5", "0.7"),
    "Total Xylenes": ("1330-20-7", "42.7", "10"),
    "Naphthalene": ("91-20-3", "0.511", "0.0014"),
    "1,2,4-Trimethylbenzene": ("95-63-6", "2.37", "0.015"),
    "MTBE": ("1634-04-4", "1.58", "0.12"),
    "1,2-Dibromoethane (EDB)": ("106-93-4", "0.000982", "0.00005"),
    "1,2-Dichloroethane (EDC)": ("107-06-2", "0.101", "0.005"),
    "Benzo(a)anthracene": ("56-55-3", "12", "0.00092"),
    "Benzo(a)pyrene": ("50-32-8", "1.2", "0.0002"),
    "Benzo(b)fluoranthene": ("205-99-2", "12", "0.00092"),
    "Benzo(k)fluoranthene": ("207-08-9", "120", "0.0092"),
    "Chrysene": ("218-01-9", "1200", "0.092"),
    "Dibenz(a,h)anthracene": ("53-70-3", "1.2", "0.000092"),
    "Indeno(1,2,3-cd)pyrene": ("193-39-5", "12", "0.00092"),
    "TPH C6-C12": ("", "1000", UNLISTED),
    "TPH C10-C20": ("", "2000", UNLISTED),
    "TPH C20-C34": ("", "5000", UNLISTED),
}
# delivered name: name in the level table, or the same name where the table does not list the substance
RENAMED = {
    "Xylenes, Total": "Total Xylenes",
    "Methyl tert-butyl ether": "MTBE",
    "1,2-Dichloroethane": "1,2-Dichloroethane (EDC)",
}
NOT_LISTED = {
    "m,p-Xylene",
    "o-Xylene",
    "Isopropylbenzene",
    "n-Hexane",
    "Methylene chloride",
    "Trichloroethene",
    "Tetrachloroethene",
    "1-Methylnaphthalene",
    "2-Methylnaphthalene",
    "Acenaphthene",
    "Acenaphthylene",
    "Anthracene",
    "Benzo(g,h,i)perylene",
    "Fluoranthene",
    "Fluorene",
    "Phenanthrene",
    "Pyrene",
}
TO_NORMAL = {
    ("Soil", "ug/kg"): Decimal("0.001"),
    ("Soil", "mg/kg"): Decimal(1),
    ("Groundwater", "ug/L"): Decimal(1),
    ("Groundwater", "mg/L"): Decimal(1000),
}
NORMAL_UNIT = {"Soil": "mg/kg", "Groundwater": "ug/L"}
SAMPLES = {"field": "field", "field sample": "field", "field duplicate": "field_duplicate"}

Row = dict[str, Any]


def plain(value: Decimal) -> str:
    """The shortest text of a decimal without an exponent."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def cell_text(value: Any) -> str:
    """A cell as text; a spreadsheet's own number to 15 significant digits."""
    if isinstance(value, float):
        return plain(Decimal(format(value, ".15g")))
    return "" if value is None else str(value)


def lab_one(folder: Path) -> list[Row]:
    rows = []
    with (folder / ONE).open(newline="", encoding="utf-8") as stream:
        for number, cells in enumerate(csv.DictReader(stream), 2):
            rows.append(
                {
                    "file": ONE,
                    "row": number,
                    "sample": cells["Sample"],
                    "kind": cells["Sample type"],
                    "parent": cells["Parent sample"],
                    "medium": cells["Matrix"],
                    "name": cells["Compound"],
                    "cas": cells["CAS"],
                    "text": cells["Result"],
                    "unit": cells["Units"],
                    "basis": cells["Basis"],
                    "flag": cells["Flag"],
                    "reporting": cells["RL"],
                    "detection": cells["MDL"],
                    "dilution": cells["Dilution"],
                    "solids": cells["% solids"],
                }
            )
    return rows


def lab_two(folder: Path) -> list[Row]:
    sheet = openpyxl.load_workbook(folder / TWO, data_only=True)["Results"]
    head = [cell.value for cell in sheet[1]]
    rows = []
    for number, values in enumerate(sheet.iter_rows(min_row=2, values_only=True), 2):
        cells = {str(title): cell_text(value) for title, value in zip(head, values, strict=True)}
        text = cells["Reported value"]
        flag = ""
        if match := re.fullmatch(r"(\S+) ([JU])", text):
            text, flag = match.groups()
        rows.append(
            {
                "file": TWO,
                "row": number,
                "sample": cells["Sample name"],
                "kind": cells["Kind of sample"],
                "parent": cells["Duplicate of"],
                "medium": cells["Material"],
                "name": cells["Substance"],
                "cas": cells["CAS number"],
                "text": text,
                "unit": cells["Unit of measure"],
                "basis": cells["Weight basis"],
                "flag": flag,
                "reporting": cells["Reporting limit"],
                "detection": cells["Detection limit"],
                "dilution": cells["Times diluted"],
                "solids": cells["Dry solids, percent"],
            }
        )
    return rows


def held_reason(row: Row) -> str | None:
    """Why a row waits for a person, or None."""
    if row["cas"] and not re.fullmatch(r"\d{2,7}-\d{2}-\d", row["cas"]):
        return "cas_as_date"
    if RENAMED.get(row["name"], row["name"]) not in LEVELS and row["name"] not in NOT_LISTED:
        return "unknown_analyte"
    return None


def measured(row: Row) -> Row:
    """The row with its number in the normal unit: the value if detected, otherwise the limit that counts."""
    detected = row["flag"] != "U" and row["text"][0] not in "<N"
    printed = row["text"].lstrip("<").replace(",", "")
    if printed == "ND":
        printed = row["reporting"] or row["detection"]
    number = Decimal(printed) * TO_NORMAL[row["medium"], row["unit"]]
    dry = row["medium"] != "Soil" or row["basis"] == "dry"
    if not dry and row["solids"]:
        number, dry = number * 100 / Decimal(row["solids"]), True
    name = RENAMED.get(row["name"], row["name"])
    cas = LEVELS[name][0] if name in LEVELS else row["cas"]
    return row | {"analyte": name, "cas": cas, "detected": detected, "number": number, "dry": dry}


def level_of(analyte: str, medium: str) -> str:
    """The level as printed, or the mark for none."""
    if analyte not in LEVELS:
        return UNLISTED
    return LEVELS[analyte][1 if medium == "Soil" else 2]


def outcome_of(analyte: str, medium: str, lower: Decimal, upper: Decimal, dry: bool, is_sum: bool) -> tuple[str, str]:
    """(outcome, reason word) for a result known to lie between two bounds."""
    level = level_of(analyte, medium)
    if level == UNLISTED:
        return "no_level", ""
    limit = Decimal(level) * (1 if medium == "Soil" else 1000)
    if lower > limit:
        return "exceeds", ""
    if not dry:
        return "open", "percent_solids_missing"
    if upper <= limit:
        return "does_not_exceed", ""
    return "open", "bounds_straddle_level" if is_sum else "limit_above_level"


def chosen_runs(rows: list[Row]) -> tuple[list[Row], list[Row]]:
    """Per sample and substance one run: the least diluted, unless that one is over range."""
    groups: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        groups.setdefault((row["sample"], row["analyte"]), []).append(row)
    chosen, others = [], []
    for runs in groups.values():
        runs.sort(key=lambda run: (run["flag"] == "E", Decimal(run["dilution"])))
        chosen.append(runs[0])
        others += runs[1:]
    return chosen, others


def with_sums(rows: list[Row]) -> tuple[list[Row], list[Row]]:
    """Where no total of the xylenes is reported, its bounds from the isomers take their place."""
    totals = {row["sample"] for row in rows if row["cas"] == XYLENES[1]}
    parts = [row for row in rows if row["cas"] in ISOMERS and row["sample"] not in totals]
    items = [
        row | {"lower": row["number"] if row["detected"] else Decimal(0), "upper": row["number"], "sum": False}
        for row in rows
        if row not in parts
    ]
    for sample in dict.fromkeys(row["sample"] for row in parts):
        members = [row for row in parts if row["sample"] == sample]
        upper = sum((row["number"] for row in members), Decimal(0))
        lower = sum((row["number"] for row in members if row["detected"]), Decimal(0))
        items.append(
            members[0]
            | {
                "analyte": XYLENES[0],
                "cas": XYLENES[1],
                "lower": lower,
                "upper": upper,
                "detected": lower > 0,
                "sum": True,
            }
        )
    return items, parts


def duplicates_decided(judged: list[tuple[Row, str, str]]) -> tuple[list[tuple[Row, str, str]], int]:
    """Of a field duplicate and its parent the worse outcome stands, of equal ones the higher number (the first of equals)."""
    worse = ["exceeds", "open", "no_level", "does_not_exceed"]
    kept: dict[tuple[str, str, str], tuple[Row, str, str]] = {}
    weighed = 0
    for entry in sorted(judged, key=lambda entry: bool(entry[0]["parent"])):
        item = entry[0]
        place = (item["parent"] or item["sample"], item["medium"], item["analyte"])
        if place not in kept:
            kept[place] = entry
            continue
        weighed += 1
        before = kept[place]
        rank = (worse.index(entry[1]), -item["upper"])
        if rank < (worse.index(before[1]), -before[0]["upper"]):
            kept[place] = entry
    return list(kept.values()), weighed


def line(item: Row, outcome: str, reason: str) -> dict[str, str]:
    """One entry of the answer."""
    unit = NORMAL_UNIT[item["medium"]]
    entry = {"sample": item["sample"], "analyte": item["analyte"], "cas": item["cas"], "unit": unit}
    if item["sum"]:
        entry |= {"lower": plain(item["lower"]), "upper": plain(item["upper"])}
    elif item["detected"]:
        entry["value"] = plain(item["number"])
    else:
        entry["limit"] = plain(item["number"])
    if outcome != "no_level":
        entry["level"] = level_of(item["analyte"], item["medium"])
        entry["level_unit"] = "mg/kg" if item["medium"] == "Soil" else "mg/L"
    return entry | ({"reason": reason} if reason else {})


def expected(folder: Path = DEMO) -> dict[str, Any]:
    """The whole answer."""
    answer: dict[str, Any] = {
        "table": "us-oh/closure",
        "soil_class": "1, the strictest: not tested",
        "rows": {},
    }
    held, results = [], []
    for file, rows in ((ONE, lab_one(folder)), (TWO, lab_two(folder))):
        field = [row for row in rows if row["kind"] in SAMPLES]
        waiting = [(row, held_reason(row)) for row in field if held_reason(row)]
        held += [{"file": file, "row": row["row"], "text": row["cas"] or row["name"], "reason": why} for row, why in waiting]
        good = [measured(row) for row in field if not held_reason(row)]
        results += good
        answer["rows"][file] = {
            "read": len(rows),
            "results": len(good),
            "quality_control": len(rows) - len(field),
            "held_back": len(waiting),
            "ignored": 0,
            "of_results_field_duplicate": sum(SAMPLES[row["kind"]] == "field_duplicate" for row in good),
            "by_kind": dict(sorted(Counter(row["kind"] for row in rows).items())),
        }
    chosen, others = chosen_runs(results)
    items, parts = with_sums(chosen)
    lists: dict[str, list[dict[str, str]]] = {
        "exceeds": [],
        "open": [],
        "no_level": [],
        "does_not_exceed": [],
    }
    sums = []
    judged = [
        (item, *outcome_of(item["analyte"], item["medium"], item["lower"], item["upper"], item["dry"], item["sum"]))
        for item in items
    ]
    decided, weighed = duplicates_decided(judged)
    for item, outcome, reason in decided:
        entry = line(item, outcome, reason)
        lists[outcome].append(entry)
        if item["sum"]:
            sums.append(entry | {"outcome": outcome})
    for name, entries in lists.items():
        answer[name] = sorted(entries, key=lambda entry: (entry["sample"], entry["analyte"]))
    answer["sums"] = sums
    answer["held"] = held
    answer["not_chosen"] = [
        {"sample": row["sample"], "analyte": row["analyte"], "file": row["file"], "row": row["row"]} for row in others
    ]
    answer["counts"] = {name: len(entries) for name, entries in lists.items()} | {
        "compared": len(decided),
        "outweighed_by_duplicate_or_parent": weighed,
        "parts_of_sums": len(parts),
        "not_chosen": len(others),
        "held": len(held),
        "no_level_detected": sum("value" in entry for entry in lists["no_level"]),
    }
    return answer


def as_json(answer: dict[str, Any]) -> str:
    """The text of expected.json."""
    return json.dumps(answer, indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    text = as_json(expected())
    if "--write" in sys.argv:
        (DEMO / "expected.json").write_text(text, encoding="utf-8")
    else:
        print(text, end="")
