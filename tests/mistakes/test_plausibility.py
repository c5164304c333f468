"""Slips inside a plausible unit, limits that do not follow their dilution, files that call themselves preliminary.

All numbers are invented; 1,000,000 mg in a kilogram is arithmetic, the factor 300 the tool's own choice.
"""

from __future__ import annotations

from typing import Any

import pytest

SLIP = "unit slip"


def _warned(told: Any, words: str) -> list[str]:
    """The warnings with these words: at import, and again beside the recommendation of every screen."""
    found = [text for text in told.imported["warnings"] if words in text]
    for text in found:
        assert f"warning: {text}" in told.imported["assumptions"]
        assert f"lab.csv: {text}" in told.screen["recommendation"]["notes"]
        assert not any(text in said for said in told.screen["assumptions"])
    return found


@pytest.mark.parametrize(("unit", "result", "proposal"), [
    ("mg/kg", "1000000.1", "ug/kg"), ("g/kg", "1001", "mg/kg"), ("%", "0.1", None), ("mg/kg", "<2000000", "ug/kg"),
])  # fmt: skip
def test_m01_more_than_the_sample_weighs_is_held(tell: Any, soil: Any, unit: str, result: str, proposal: str | None) -> None:
    told = tell([soil("Benzene", result, unit=unit)])
    assert told.results == []
    if proposal is not None:
        assert (told.held[2]["field"], told.held[2]["text"], told.held[2]["proposal"]) == ("unit", unit, proposal)
        assert "more than the sample itself" in told.held[2]["reason"]


def test_m01_the_whole_sample_is_possible_and_a_limit_above_it_is_not(tell: Any, soil: Any, water: Any) -> None:
    told = tell(
        [
            soil("TPH", "1000000.0"), soil("Toluene", "5", reporting_limit="1000001", sample_id="S2"),
            water("Benzene", "1000001", unit="mg/L"),
        ]
    )  # fmt: skip
    assert sorted(told.held) == [3, 4]
    assert told.held[3]["reason"].startswith("the reporting limit is more than the sample itself")
    assert "a litre of water" in told.held[4]["reason"]


def test_m01_a_held_slip_is_taken_with_the_unit_that_was_meant(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "2000000")])
    said = told.office.run("held", "accept", told.held[2]["id"], "--by", "R", "--why", "laboratory asked")
    assert said.status == 0, said.error
    assert told.result("S1", "Benzene")["value"] == "2000.000"


def test_m01_more_than_dissolves_in_water_is_questioned(tell: Any, water: Any) -> None:
    told = tell([water("Benzene", "5000", unit="mg/L"), water("Toluene", "100", unit="mg/L")])
    (text,) = _warned(told, "more than dissolves")
    assert "W1: Benzene 5000000 ug/L, water holds about 1790000 ug/L" in text and "Toluene" not in text
    assert told.imported["rows"]["held_back"] == 0


def test_m01_a_limit_that_no_method_reaches_is_questioned(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "<0.005", unit="ug/kg", reporting_limit="0.005"), soil("Toluene", "<5", unit="ug/kg")])
    (text,) = _warned(told, "lower than routine methods reach")
    assert "Benzene 0.000005 mg/kg, delivered in ug/kg" in text and "Toluene" not in text


def test_m01_a_sample_a_thousandfold_off_the_others_is_questioned(tell: Any, soil: Any) -> None:
    values = {"S1": ("0.11", "0.5"), "S2": ("0.14", "0.3"), "S3": ("0.12", "0.4")}
    rows = [soil(a, v, sample_id=s) for s, two in values.items() for a, v in zip(("Benzene", "Toluene"), two, strict=True)]
    clean = tell(rows)
    assert clean.imported["warnings"] == []
    slipped = [soil("Benzene", "130", sample_id="S4"), soil("Toluene", "350", sample_id="S4")]
    path = clean.office.deliverable("again.csv", [*(({**row, "sample_id": f"T{row['sample_id']}"}) for row in rows), *slipped])
    (text,) = clean.office.run("import", path, "--site", "one").document["deliverables"][0]["warnings"]
    assert text.startswith("sample S4: its detections in soil (Benzene, Toluene, delivered in mg/kg) are more than 300 times")
    assert SLIP in text


def test_m01_one_hot_analyte_is_no_slip_where_the_others_vary(tell: Any, soil: Any) -> None:
    values = ["0.002", "0.09", "1.2", "30"]
    told = tell([soil("Benzene", value, sample_id=f"S{number}") for number, value in enumerate(values)])
    assert told.imported["warnings"] == []


