"""Two real csv with analytes across, read by layouts that name the columns of results: metals, and insecticides."""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from screening.deliverable.cells import read_book
from screening.deliverable.detect import place
from screening.deliverable.extract import Extract, extract
from screening.deliverable.layout import find_layout, parse_layout, write_layout
from screening.errors import Refused

METALS = ("cadmium", "copper", "lead", "zinc")
SEDIMENT = {"Bifenthrin": "Bifenthrin_Raw", "Cypermethrin": "Cypermethrin_RAW", "Fenvalerate": "Fenvalerate_RAW"}


@pytest.fixture(scope="module")
def soils(reference: Path) -> Path:
    return reference / "real" / "o12_floodplain_soil_metals"


@pytest.fixture(scope="module")
def pesticides(reference: Path) -> Path:
    return reference / "real" / "o13_pesticide_sediment_two_header"


@pytest.fixture(scope="module")
def results(desk: Any, soils: Path, layout: Callable[[str], Path]) -> dict[str, Any]:
    desk.plain_site("floodplain", place="nl", levels="us-oh/closure")
    said = desk.run("import", soils / "meuse_all.csv", "--site", "floodplain", "--layout", layout("floodplain_metals"))
    assert said.status == 0, said.error
    shown = desk.stored("floodplain")
    return {"import": said.document["deliverables"][0], "shown": shown}


@pytest.fixture(scope="module")
def sediment(pesticides: Path, layout: Callable[[str], Path]) -> Extract:
    """The delivered texts, as the store gets them."""
    book = read_book(pesticides / "pesticide_sediment.txt")
    placed, _ = place(book, find_layout(str(layout("pesticide_sediment")), []), {})
    assert len(placed) == 1
    return extract(book.file, placed[0])


def told(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8")))


def test_only_the_four_metals_are_results(results: dict[str, Any], soils: Path, lines: Any) -> None:
    summary, delivered = told(soils)["summary"], lines(soils / "meuse_all.csv")
    rows = results["import"]["rows"]
    assert rows == {"read": 656, "results": 656, "quality_control": 0, "held_back": 0, "ignored": 0}
    assert len(delivered) == summary["samples"] == 164 and summary["metal_cells"] == 656
    assert sum(text == "NA" for line in delivered.values() for text in line.values()) == summary["missing_cells"]
    found = {(item["source"]["row"], item["analyte"].lower()): item for item in results["shown"]}
    assert found.keys() == {(number, metal) for number in delivered for metal in METALS}
    for (number, metal), item in found.items():
        line = delivered[number]
        assert (item["sample_id"], item["unit"], item["medium"]) == (line["sample"], "mg/kg", "soil")
        assert item["source"]["text"] == line[metal]
        if item["detected"]:
            assert Decimal(item["value"]) == Decimal(line[metal])
    passed = "columns not read: x, y, elev, dist.m, om, ffreq, soil, lime, landuse, in.pit, in.meuse155, in.BMcD"
    assert passed in results["import"]["assumptions"]


def test_a_zero_is_a_non_detect_without_a_limit(results: dict[str, Any], soils: Path) -> None:
    missed = [item for item in results["shown"] if not item["detected"]]
    assert len(missed) == told(soils)["summary"]["nondetect"] == 21
    assert {(item["analyte"], item["source"]["text"], item["limit"], item["value"]) for item in missed} == {
        ("Cadmium", "0", None, None)
    }


def test_a_layout_of_columns_across_is_written_and_read_back(layout: Callable[[str], Path]) -> None:
    for name in ("floodplain_metals", "pesticide_sediment"):
        kept = find_layout(str(layout(name)), [])
        assert kept.across and parse_layout(write_layout(kept), kept.name, "here") == kept


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[columns]\nsample_id = "S"\n[across.A]\nunit = "mg/kg"\n', "names no analyte"),
        ('[columns]\nsample_id = "S"\n[across.A]\nanalyte = "Lead"\nresult = "A"\n', "is no field with a text"),
        ('[columns]\nsample_id = "S"\nresult = "R"\n[across.A]\nanalyte = "Lead"\n', "but no result"),
        ('[across.A]\nanalyte = "Lead"\n', "names the sample"),
    ],
)
def test_a_column_across_that_says_too_little_is_refused(text: str, said: str) -> None:
    with pytest.raises(Refused, match=said):
        parse_layout(text, "mine", "mine.toml")


