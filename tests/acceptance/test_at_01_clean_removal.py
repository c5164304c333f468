"""AT-01: a clean removal from the site file to the recommendation, in the chemist's csv and in plain laboratory headings."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Office

ANALYTES = [
    "Benzene", "Toluene", "Ethylbenzene", "Total xylenes", "Naphthalene", "1,2,4-Trimethylbenzene", "MTBE",
    "1,2-Dibromoethane", "1,2-Dichloroethane", "TPH C6-C12",
]  # fmt: skip
LIMITS = {"1,2-Dibromoethane": "<0.00080", "Total xylenes": "<0.015", "TPH C6-C12": "<10"}
DETECTED = {
    "AL-T1-E": {"Benzene": "0.031", "Naphthalene": "0.066"},
    "AL-T1-W": {},
    "AL-D1": {
        "Benzene": "0.118", "Toluene": "1.9", "Ethylbenzene": "0.87", "Total xylenes": "4.1", "Naphthalene": "0.302",
        "1,2,4-Trimethylbenzene": "1.10", "MTBE": "0.021", "TPH C6-C12": "210",
    },
    "AL-P1": {},
}  # fmt: skip
DEPTHS = {"AL-T1-E": "12.5", "AL-T1-W": "12.5", "AL-D1": "3.0", "AL-P1": "3.0"}
SITE = """
[site]
id = "alder"
name = "Site Alder"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[[tank]]
id = "T1"
capacity_gal = 8000
product = "gasoline"
closure = "removed"
[[piping]]
id = "P1"
length_ft = 18
[[dispenser]]
id = "D1"
[[location]]
id = "AL-T1-E"
component = "T1"
[[location]]
id = "AL-T1-W"
component = "T1"
[[location]]
id = "AL-D1"
component = "D1"
[[location]]
id = "AL-P1"
component = "P1"
[events]
removed = 2025-05-06
[field]
groundwater_met = false
signs = []
"""


def _result(sample: str, analyte: str) -> str:
    return DETECTED[sample].get(analyte, LIMITS.get(analyte, "<0.0050"))


@pytest.fixture(scope="module", params=["csv in the fields of the normal form", "xlsx in plain laboratory headings"])
def delivered(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, workbook: Callable[..., Path]
) -> tuple[Office, Path]:
    """The same 40 results, once for a program and once as a laboratory types them, for an office of their own."""
    office = Office(tmp_path_factory.mktemp("alder"))
    if request.param.startswith("csv"):
        rows = [
            {
                "sample_id": sample, "location": sample, "medium": "soil", "depth_top": DEPTHS[sample], "depth_unit": "ft",
                "analyte": analyte, "result": _result(sample, analyte), "unit": "mg/kg", "basis": "dry",
                "sampled_at": "2025-05-06",
            }
            for sample in DETECTED
            for analyte in ANALYTES
        ]  # fmt: skip
        return office, office.deliverable("alder.csv", rows)
    head = ["Client sample ID", "Matrix", "Depth (ft)", "Date collected", "Parameter", "Result", "Units", "Dry or wet"]
    cells: list[list[object]] = [["Analytical report, Site Alder"], [], head]
    for sample in DETECTED:
        for analyte in ANALYTES:
            cells.append([sample, "Soil", DEPTHS[sample], "2025-05-06", analyte, _result(sample, analyte), "mg/kg", "Dry weight"])
    return office, workbook("alder.xlsx", cells)


@pytest.fixture(scope="module")
def answer(delivered: tuple[Office, Path]) -> dict[str, Any]:
    """The screen of the imported deliverable; the tests look at it and change nothing."""
    office, deliverable = delivered
    assert office.site(SITE).status == 0
    said = office.run("import", deliverable, "--site", "alder")
    assert said.status == 0, said.error
    rows = said.document["deliverables"][0]["rows"]
    assert (rows["results"], rows["quality_control"], rows["held_back"]) == (40, 0, 0)
    assert rows["read"] == 40 + rows["ignored"]
    said = office.run("screen", "--site", "alder")
    assert said.status == 0, said.error
    return dict(said.document)


def test_forty_comparisons_and_none_exceeds(answer: dict[str, Any]) -> None:
    assert len(answer["outcomes"]) == 40
    assert answer["counts"] == {"exceeds": 0, "open": 0, "no_level": 0, "does_not_exceed": 40}


def test_recommendation_is_not_triggered_with_the_caution(answer: dict[str, Any]) -> None:
    advice = answer["recommendation"]
    assert (advice["status"], advice["open_items"]) == ("not_triggered", [])
    assert "licensed professional" in advice["caution"]


def test_highest_benzene_is_at_the_dispenser(answer: dict[str, Any]) -> None:
    benzene = [item for item in answer["outcomes"] if item["analyte"] == "Benzene" and item["detected"]]
    highest = max(benzene, key=lambda item: Decimal(item["value"]))
    assert (highest["sample_id"], highest["value"], highest["unit"]) == ("AL-D1", "0.118", "mg/kg")
    assert (Decimal(highest["depth_top"]), highest["depth_unit"]) == (Decimal("3.0"), "ft")
    assert highest["ratio"] == "0.480"


def test_level_line_names_set_version_stage_class_and_reason(answer: dict[str, Any]) -> None:
    level = answer["levels"][0]
    assert (level["table"], level["version"], level["stage"]) == ("us-oh/closure", "2017-01-01", "closure")
    assert (level["transcription"], level["citation"][:15]) == ("secondhand", "OAC 1301:7-9-12")
    assert any("soil class not stated - strictest by default" in text for text in answer["assumptions"])
    for item in answer["outcomes"]:
        assert item["conditions"] == {"soil_class": "1"}
        assert "soil class not stated: strictest row" in item["because"]


def test_a_second_hand_level_prints_its_warning(answer: dict[str, Any]) -> None:
    assert any("40 outcomes rest on levels read in another publication" in text for text in answer["warnings"])