def test_m01_limits_a_thousandfold_apart_are_questioned_unless_diluted(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "ND", reporting_limit="0.005", method="8260D"),
        soil("Benzene", "ND", reporting_limit="5", method="8260D", sample_id="S2"),
        soil("Toluene", "ND", reporting_limit="0.005", method="8260D"),
        soil("Toluene", "ND", reporting_limit="5", method="8260D", sample_id="S2", dilution="1000"),
    ]
    told = tell(rows)
    (text,) = _warned(told, "lie more than 300 times apart")
    assert "Benzene 0.005 mg/kg in S1 and Benzene 5 mg/kg in S2" in text and "Toluene" not in text


def test_m01_a_place_and_a_method_off_an_earlier_deliverable_are_questioned(tell: Any, soil: Any) -> None:
    first = [
        soil("Benzene", "0.2", method="8260D", reporting_limit="0.005"),
        soil("Toluene", "0.4", method="8260D", reporting_limit="0.005"),
    ]
    told = tell(first)
    later = [{**row, "result": f"{row['result']}e3", "reporting_limit": "5", "sampled_at": "2025-09-01"} for row in first]
    office = told.office
    said = office.run("import", office.deliverable("later.csv", later), "--site", "one").document["deliverables"][0]
    assert [text.partition(":")[0] for text in said["warnings"]] == ["lab.csv and later.csv"] * 2
    assert "detections at S1 in soil differ more than 300 times" in said["warnings"][0]
    assert "undiluted limits by 8260D in soil differ more than 300 times" in said["warnings"][1]
    answer = office.run("screen", "--site", "one").document
    assert set(said["warnings"]) <= set(answer["recommendation"]["notes"])
    assert office.run("runs", "reproduce", answer["run"]).document["identical"] is True


def test_m05_limits_that_follow_the_dilution_in_part_are_questioned(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "ND", reporting_limit="0.005", dilution="1", method="8260D"),
        soil("Benzene", "ND", reporting_limit="12.5", dilution="50", method="8260D", sample_id="S2"),
        soil("Toluene", "ND", reporting_limit="0.005", dilution="1", method="8260D"),
        soil("Toluene", "ND", reporting_limit="0.27", dilution="50", method="8260D", sample_id="S2"),
    ]
    told = tell(rows)
    (text,) = _warned(told, "do not follow the dilution")
    assert "Benzene 0.005 and 12.5 mg/kg at dilutions 1 and 50" in text and "Toluene" not in text
    assert "--set dilution_included=no" in text


TWO_DILUTIONS = [
    {"analyte": "Benzene", "result": "ND", "reporting_limit": "0.005", "dilution": "1", "method": "8260D"},
    {"analyte": "Benzene", "result": "ND", "reporting_limit": "0.005", "dilution": "60", "method": "8260D", "sample_id": "S2"},
]


def test_m17_the_same_limit_at_different_dilutions_is_questioned(tell: Any, soil: Any) -> None:
    told = tell([soil(**row) for row in TWO_DILUTIONS])
    (text,) = _warned(told, "the same at different dilutions")
    assert "Benzene 0.005 mg/kg at dilutions 1 and 60" in text


def test_m17_the_answer_multiplies_the_limits(tell: Any, soil: Any) -> None:
    told = tell([soil(**row) for row in TWO_DILUTIONS], "--set", "dilution_included=no")
    assert told.imported["warnings"] == []
    assert [told.outcome(name, "Benzene")["limit"] for name in ("S1", "S2")] == ["0.005", "0.300"]
    assert [told.outcome(name, "Benzene")["outcome"] for name in ("S1", "S2")] == ["does_not_exceed", "open"]


@pytest.mark.parametrize("line", ["PRELIMINARY", "Preliminary results - subject to change", "These are draft data"])
def test_m41_a_preliminary_deliverable_is_told_beside_the_recommendation(tell: Any, line: str) -> None:
    told = tell(f"{line},,,,\nSample,Matrix,Parameter,Result,Units\nS1,Soil,Benzene,0.1,mg/kg\n", "--set", "basis=dry")
    (text,) = _warned(told, "numbers may change")
    assert f"row 1 says '{line}'" in text


def test_m52_one_file_for_two_sites_is_told(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.1")])
    assert told.office.plain_site("two").status == 0
    said = told.office.run("import", told.office.folder / "lab.csv", "--site", "two").document["deliverables"][0]
    assert said["warnings"] == ["the same file was imported for site 'one' too; to which does it belong?"]
