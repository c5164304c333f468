"""Three more real files in long form: a laboratory order with all its quality control, and two open exchange csv."""

from __future__ import annotations

import datetime as dt
import json
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

Lines = dict[int, dict[str, str]]
Read = Callable[..., tuple[dict[str, Any], dict[int, dict[str, Any]], Lines, dict[str, Any]]]


@pytest.fixture(scope="module")
def read(desk: Any, reference: Path, layout: Callable[[str], Path], lines: Callable[[Path], Lines]) -> Read:
    """Import one folder's file, once; the document, the results by line, the lines and what the folder expects."""

    @cache
    def bring_in(folder: str, file: str, by: str) -> tuple[dict[str, Any], dict[int, dict[str, Any]], Lines, dict[str, Any]]:
        path = reference / "real" / folder / file
        desk.plain_site(folder)
        said = desk.run("import", path, "--site", folder, "--layout", layout(by))
        found = desk.stored(folder)
        expected = json.loads((path.parent / "expected.json").read_text(encoding="utf-8"))
        results = {item["source"]["row"]: item for item in found}
        assert len(results) == len(found)
        return said.document["deliverables"][0], results, lines(path), expected

    return bring_in


def test_laboratory_order_with_all_its_quality_control(read: Read, balanced: Any) -> None:
    document, results, delivered, expected = read("o08_lab_batch_long_recast", "batch_2018_waters.csv", "waters_batch")
    summary = expected["summary"]
    primary = summary["primary_sample_target_rows"]
    assert document["rows"] == {
        "read": summary["data_rows"], "results": primary, "quality_control": summary["data_rows"] - primary,
        "held_back": 0, "ignored": 0,
    }  # fmt: skip
    assert balanced(document["rows"])
    kinds = Counter(item["sample_kind"] for item in results.values())
    targets = Counter(line["Kind"] for line in delivered.values() if line["N/S"] == "N")
    assert kinds["surrogate"] == summary["surrogate_rows"]
    assert (kinds["field"], kinds["trip_blank"], kinds["method_blank"]) == (targets["PS"], targets["TB"], targets["MB"])
    found = {row: item for row, item in results.items() if item["class"] == "result"}
    assert len({item["analyte"] for item in found.values()}) == summary["distinct_compounds_primary"]
    assert sum(not item["detected"] for item in found.values()) == summary["primary_nondetect_U"]
    for row, item in found.items():
        line = delivered[row]
        factor = {"ug/L": 1, "mg/L": 1000}[line["Unit"]]
        shown = Decimal(item["value"] if item["detected"] else item["limit"])
        assert shown == Decimal(line["Result"] if item["detected"] else line["LOD"]) * factor
        assert Decimal(item["detection_limit"]) == Decimal(line["DL"]) * factor
        assert Decimal(item["quantitation_limit"]) == Decimal(line["LOQ"]) * factor


def test_exchange_csv_with_renamed_columns(read: Read) -> None:
    """Its 406 results of 0 carry no limit; the tool takes them as not detected, says so, and keeps them open."""
    document, results, delivered, expected = read(
        "o02_wqx_renamed_core_organics", "organics_result_physchem.csv", "river_organics"
    )  # fmt: skip
    summary = expected["summary"]
    assert document["rows"] == {"read": 575, "results": 575, "quality_control": 0, "held_back": 0, "ignored": 0}
    assert results.keys() == delivered.keys() and len(results) == summary["data_rows"]
    assert Counter(item["medium"] for item in results.values()) == {
        "sediment": summary["rows_bed_sediment_though_medium_says_Water"], "surface_water": 453,
    }  # fmt: skip
    assert len({item["analyte"] for item in results.values()}) == summary["distinct_characteristics"]
    zeros = {row for row, line in delivered.items() if line["Result"] == "0"}
    missed = {row for row, line in delivered.items() if line["ResultDetectionConditionText"] == "Not Detected"}
    assert (len(missed), len(zeros)) == (summary["nondetect"], 406)
    assert {row for row, item in results.items() if not item["detected"]} == missed | zeros
    assert {row for row, item in results.items() if not item["detected"] and item["limit"] is None} == zeros
    assert any("a result of 0" in note for note in document["assumptions"])
    for row, item in results.items():
        line, factor = delivered[row], Decimal("0.001") if item["medium"] == "sediment" else Decimal(1)
        assert item["sampled_at"].startswith(line["YearCollected"]), "two-digit years of the last century"
        text = line["DetectionQuantitationLimitMeasure/MeasureValue"] if row in missed else line["Result"]
        if row not in zeros:
            assert Decimal(item["limit"] if row in missed else item["value"]) == Decimal(text) * factor
        assert item["basis"] == ("dry" if item["medium"] == "sediment" else "")


