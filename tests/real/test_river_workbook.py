"""A workbook of 72 columns keyed by hand, with look-up sheets larger than the data: rivers in spring 2014.

The oracle reads the sheet with openpyxl alone.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

UNKNOWN = "Phosphorous, Total and Ortho"
DUPLICATE = "Quality Control Field Replicate Msr/Obs"
FACTOR = {"mg/L": 1000, "ug/L": 1}
ZONES = {"AKST": "-09:00", "MST": "-07:00", None: ""}
"""Offsets as the tool lists them (from memory, 15 USC 261)."""


@pytest.fixture(scope="module")
def folder(reference: Path) -> Path:
    return reference / "real" / "o09_wqx_template_workbook"


@pytest.fixture(scope="module")
def expected(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def delivered(folder: Path) -> dict[int, dict[str, Any]]:
    """The rows that name an analyte, by their number on the sheet."""
    book = openpyxl.load_workbook(folder / "wqx_spring_2014.xlsx", read_only=True, data_only=True)
    headings, *body = book["Results"].iter_rows(values_only=True)
    rows = {number: dict(zip(headings, row, strict=True)) for number, row in enumerate(body, start=2)}
    return {number: row for number, row in rows.items() if row["Characteristic Name"]}


@pytest.fixture(scope="module")
def imported(desk: Any, folder: Path, layout: Callable[[str], Path]) -> dict[str, Any]:
    desk.plain_site("rivers", place="us-ak", levels="us/drinking-water")
    said = desk.run("import", folder / "wqx_spring_2014.xlsx", "--site", "rivers", "--layout", layout("river_workbook"))
    return dict(said.document["deliverables"][0])


@pytest.fixture(scope="module")
def results(desk: Any, imported: dict[str, Any]) -> dict[int, dict[str, Any]]:
    found = desk.stored("rivers")
    return {item["source"]["row"]: item for item in found}


def test_rows_of_the_sheet_of_results_are_all_accounted_for(
    imported: dict[str, Any], results: dict[int, Any], delivered: dict[int, Any], expected: dict[str, Any], balanced: Any
) -> None:
    unknown = expected["analytes"][UNKNOWN]
    assert len(delivered) == expected["summary"]["result_rows"] == 187
    assert imported["rows"] == {
        "read": 737, "results": 187 - unknown, "quality_control": 0, "held_back": unknown, "ignored": 737 - 187,
    }  # fmt: skip
    assert balanced(imported["rows"])
    assert {(item["sheet"], item["field"], item["text"]) for item in imported["held_back"]} == {("Results", "analyte", UNKNOWN)}
    assert results.keys() == {number for number, row in delivered.items() if row["Characteristic Name"] != UNKNOWN}
    for sheet in ("Permitted_Values", "Monitoring_Locations", "Analytical_Methods"):
        assert f"sheet '{sheet}' was not read: the layout names sheet 'Results'" in imported["assumptions"]


def test_every_figure_is_the_delivered_one_in_micrograms(results: dict[int, Any], delivered: dict[int, Any]) -> None:
    for number, item in results.items():
        row = delivered[number]
        factor = FACTOR[row["Result Unit"]]
        limit = Decimal(str(row["Result Detection Limit Value 1"])) * FACTOR[row["Result Detection Limit Unit 1"]]
        detection = Decimal(str(row["Result Detection Limit Value 2"])) * FACTOR[row["Result Detection Limit Unit 2"]]
        assert item["unit"] == "ug/L" and Decimal(item["quantitation_limit"]) == limit
        assert Decimal(item["detection_limit"]) == detection
        assert item["detected"] is (row["Result Qualifier"] != "ND")
        if item["detected"]:
            assert Decimal(item["value"]) == Decimal(f"{row['Result Value']:.15g}") * factor
        else:
            assert Decimal(item["limit"]) == limit and item["limit_from"] == "quantitation limit" and item["value"] is None


def test_samples_duplicates_and_times_are_the_delivered_ones(
    results: dict[int, Any], delivered: dict[int, Any], expected: dict[str, Any]
) -> None:
    for number, item in results.items():
        row = delivered[number]
        moment = dt.datetime.combine(row["Activity Start Date"].date(), row["Activity Start Time"])
        assert item["sampled_at"] == str(moment) + ZONES[row["Activity Start Time Zone"]]
        assert item["location"] == row["Monitoring Location ID"].strip()
        run = dt.datetime.combine(row["Analysis Start Date"].date(), row["Analysis Start Time"])
        assert item["analysed_at"] == str(run) + ZONES[row["Analysis Start Time Zone"].strip()]
        assert item["medium"] == "surface_water" and item["lab_sample_id"] == row["Lab Sample Number"].strip()
        assert (item["sample_kind"] == "field_duplicate") is (row["Activity Type"] == DUPLICATE)
        assert item["sample_id"].endswith(" DUP") is (row["Sample Condition"] == "DUP")
    assert len({item["location"] for item in results.values()}) == expected["summary"]["monitoring_locations"]
    assert sum(row["Activity Type"] == DUPLICATE for row in delivered.values()) == expected["summary"]["replicate_rows"]


def test_a_detection_limit_in_another_unit_than_the_result_is_converted_by_its_own(
    desk: Any, imported: dict[str, Any], results: dict[int, Any], delivered: dict[int, Any], expected: dict[str, Any]
) -> None:
    """The two rows wait for a name (see above); accepted as total phosphorus, their limits are those of their own units."""
    wanted = expected["reject_or_flag"]["result unit and MDL unit differ (flag; convert, do not compare as is)"]
    odd = [row for row, line in delivered.items() if line["Result Unit"] != line["Result Detection Limit Unit 2"]]
    assert odd == wanted and len(odd) == expected["summary"]["result_unit_differs_from_limit_2_unit"]
    waiting = {item["row"]: item["id"] for item in imported["held_back"]}
    for row in odd:
        words = ("held", "accept", waiting[row], "--as", "Phosphorus", "--by", "test", "--why", "invented answer")
        assert desk.run(*words).status == 0
        found = desk.stored("rivers")
        item = next(item for item in found if item["source"]["row"] == row)
        assert (item["detection_limit"], item["quantitation_limit"]) == ("0.026", "51")


def test_the_summary_of_the_source_is_met(delivered: dict[int, Any], results: dict[int, Any], expected: dict[str, Any]) -> None:
    summary = expected["summary"]
    missed = [row for row, line in delivered.items() if line["Result Qualifier"] == "ND"]
    assert len(missed) == summary["nondetect"]
    assert sum(not item["detected"] for item in results.values()) == sum(
        delivered[row]["Characteristic Name"] != UNKNOWN for row in missed
    )
    assert len({line["Characteristic Name"] for line in delivered.values()}) == summary["distinct_analytes"]
    assert {item["sample_kind"] for item in results.values()} == {"field", "field_duplicate"}
    assert summary["surrogate_rows"] == summary["trip_blank_rows"] == summary["repeated_keys"] == 0
    below = [
        row for row, item in results.items()
        if item["detected"] and Decimal(item["value"]) < Decimal(item["detection_limit"])
    ]  # fmt: skip
    assert len(below) == summary["unqualified_value_below_MDL"] == 0
