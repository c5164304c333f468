"""Volatile compounds as an instrument writes them: a sheet a sample with standards among the compounds, and a crosstab.

The oracles read the same files with openpyxl and the csv module.
"""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

QUALITY = {"LabTap": "other_qc", "1": "trip_blank"}
STANDARDS = ("IS1", "IS2", "IS3", "IS4")
SURROGATES = ("SS1", "SS2", "SS3")


@pytest.fixture(scope="module")
def folder(reference: Path) -> Path:
    return reference / "real" / "o07_gcms_voc_batches"


@pytest.fixture(scope="module")
def expected(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8"))["files"])


@pytest.fixture(scope="module")
def peaks(folder: Path) -> dict[tuple[str, int], tuple[str, Any]]:
    """Name and amount of every peak, by sheet and row."""
    book = openpyxl.load_workbook(folder / "230821_voc.xlsx", read_only=True, data_only=True)
    return {
        (sheet.title, number): (str(row[0]).strip(), row[4])
        for sheet in book
        for number, row in enumerate(sheet.iter_rows(min_row=5, max_row=100, values_only=True), start=5)
        if row[0] and row[4] is not None  # one sheet goes on with a name that has no amount
    }


@pytest.fixture(scope="module")
def imported(desk: Any, folder: Path, layout: Callable[[str], Path]) -> dict[str, Any]:
    desk.plain_site("taps", place="us-hi", levels="us/drinking-water")
    said = desk.run("import", folder / "230821_voc.xlsx", "--site", "taps", "--layout", layout("gcms_batch"))
    assert said.status == 0, said.error
    return dict(said.document["deliverables"][0])


def test_a_sheet_a_sample_with_its_quality_control(
    desk: Any, imported: dict[str, Any], peaks: dict[tuple[str, int], tuple[str, Any]], expected: dict[str, Any], balanced: Any
) -> None:
    assert balanced(imported["rows"]) and imported["rows"]["held_back"] == 0
    found = desk.stored("taps")
    by_place = {(item["source"]["sheet"], item["source"]["row"]): item for item in found}
    internal = {at for at, (name, _) in peaks.items() if name.startswith(STANDARDS)}
    assert by_place.keys() == peaks.keys() - internal and len(found) == len(by_place)
    for at, item in by_place.items():
        name, amount = peaks[at]
        surrogate = any(mark in name for mark in SURROGATES)
        assert item["sample_kind"] == ("surrogate" if surrogate else QUALITY.get(at[0], "field"))
        assert item["class"] == ("quality_control" if surrogate or at[0] in QUALITY else "result")
        assert item["sample_id"] == at[0] and item["unit"] == "ug/L"
        assert item["detected"] is (amount != "n.a.")
        assert item["limit"] is None, "no sheet of this workbook states a limit"
        if item["detected"]:
            assert Decimal(item["value"]) == Decimal(str(amount))
    counts = expected["230821_voc.xlsx"]["counts"]
    targets = Counter(item["detected"] for item in found if item["sample_kind"] != "surrogate")
    assert targets == {True: counts["target_number"], False: counts["target_nondetect"]}
    assert len(found) - targets.total() + len(internal) == counts["standard_number"]


def test_where_no_unit_is_stated_the_file_is_refused_with_the_question(desk: Any, folder: Path) -> None:
    desk.plain_site("asked", place="us-hi", levels="us/drinking-water")
    for name in ("231005_clean.csv", "240306_voc.xlsx"):
        said = desk.run("import", folder / name, "--site", "asked", "--set", "medium=groundwater")
        assert said.status != 0 and "the unit is nowhere stated; ask the laboratory" in said.error


STANDARD_NAMES = {
    "Pentafluorobenzene", "1,4-Difluorobenzene", "Chlorobenzene-d5", "1,4-Dichlorobenzene-d4", "Dibromofluoromethane",
    "Toluene-d8", "4-Bromofluorobenzene",
}  # fmt: skip
NOT_FOUND = ("--set", "result:n.a./n.r.=ND")
KINDS = ("--set", "sample_kind:H2O in its name=method_blank", "--set", "sample_kind:lab tap in its name=other_qc")


def is_quality_control(name: str) -> bool:
    """The source's own rule for names, as far as these files use it."""
    return name.startswith(("H2O", "CCV")) or "LabTap" in name


def counted(found: list[dict[str, Any]]) -> dict[str, int]:
    """The counts that the source keeps: of targets and standards, of quality control and field samples."""
    counts: Counter[str] = Counter()
    for item in found:
        of = "qc" if is_quality_control(item["sample_id"]) else "field"
        if item["analyte"] in STANDARD_NAMES:
            counts[f"{of}_standard_number"] += 1
            continue
        counts[f"{of}_target_{'number' if item['detected'] else 'nondetect'}"] += 1
        if of == "field" and item["detected"]:
            below = Decimal(item["value"]) < Decimal(item["reporting_limit"])
            counts["field_target_below_limit" if below else "field_target_at_or_above_limit"] += 1
    return counts


def test_a_crosstab_full_of_an_unexplained_mark_loses_no_sample(desk: Any, folder: Path, expected: dict[str, Any]) -> None:
    with (folder / "231005_clean.csv").open(newline="", encoding="utf-8") as file:
        headings, *body = csv.reader(file)
    told = expected["231005_clean.csv"]
    assert headings[2:] == told["column_names"] and len(headings) - 2 == told["samples_columns"]
    assert sum(bool(row[1]) for row in body) == told["limits_found"]
    marks = sum(text == "n.a./n.r." for row in body for text in row[2:])
    filled = sum(bool(text) for row in body for text in row[2:])
    counts = told["counts"]
    assert marks == counts["qc_target_nondetect"] + counts["field_target_nondetect"]
    desk.plain_site("clean", place="us-hi", levels="us/drinking-water")
    words = ("import", folder / "231005_clean.csv", "--site", "clean", "--set", "medium=groundwater", "--set", "unit=ug/L")
    held = desk.run(*words, *KINDS, "--preview").document["deliverables"][0]
    assert {item["text"] for item in held["held_back"]} == {"n.a./n.r."}
    assert held["rows"]["held_back"] == counts["field_target_nondetect"], "of quality control nothing waits"
    read = desk.run(*words, *KINDS, *NOT_FOUND).document["deliverables"][0]
    assert read["rows"]["held_back"] == 0 and read["rows"]["results"] + read["rows"]["quality_control"] == filled
    found = desk.stored("clean")
    assert {item["sample_id"] for item in found} == set(headings[2:])
    missed = [item for item in found if not item["detected"]]
    assert len(missed) == marks and {item["limit_from"] for item in missed} == {"reporting limit"}
    assert counted(found) == counts


@pytest.mark.parametrize("name", ["231005_clean.csv", "231024_voc.xlsx"])
def test_columns_of_the_laboratorys_own_waters_are_no_field_samples(
    desk: Any, folder: Path, expected: dict[str, Any], name: str
) -> None:
    """By their names: a check of the calibration is quality control at once, what may be a field sample is asked about."""
    columns = expected[name]["column_names"]
    desk.plain_site("names", place="us-hi", levels="us/drinking-water")
    words = ("import", folder / name, "--site", "names", "--set", "medium=groundwater", *NOT_FOUND)
    said = desk.run(*words, *(() if name.endswith("xlsx") else ("--set", "unit=ug/L")), "--preview").document["deliverables"][0]
    asked = Counter(item["text"] for item in said["held_back"])
    per_column = 85
    assert asked == {
        "H2O in its name": per_column * sum(text.startswith("H2O") for text in columns),
        "lab tap in its name": per_column * sum("LabTap" in text for text in columns),
    }
    assert {item["field"] for item in said["held_back"]} == {"sample_kind"}
    assert all("may mean" in item["reason"] and item["proposal"].endswith("field") for item in said["held_back"])
    checks = sum(text.startswith("CCV") for text in columns)
    field = sum(not is_quality_control(text) for text in columns)
    assert field == expected[name]["field_sample_columns"]
    assert said["rows"]["results"] == 78 * field, "targets of field samples"
    assert said["rows"]["quality_control"] == per_column * checks + 7 * field, "checks, and standards of field samples"


def test_a_workbook_whose_limits_stand_on_another_sheet(desk: Any, folder: Path, expected: dict[str, Any], balanced: Any) -> None:
    """The unit stands once above all columns, the limits on sheet MRL; calibration, checks and blanks are not read as samples."""
    told = expected["231024_voc.xlsx"]
    book = openpyxl.load_workbook(folder / "231024_voc.xlsx", read_only=True, data_only=True)
    limits = {str(row[0]).strip(): row[1] for row in book["MRL"].iter_rows(min_row=3, values_only=True) if row[0]}
    _, *rows = book["Samples"].iter_rows(min_row=6, values_only=True)
    amounts = {(7 + at, column): row[column] for at, row in enumerate(rows) for column in range(1, 33) if row[column] and row[0]}
    names = {7 + at: str(row[0]).strip() for at, row in enumerate(rows) if row[0]}
    assert sum(isinstance(limit, int | float) for limit in limits.values()) == told["limits_found"] == told["target_analytes"]
    assert sorted(name for name in limits if "[" in name) == told["standards"]
    desk.plain_site("october", place="us-hi", levels="us/drinking-water")
    words = ("import", folder / "231024_voc.xlsx", "--site", "october", "--set", "medium=groundwater", *KINDS, *NOT_FOUND)
    said = desk.run(*words).document["deliverables"][0]
    assert balanced(said["rows"]) and said["rows"]["held_back"] == 0
    assert said["rows"]["results"] + said["rows"]["quality_control"] == told["samples_columns"] * told["analyte_rows"]
    assert any("the unit 'ppb' stands once above the columns" in note for note in said["assumptions"])
    assert (
        "sheet 'MRL' lists the reporting limit of 78 analytes: taken for every sample of sheet 'Samples' as it stands"
        in (said["assumptions"])
    )
    for sheet in told["sheets"].keys() - {"Samples", "MRL"}:
        assert any(f"sheet '{sheet}' was not read" in note for note in said["assumptions"])
    found = desk.stored("october")
    assert {item["source"]["sheet"] for item in found} == {"Samples"} and told["unit"] == "ppb"
    assert {item["sample_id"] for item in found} == set(told["column_names"]) and counted(found) == told["counts"]
    for item in found:
        row = item["source"]["row"]
        amount = amounts[row, openpyxl.utils.column_index_from_string(item["source"]["column"]) - 1]
        limit = limits[names[row]]
        assert item["unit"] == "ug/L" and item["detected"] is (amount != "n.a./n.r.")
        assert (Decimal(item["reporting_limit"]) == Decimal(str(limit))) if limit != "n.a." else item["reporting_limit"] is None
        if item["detected"]:
            assert Decimal(item["value"]) == Decimal(f"{amount:.15g}")
        else:
            assert item["limit"] == item["reporting_limit"]
        quality = is_quality_control(item["sample_id"]) or "[" in names[row]
        assert item["class"] == ("quality_control" if quality else "result")


def test_one_sheet_of_samples_beside_calibration_and_checks(desk: Any, folder: Path, expected: dict[str, Any]) -> None:
    """Calibration and checks have the shape of results: a layout names the sheet that holds the samples."""
    counts = expected["240306_voc.xlsx"]["counts"]
    layout = desk.folder / "samples.toml"
    layout.write_text(
        '[file]\nsheet = "Samples"\n[fixed]\nmedium = "groundwater"\nunit = "ug/L"\n[values.result]\n"n.a./n.r." = "ND"\n',
        encoding="utf-8",
    )
    desk.plain_site("march", place="us-hi", levels="us/drinking-water")
    said = desk.run("import", folder / "240306_voc.xlsx", "--site", "march", "--layout", layout)
    assert said.status == 0, said.error
    found = desk.stored("march")
    assert {item["source"]["sheet"] for item in found} == {"Samples"}
    targets = [item for item in found if item["class"] == "result"]
    assert Counter(item["detected"] for item in targets) == {
        True: counts["field_target_number"], False: counts["field_target_nondetect"],
    }  # fmt: skip
    below = [item for item in targets if item["detected"] and Decimal(item["value"]) < Decimal(item["reporting_limit"])]
    assert len(below) == counts["field_target_below_limit"], "a number below the reporting limit stays a number"
    assert len(found) - len(targets) == counts["field_standard_number"]