def test_exchange_csv_of_the_narrow_profile(read: Read, balanced: Any) -> None:
    document, results, delivered, expected = read(
        "o01_wqx_narrow_rivers_2024", "narrow_result_2024.csv", "rivers_narrow"
    )  # fmt: skip
    assert balanced(document["rows"]) and document["rows"]["read"] == expected["summary"]["data_rows"]
    rejected = expected["reject_or_flag"]["status is Rejected"]["count"]
    unreported = expected["reject_or_flag"]["no result: Not Reported"]["count"]
    assert document["rows"]["ignored"] == rejected + unreported
    suffixes = expected["summary"]["qc_rows_by_activity_suffix"]
    blank = {"QFB": "field_blank", "QLB": "method_blank"}
    for row, item in results.items():
        ending = delivered[row]["ActivityIdentifier"].rpartition(":")[2]
        assert item["sample_kind"] == blank.get(ending, "field_duplicate" if ending == "QFR" else "field")
    held = {item["row"]: item for item in document["held_back"]}
    assert document["rows"]["quality_control"] == suffixes["QFB"] + suffixes["QLB"]
    words = {
        row
        for row, line in delivered.items()
        if line["ResultMeasureValue"].strip().isupper() or "TEXT" in line["ResultMeasureValue"]
    }
    assert len(words) == expected["reject_or_flag"]["value is text or empty, not a concentration"]["count"]
    assert words <= held.keys() and all(item["reason"] for item in held.values())


def test_non_detects_without_any_limit_are_kept(read: Read) -> None:
    _, results, delivered, _ = read("o01_wqx_narrow_rivers_2024", "narrow_result_2024.csv", "rivers_narrow")
    kept = {"Not Detected", "Below Reporting Limit"}
    missed = {
        row for row, line in delivered.items()
        if line["ResultDetectionConditionText"] in kept and line["ResultStatusIdentifier"] != "Rejected"
        and not line["MeasureQualifierCode"].strip("U")
    }  # fmt: skip
    assert missed <= results.keys()


def test_every_count_of_the_laboratory_order(read: Read) -> None:
    _, results, delivered, expected = read("o08_lab_batch_long_recast", "batch_2018_waters.csv", "waters_batch")
    summary = expected["summary"]
    assert Counter(line["Kind"] for line in delivered.values()) == expected["kinds"]
    targets = {row: item for row, item in results.items() if delivered[row]["N/S"] == "N"}

    def of(kind: str) -> list[dict[str, Any]]:
        return [item for row, item in targets.items() if delivered[row]["Kind"] == kind]

    assert (sum(delivered[row]["Kind"] == "TB" for row in results), sum(item["detected"] for item in of("TB"))) == (
        summary["trip_blank_rows"], summary["trip_blank_detections"],
    )  # fmt: skip
    assert (sum(delivered[row]["Kind"] == "MB" for row in results), sum(item["detected"] for item in of("MB"))) == (
        summary["method_blank_rows"], summary["method_blank_detections"],
    )  # fmt: skip
    assert sum(item["detected"] for item in of("PS")) == summary["primary_detected"]
    assert sum("J" in item["lab_qualifiers"] for item in of("PS")) == summary["primary_estimated_J"]
    assert len({item["sample_id"] for item in of("PS")}) == summary["field_ids_primary"]
    missed = {row for row, item in results.items() if not item["detected"]}
    assert len(missed) == summary["nondetect_rows_total"] == sum(line["Mark"] == "U" for line in delivered.values())
    assert sum(delivered[row]["Result"] == "0" for row in missed) == summary["nondetect_rows_whose_Result_is_zero"]
    assert sum(Decimal(item["dilution"]) != 1 for item in results.values()) == summary["rows_diluted"]
    assert {str(int(Decimal(text))): count for text, count in Counter(i["dilution"] for i in results.values()).items()} == (
        expected["dilution"]
    )
    assert Counter(item["method"] for item in results.values()) == expected["methods"]
    nameless = [row for row, line in delivered.items() if not line["Compound"]]
    assert len(nameless) == summary["rows_with_empty_compound"]
    assert {results[row]["class"] for row in nameless} == {"quality_control"}
    fractions = {"total": expected["fractions"]["T"], "dissolved": expected["fractions"]["F"]}
    assert {name: sum(item["fraction"] == name for item in results.values()) for name in fractions} == fractions
    limits = [
        [Decimal(item[f"{name}_limit"]) for name in ("detection", "reporting", "quantitation")]
        for item in results.values()
        if item["detection_limit"] and item["reporting_limit"] and item["quantitation_limit"]
    ]
    assert limits and sum(found != sorted(found) for found in limits) == summary["limits_out_of_order_DL_LOD_LOQ"] == 0
    waits = {
        row: (dt.datetime.fromisoformat(item["analysed_at"]) - dt.datetime.fromisoformat(item["sampled_at"])) / dt.timedelta(days=1)
        for row, item in targets.items()
        if delivered[row]["Kind"] == "PS" and item["method"].startswith("EPA 602")
    }  # fmt: skip
    assert round(max(waits.values()), 1) == summary["voc_days_from_collection_to_analysis_max"]
    assert sum(wait > 7 for wait in waits.values()) == summary["voc_primary_rows_over_7_days"]
    assert sum(wait > 14 for wait in waits.values()) == summary["voc_primary_rows_over_14_days"]