def test_every_filled_cell_is_taken_once_and_no_derived_column(sediment: Extract, pesticides: Path) -> None:
    with (pesticides / "pesticide_sediment.txt").open(newline="", encoding="utf-8") as file:
        _, headings, *body = csv.reader(file, delimiter="\t")
    delivered = {number: dict(zip(headings, row, strict=True)) for number, row in enumerate(body, start=3) if any(row)}
    summary = told(pesticides)["summary"]
    rows = sediment.rows.records()
    assert len(delivered) == summary["samples"] and len(rows) == summary["results"] == 60
    assert {(row["row"], row["analyte"]) for row in rows} == {
        (number, analyte) for number, line in delivered.items() for analyte, heading in SEDIMENT.items() if line[heading]
    }
    for row in rows:
        line, heading = delivered[row["row"]], SEDIMENT[row["analyte"]]
        assert row["result"] == row["text"] == line[heading] and row["location"] == line["LocCode"]
        assert row["qualifiers"] == {"T": "ND", "F": ""}[line[heading.split("_")[0] + "_ND"]]
        assert row["basis"] == "as received" and row["sampled_at"] == line["Date"]
    blank = [row["text"] for row in sediment.ignored.records() if row["reason"] == "a blank cell: not analysed"]
    assert len(blank) == 3 * 30 - 60 and set(blank) == {"Cypermethrin_RAW", "Fenvalerate_RAW"}


def test_non_detects_and_units_are_those_delivered(sediment: Extract, pesticides: Path) -> None:
    rows = sediment.rows.records()
    for analyte, wanted in told(pesticides)["analytes"].items():
        own = [row for row in rows if row["analyte"] == analyte]
        assert Counter(row["qualifiers"] for row in own) == {"ND": wanted["nondetect"], "": wanted["detected"]}
        assert {row["unit"] for row in own} == {"ng/g" if wanted["value_unit"] else ""}


def test_a_column_without_a_unit_waits_and_the_others_are_results(
    desk: Any, pesticides: Path, layout: Callable[[str], Path], sediment: Extract, balanced: Any
) -> None:
    """The line of units is shorter than the line of names, so that none stands above fenvalerate: asked, not guessed."""
    wanted = told(pesticides)["analytes"]
    desk.plain_site("creeks", place="us-me", levels="us-oh/closure")
    words = ("--site", "creeks", "--layout", layout("pesticide_sediment"))
    said = desk.run("import", pesticides / "pesticide_sediment.txt", *words).document["deliverables"][0]
    assert said["rows"] == {"read": 90, "results": 38, "quality_control": 0, "held_back": 22, "ignored": 30}
    assert balanced(said["rows"]) and wanted["Fenvalerate"] == {"value_unit": "", "results": 22, "nondetect": 21, "detected": 1}
    assert {(item["field"], item["reason"]) for item in said["held_back"]} == {("unit", "no unit is given")}
    without = {row["row"] for row in sediment.rows.records() if row["analyte"] == "Fenvalerate"}
    assert {item["row"] for item in said["held_back"]} == without
    found = desk.stored("creeks")
    texts = {(row["row"], row["analyte"]): row["result"] for row in sediment.rows.records()}
    for analyte in ("Bifenthrin", "Cypermethrin"):
        own = [item for item in found if item["analyte"] == analyte]
        assert len(own) == wanted[analyte]["results"]
        assert sum(not item["detected"] for item in own) == wanted[analyte]["nondetect"]
        assert wanted[analyte]["value_unit"] == "ng/g wet" and {item["basis"] for item in own} == {"as_received"}
        for item in own:
            amount = Decimal(texts[item["source"]["row"], analyte]) / 1000  # ng/g in mg/kg
            assert Decimal(item["value"] if item["detected"] else item["limit"]) == amount and item["unit"] == "mg/kg"
    summary = told(pesticides)["summary"]
    assert sum(not item["detected"] for item in found) + wanted["Fenvalerate"]["nondetect"] == summary["nondetect"]
    again = Counter(row["location"] for row in sediment.rows.records() if row["analyte"] == "Bifenthrin")
    assert {code: count for code, count in again.items() if count > 1} == told(pesticides)["repeated_location_codes"]


def test_a_unit_stated_by_a_person_lets_all_alike_in(desk: Any, pesticides: Path) -> None:
    """The unit is invented for the test: the source gives none."""
    waiting = desk.run("held", "list", "--site", "creeks").document["held"]
    words = ("--as", "ng/g", "--by", "test", "--why", "the laboratory was asked", "--all-like-it")
    assert desk.run("held", "accept", waiting[0]["id"], *words).status == 0
    found = [item for item in desk.stored("creeks") if item["analyte"] == "Fenvalerate"]
    assert Counter(item["detected"] for item in found) == {True: 1, False: 21} and len(waiting) == 22
