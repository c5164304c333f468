"""What the review does to a screen. All data are invented; the levels of benzene are 5 ug/L in groundwater and 0.246 mg/kg in
soil of class 1 (us-oh/closure)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.quality import cases
from tests.quality.cases import PERCENT, SOIL

TAKEN = {"sampled_at": "2025-05-01"}
LATE, GROSS = {**TAKEN, "analysed_at": "2025-05-16"}, {**TAKEN, "analysed_at": "2025-05-30"}
WATER = cases.WATER | {"batch": "B1"}
ROWS = [
    {**WATER, "sample_id": "GROSS", "result": "<1", **GROSS},
    {**WATER, "sample_id": "LATE", "result": "<1", **LATE},
    {**WATER, "sample_id": "LATE-FOUND", "result": "4", **LATE},
    {**WATER, "sample_id": "BY-HAND", "result": "3"},
    {**WATER, "sample_id": "BY-HAND-HIGH", "result": "50"},
    {**WATER, "sample_id": "TRACE-HIGH", "result": "8", "quantitation_limit": "10"},
    {**WATER, "sample_id": "TRACE-LOW", "result": "3", "quantitation_limit": "4"},
    {**WATER, "sample_id": "HIGH", "result": "6", "batch": "B2"},
    {**WATER, "sample_id": "C2", "sample_kind": "lab_control", **PERCENT, "recovery": "150", "batch": "B2"},
    {**WATER, "sample_id": "LOW", "result": "2.5", "batch": "B3"},
    {**WATER, "sample_id": "C3", "sample_kind": "lab_control", **PERCENT, "recovery": "50", "batch": "B3"},
    {**WATER, "sample_id": "FINE", "result": "2.5"},
    {**SOIL, "sample_id": "WET", "result": "<0.20", "percent_solids": "60", "method": "S"},
    {**SOIL, "sample_id": "DRIER", "result": "<0.20", "percent_solids": "90", "method": "S"},
]


@pytest.fixture(scope="module")
def answer(desk: Any) -> dict[str, Any]:
    """One screen of everything, after a person has rejected two results."""
    desk.plain_site(more='[conditions]\nsoil_class = "1"\n')
    assert desk.run("import", desk.deliverable("effects.csv", ROWS), "--site", "one").status == 0
    for sample in ("BY-HAND", "BY-HAND-HIGH"):
        words = (
            "--sample",
            sample,
            "--analyte",
            "Benzene",
            "--as",
            "rejected",
            "--by",
            "R. Imhof",
            "--why",
            "vial with a bubble",
        )
        assert desk.run("review", "override", "--site", "one", *words).status == 0
    return dict(desk.run("screen", "--site", "one").document)


@pytest.mark.parametrize(
    ("sample", "outcome", "qualifier", "because"),
    [
        ("GROSS", "open", "rejected", "the result is rejected"),
        ("BY-HAND", "open", "rejected", "the result is rejected"),
        ("BY-HAND-HIGH", "open", "rejected", "the result is rejected"),
        ("LATE", "open", "estimated", "analysed too late to prove it"),
        ("LATE-FOUND", "does_not_exceed", "biased_low", "not above 0.005 mg/L"),
        ("TRACE-HIGH", "exceeds", "estimated", "above 0.005 mg/L"),
        ("TRACE-LOW", "does_not_exceed", "estimated", "review: estimated: between limits"),
        ("HIGH", "exceeds", "biased_high", "above 0.005 mg/L"),
        ("LOW", "does_not_exceed", "biased_low", "not above 0.005 mg/L"),
        ("FINE", "does_not_exceed", "", "not above 0.005 mg/L"),
        (
            "WET",
            "open",
            "estimated",
            "the limit may be higher: it is not adjusted for the sample",
        ),  # 0.20 at 60 % solids is 0.333
        ("DRIER", "does_not_exceed", "estimated", "limit not above 0.246"),  # 0.20 at 90 % is 0.222
    ],
)
def test_what_a_mark_does(answer: dict[str, Any], sample: str, outcome: str, qualifier: str, because: str) -> None:
    (found,) = [item for item in answer["outcomes"] if item["sample_id"] == sample]
    assert (found["outcome"], found["review_qualifiers"]) == (outcome, qualifier)
    assert because in found["because"]


def test_biased_results_near_the_level_are_named_and_no_others(answer: dict[str, Any]) -> None:
    """An exceedance that may be too high, and passes within 2 times the level (common practice) that may be too low."""
    notes = [note for note in answer["recommendation"]["notes"] if "likely too" in note]
    assert sorted(note.split(" in ")[0] for note in notes) == ["Benzene 2.5 ug/L", "Benzene 4 ug/L", "Benzene 6 ug/L"]
    assert all("FINE" not in note for note in notes)


def test_what_is_open_stays_in_the_recommendation(answer: dict[str, Any]) -> None:
    open_items = " ".join(item["text"] for item in answer["recommendation"]["open_items"])
    for sample in ("GROSS", "LATE", "BY-HAND", "BY-HAND-HIGH", "WET"):
        assert sample in open_items, sample
    assert answer["counts"] == {"exceeds": 2, "does_not_exceed": 5, "open": 5, "no_level": 0}


def test_a_deliverable_without_quality_control_gives_no_comfort(desk: Any, answer: dict[str, Any]) -> None:
    """The screen itself names each check that could not be made, and the review says so for each."""
    desk.plain_site("bare")
    assert (
        desk.run("import", desk.deliverable("bare.csv", [{**WATER, "sample_id": "W", "result": "<1"}]), "--site", "bare").status
        == 0
    )
    screened, review = desk.run("screen", "--site", "bare").document, desk.run("review", "--site", "bare").document
    (line,) = [text for text in screened["assumptions"] if text.startswith("results reviewed against")]
    unmade = {item["check"] for item in review["not_checkable"]} - {item["check"] for item in review["checked"]}
    assert len(unmade) >= 20 and all(check.replace("_", " ") in line for check in unmade)
    states = {check: state for check, state in review["grid"][0]["checks"].items() if state != "not_checked"}
    assert set(states) == {item["check"] for item in review["checked"]}
    assert states == {"limits": "ok", "zero_or_negative": "ok", "trip_blank_each_day": "note"}
    assert (
        "These checks mark no result." in review["summary"]
        and "Not checkable, because the deliverables hold" in review["summary"]
    )
