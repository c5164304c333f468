"""884 laboratory rows of harbor sediment: quality control told apart, and one value chosen of every repeated analysis.

The oracle reads the same csv with the csv module and Decimal only.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

Lines = dict[int, dict[str, str]]


@pytest.fixture(scope="module")
def folder(reference: Path) -> Path:
    return reference / "real" / "o05_harbor_sediment_long_recast"


@pytest.fixture(scope="module")
def expected(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def delivered(folder: Path, lines: Callable[[Path], Lines]) -> Lines:
    return lines(folder / "harbor_sediment_metals_pah_long.csv")


@pytest.fixture(scope="module")
def imported(desk: Any, folder: Path, layout: Callable[[str], Path]) -> dict[str, Any]:
    desk.plain_site("harbor", place="us-me", levels="us/drinking-water")
    file = folder / "harbor_sediment_metals_pah_long.csv"
    said = desk.run("import", file, "--site", "harbor", "--layout", layout("harbor_sediment"))
    assert said.status == 0, said.error
    return dict(said.document["deliverables"][0])


@pytest.fixture(scope="module")
def results(desk: Any, imported: dict[str, Any]) -> dict[int, dict[str, Any]]:
    """All rows of the store by their line in the file."""
    found = desk.stored("harbor")
    by_line = {item["source"]["row"]: item for item in found}
    assert len(by_line) == len(found)
    return by_line


def is_result(line: dict[str, str]) -> bool:
    return line["Row role"] == "target" and not line["QC"].strip() and line["Field sample"] != "QC"


def repeated(delivered: Lines) -> list[dict[int, dict[str, str]]]:
    """The lines of each sample and analyte in a field sample that was analysed more than once."""
    pairs: dict[tuple[str, str], dict[int, dict[str, str]]] = {}
    for number, line in delivered.items():
        if is_result(line):
            pairs.setdefault((line["Field sample"], line["Analyte"]), {})[number] = line
    return [runs for runs in pairs.values() if len(runs) > 1]


def test_results_and_quality_control_are_told_apart(
    imported: dict[str, Any], results: dict[int, dict[str, Any]], delivered: Lines, balanced: Any, expected: dict[str, Any]
) -> None:
    summary = expected["summary"]
    assert imported["rows"] == {
        "read": summary["data_rows"], "results": summary["target_results_in_field_samples"],
        "quality_control": summary["qc_rows"] + 90, "held_back": 0, "ignored": 0,
    }  # fmt: skip
    assert balanced(imported["rows"]) and results.keys() == delivered.keys()
    kinds = Counter(item["sample_kind"] for item in results.values())
    assert kinds["surrogate"] == summary["surrogate_rows"]
    spiked = ("matrix_spike", "matrix_spike_duplicate", "lab_control", "lab_control_duplicate", "other_qc")
    assert sum(kinds[kind] for kind in spiked) == summary["spiked_compound_rows"]
    assert {number for number, item in results.items() if item["class"] == "result"} == {
        number for number, line in delivered.items() if is_result(line)
    }


def test_every_figure_is_the_delivered_one(
    results: dict[int, dict[str, Any]], delivered: Lines, expected: dict[str, Any]
) -> None:
    found = [item for item in results.values() if item["class"] == "result"]
    assert sum(not item["detected"] for item in found) == expected["summary"]["nondetect"]
    assert sum("E" in item["lab_qualifiers"] for item in found) == expected["summary"]["over_range_E"]
    assert len({item["analyte"] for item in found} - {"Percent solids"}) + 1 == expected["summary"]["distinct_target_analytes"]
    factor = {"MG/KG": Decimal(1), "UG/KG": Decimal("0.001"), "%": Decimal(1)}
    for item in found:
        line = delivered[item["source"]["row"]]
        shown, text = (item["value"], line["Found"]) if item["detected"] else (item["limit"], line["RL"])
        assert Decimal(shown) == Decimal(text) * factor[line["Unit"]]
        assert item["unit"] == ("percent" if line["Unit"] == "%" else "mg/kg")
        assert Decimal(item["dilution"]) == Decimal(line["Dilution"])
        assert item["cas"].replace("-", "") == line["CAS (digits only)"]
    for item in results.values():
        line = delivered[item["source"]["row"]]
        if not line["Found"].strip() and line["Recovery %"].strip():
            assert item["recovery"] == line["Recovery %"] and item["value"] is None


def test_one_value_is_chosen_of_every_repeated_pair(
    results: dict[int, dict[str, Any]], delivered: Lines, expected: dict[str, Any]
) -> None:
    pairs = repeated(delivered)
    assert len(pairs) == expected["summary"]["pairs_reported_more_than_once"] == 98
    for runs in pairs:
        in_range = [number for number, line in runs.items() if line["Flag"] != "E"]
        assert len(in_range) == 1, "the file holds one run in range of every pair"
        assert [number for number in runs if results[number]["chosen"]] == in_range
        for number in runs.keys() - set(in_range):
            assert "over the calibrated range" in results[number]["because"]
            assert Decimal(runs[number]["Dilution"]) < Decimal(runs[in_range[0]]["Dilution"])
    chosen = [item for item in results.values() if item["chosen"]]
    assert len(chosen) == expected["summary"]["sample_analyte_pairs"] == len({(i["sample_id"], i["analyte"]) for i in chosen})


def test_every_other_count_of_the_source(results: dict[int, dict[str, Any]], delivered: Lines, expected: dict[str, Any]) -> None:
    summary = expected["summary"]
    assert Counter(item["method"] for item in results.values()) == expected["methods"]
    assert Counter(line["Flag"].strip() for line in delivered.values()) == expected["flags"]
    assert Counter(line["Unit"] for line in delivered.values()) == expected["units"]
    surrogates = [item for item in results.values() if item["sample_kind"] == "surrogate"]
    assert (
        sum(Decimal(item["recovery"]) == 0 for item in surrogates if item["recovery"]) == summary["surrogate_rows_recovery_zero"]
    )
    without = [row for row, line in delivered.items() if not line["CAS (digits only)"].strip()]
    assert len(without) == summary["rows_without_cas"]
    over = [runs for runs in repeated(delivered) if all(line["Flag"].strip() == "E" for line in runs.values())]
    assert len(over) == summary["pairs_where_every_row_is_over_range"] == 0
    pairs = {
        (line["Field sample"], line["Analyte"].strip(), line["Method"].strip())
        for runs in repeated(delivered)
        for line in runs.values()
    }
    shown = {tuple(sample) for sample, _ in expected["examples_repeated"]}
    assert shown and shown <= pairs, "the source's own examples are among the repeated pairs"