def test_every_count_of_the_narrow_profile(read: Read) -> None:
    document, results, delivered, expected = read("o01_wqx_narrow_rivers_2024", "narrow_result_2024.csv", "rivers_narrow")
    summary, asked = expected["summary"], expected["reject_or_flag"]
    assert len(delivered) == summary["data_rows"] == document["rows"]["read"]
    for heading, key in (
        ("ResultDetectionConditionText", "condition_text"), ("ResultStatusIdentifier", "status"),
        ("MeasureQualifierCode", "qualifiers"), ("ResultSampleFractionText", "fractions"),
    ):  # fmt: skip
        assert Counter(line[heading] for line in delivered.values()) == expected[key]
    rejected = [row for row, line in delivered.items() if line["ResultStatusIdentifier"] == "Rejected"]
    assert rejected == asked["status is Rejected"]["first_lines"] and not set(rejected) & results.keys()
    missed = {
        row for row, line in delivered.items() if line["ResultDetectionConditionText"] in ("Not Detected", "Below Reporting Limit")
    }  # fmt: skip
    kept = missed - set(rejected)
    assert len(kept) == summary["nondetect"] == summary["nondetect_without_limit"]
    assert all(not results[row]["detected"] and results[row]["limit"] is None for row in kept & results.keys())
    held = {item["row"] for item in document["held_back"]}
    assert kept <= results.keys() | held, "none is lost"
    days = [line["ActivityStartDate"] for line in delivered.values()]
    assert (min(days), max(days)) == (expected["dates"]["first"], expected["dates"]["last"])
    assert all(item["sampled_at"][:10] == delivered[row]["ActivityStartDate"] for row, item in results.items())
    trace = {
        row for row, line in delivered.items()
        if line["ResultDetectionConditionText"] in ("Between Inst Detect and Quant Limit", "Present Below Quantification Limit")
    }  # fmt: skip
    assert len(trace) == summary["detected_not_quantified"] and trace <= results.keys() | held


def test_every_count_of_the_renamed_csv(read: Read) -> None:
    _, results, delivered, expected = read("o02_wqx_renamed_core_organics", "organics_result_physchem.csv", "river_organics")
    summary = expected["summary"]
    assert Counter(line["Measure"] for line in delivered.values()) == expected["analytes"]
    assert (
        len({(item["analyte"], item["fraction"], item["medium"]) for item in results.values()})
        == (summary["distinct_characteristic_fraction"])
    )
    assert sum(bool(line["Result"]) for line in delivered.values()) == summary["numeric"]
    units = Counter(
        (line["Unit"] or line["DetectionQuantitationLimitMeasure/MeasureUnitCode"]).lower() for line in delivered.values()
    )
    assert units == expected["units_on_kept_rows"]
    assert {item["unit"] for item in results.values()} == {"ug/L", "mg/kg"}
    wrong = sum(item["sampled_at"][:4] != delivered[row]["YearCollected"] for row, item in results.items())
    assert wrong == summary["date_vs_YearCollected_conflicts_after_fix"] == 0
