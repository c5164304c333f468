"""AT-09: quality control beside two field waters; the blank's toluene is told and never subtracted.

The blank's multiplier of 5 is invented in the scenario and the one read in the shipped edition.
"""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import Any

import pytest

WATER = {
    "medium": "groundwater",
    "batch": "B1",
    "method": "8260",
    "unit": "ug/L",
    "sampled_at": "2025-05-01",
    "analysed_at": "2025-05-05",
}


@pytest.fixture
def filled(office: Any) -> Any:
    """The batch of the scenario, imported."""
    office.plain_site(place="us-wa", levels="us-wa/groundwater-method-a@2001-08-15")

    def row(sample: str, kind: str, analyte: str, result: str, **more: str) -> dict[str, str]:
        return {**WATER, "sample_id": sample, "sample_kind": kind, "analyte": analyte, "result": result, **more}

    rows = [
        row("FI-W1", "field", "Toluene", "8.4"), row("FI-W1", "field", "Benzene", "<0.40"),
        row("FI-W2", "field", "Toluene", "310"), row("FI-W2", "field", "Benzene", "<0.40"),
        row("MB-1", "method_blank", "Toluene", "2.1"), row("TB-1", "trip_blank", "Toluene", "<1.0"),
        *(row("FI-W1", "surrogate", name, "", unit="%", recovery=percent)
          for name, percent in (("Toluene-d8", "98"), ("4-Bromofluorobenzene", "104"), ("Dibromofluoromethane", "71"))),
        row("FI-W2", "matrix_spike", "Benzene", "52.0"), row("FI-W2", "matrix_spike_duplicate", "Benzene", "52.0"),
        row("FI-W2", "field", "unknown hydrocarbon", "1200"), row("FI-W2", "field", "C10 alkane", "40"),
    ]  # fmt: skip
    said = office.run("import", office.deliverable("batch.csv", rows), "--site", "one")
    assert said.status == 0, said.error
    return office


def test_each_row_is_what_it_is(filled: Any) -> None:
    every = filled.run("results", "--site", "one", "--all").document["results"]
    kinds = Counter(item["sample_kind"] for item in every)
    assert (kinds["method_blank"], kinds["trip_blank"], kinds["surrogate"], kinds["tentative"]) == (1, 1, 3, 2)
    assert kinds["matrix_spike"] + kinds["matrix_spike_duplicate"] == 2
    assert {item["sample_id"] for item in every if item["sample_kind"] == "field"} == {"FI-W1", "FI-W2"}


def test_the_blank_marks_and_subtracts_nothing(filled: Any, find: Any) -> None:
    answer = filled.run("screen", "--site", "one").document
    assert {item["sample_id"] for item in answer["outcomes"]} == {"FI-W1", "FI-W2"}
    marked, clean = find(answer, "FI-W1", "Toluene"), find(answer, "FI-W2", "Toluene")
    assert (marked["value"], marked["outcome"], marked["review_qualifiers"]) == ("8.4", "does_not_exceed", "biased_high")
    assert "4 times the blank" in marked["because"]
    assert (clean["value"], clean["outcome"], clean["review_qualifiers"]) == ("310", "does_not_exceed", "")
    assert not [item for item in answer["outcomes"] if item["outcome"] == "exceeds"], "neither spike nor surrogate"
    assert not [item for item in answer["outcomes"] if "alkane" in item["analyte"] or "unknown" in item["analyte"]]


def test_the_review_says_the_figures(filled: Any) -> None:
    findings = [item for item in filled.run("review", "--site", "one").document["findings"] if item["check"] == "method_blank"]
    by_sample = {item["sample_id"]: item for item in findings}
    assert by_sample.keys() == {"FI-W1", "MB-1"}
    assert by_sample["FI-W1"]["observed"] == "8.4 ug/L; 2.1 ug/L in MB-1, 4 times the blank"
    assert by_sample["FI-W1"]["transcription"] == "read" and "Table A" in by_sample["FI-W1"]["citation"]
    assert by_sample["MB-1"]["observed"] == "2.1 ug/L" and by_sample["MB-1"]["qualifier"] == ""
    assert Decimal("310") / Decimal("2.1") > 147, "310 is 148 times the blank"
