"""Mistakes with samples, runs, revisions and dates: nothing lands on the wrong spot, nothing counts twice, gaps are seen."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def recorded(office: Any, soil: Any) -> dict[str, Any]:
    """A custody record of three samples and a report that meets it badly."""
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    asked = {"TP-1E": "VOC", "TP-2E": "VOC, PAH", "TP-3E": "VOC"}
    record = office.deliverable(
        "record.csv", [{"Sample": name, "Analyses asked for": what, "Medium": "soil"} for name, what in asked.items()]
    )
    assert office.run("custody", "add", record, "--site", "one").status == 0
    names = {"TP1-E": "L100-1", "TP-2E": "L100-2", "L100-3": "L100-3"}
    rows = [soil("Benzene", "0.1", sample_id=sample, lab_sample_id=number) for sample, number in names.items()]
    imported = office.run("import", office.deliverable("lab.csv", rows), "--site", "one").document["deliverables"][0]
    return {
        "held": {item["row"]: item for item in imported["held_back"]},
        "match": office.run("custody", "match", "--site", "one").document["match"],
        "screen": office.run("screen", "--site", "one").document,
    }


def _gaps(recorded: dict[str, Any]) -> list[str]:
    return [item["text"] for item in recorded["screen"]["recommendation"]["open_items"] if item["kind"] == "gap"]


def test_m34_laboratory_numbers_and_near_names_are_held_not_merged(recorded: dict[str, Any]) -> None:
    held = {item["text"]: (item["proposal"], item["reason"]) for item in recorded["held"].values()}
    assert held == {
        "TP1-E": ("TP-1E", "sample 'TP1-E' is on neither custody record nor plan; it may be TP-1E"),
        "L100-3": ("", "sample 'L100-3' is on neither custody record nor plan"),
    }
    assert {item["sample_id"] for item in recorded["screen"]["outcomes"]} == {"TP-2E"}
    assert recorded["match"]["near_names"] == [{"delivered": "TP1-E", "proposed": "TP-1E"}]


def test_m35_a_sample_never_analysed_is_a_gap(recorded: dict[str, Any]) -> None:
    assert recorded["match"]["never_delivered"] == [{"sample": "TP-3E", "on": "custody record"}]
    assert any("TP-3E" in text and "never delivered" in text for text in _gaps(recorded))
    assert recorded["screen"]["recommendation"]["status"] == "undetermined"


def test_m36_an_analysis_asked_for_and_not_delivered_is_a_gap(recorded: dict[str, Any]) -> None:
    assert {"sample": "TP-2E", "analysis": "PAH"} in recorded["match"]["missing"]
    assert "PAH asked for on the custody record for sample TP-2E and not delivered" in _gaps(recorded)


def test_m38_the_over_range_run_yields_to_the_diluted_one(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "0.22", run_no="1", dilution="1", qualifiers="E"), soil("Benzene", "0.31", run_no="2", dilution="50"),
        soil("Toluene", "<0.005", run_no="1", dilution="1"), soil("Toluene", "<90", run_no="2", dilution="50"),
    ]  # fmt: skip
    told = tell(rows)
    assert {(item["analyte"], item["value"], item["limit"], item["outcome"]) for item in told.screen["outcomes"]} == {
        ("Benzene", "0.31", None, "exceeds"), ("Toluene", None, "0.005", "does_not_exceed"),
    }  # fmt: skip
    left = told.result("S1", "Benzene", chosen=False)
    assert (left["value"], left["because"]) == ("0.22", "not chosen: over the calibrated range, the diluted run stands for it")
    assert told.result("S1", "Toluene", chosen=False)["limit"] == "90"


def test_m38_of_two_equal_runs_one_stands_and_the_other_is_kept(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.2", run_no="1"), soil("Benzene", "0.3", run_no="2")])
    (only,) = told.screen["outcomes"]
    assert (only["value"], only["outcome"]) == ("0.3", "exceeds")
    assert "chosen of 2 analyses" in only["because"]
    assert told.result("S1", "Benzene", chosen=False)["value"] == "0.2"


def test_m40_a_report_that_comes_again_is_asked_about(office: Any, tell: Any, soil: Any) -> None:
    first = tell([soil("Benzene", "0.1"), soil("Toluene", "0.1")]).imported["id"]
    said = office.run("import", office.folder / "lab.csv", "--site", "one")
    assert (said.status, said.document["deliverables"][0]["status"]) == (0, "already_imported")
    revised = office.deliverable("again.csv", [soil("Benzene", "0.3")])
    said = office.run("import", revised, "--site", "one")
    assert said.status == 1
    assert "is it a revision?" in said.error
    assert all(word in said.error for word in (f"--replaces {first} ", "--replaces-only-contents", "--adds"))

    def values() -> dict[str, str]:
        found = office.run("results", "--site", "one").document["results"]
        assert len(found) == 2
        return {item["analyte"]: item["value"] for item in found}

    assert values() == {"Benzene": "0.1", "Toluene": "0.1"}
    assert office.run("import", revised, "--site", "one", "--replaces", first, "--replaces-only-contents").status == 0
    assert values() == {"Benzene": "0.3", "Toluene": "0.1"}


def test_m46_analysed_before_it_was_sampled_is_held(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "<0.005", sampled_at="2025-03-01", analysed_at="2025-01-01")])
    assert told.held[2]["reason"] == "analysed before it was sampled: a date is wrong"
    assert (told.results, told.status) == ([], "undetermined")


def test_m47_a_date_with_two_readings_is_held_with_both(tell: Any, soil: Any) -> None:
    told = tell(
        [soil("Benzene", "0.1", sampled_at="03/04/2025"), soil("Benzene", "0.1", sampled_at="2025-02-30", sample_id="S2")]
    )
    assert (told.held[2]["reason"], told.held[2]["proposal"]) == ("'03/04/2025' has two readings", "2025-03-04 | 2025-04-03")
    assert told.held[3]["reason"] == "'2025-02-30' is no day of the calendar"
    assert told.results == []


@pytest.mark.parametrize(("other", "day", "order"), [
    ("03/14/2025", "2025-03-04", "month/day/year"), ("14/04/2025", "2025-04-03", "day/month/year"),
])  # fmt: skip
def test_m47_other_dates_of_the_file_decide_the_order_and_it_is_said(
    tell: Any, soil: Any, other: str, day: str, order: str
) -> None:
    told = tell([soil("Benzene", "0.1", sampled_at="03/04/2025"), soil("Benzene", "0.1", sampled_at=other, sample_id="S2")])
    assert told.result("S1", "Benzene")["sampled_at"][:10] == day
    assert f"numeric dates read as {order}: other dates of the file allow no other order" in told.imported["assumptions"]


def test_m47_dates_in_both_orders_decide_nothing_for_a_third(tell: Any, soil: Any) -> None:
    dates = ["14/04/2025", "04/14/2025", "03/04/2025"]
    told = tell([soil("Benzene", "0.1", sampled_at=text, sample_id=f"S{number}") for number, text in enumerate(dates)])
    assert {row: item["text"] for row, item in told.held.items()} == {4: "03/04/2025"}


def test_m48_a_missing_time_is_not_taken_as_midnight_before_sampling(tell: Any, soil: Any) -> None:
    told = tell(
        [
            soil("Benzene", "0.1", sampled_at="2025-04-03 14:05", analysed_at="2025-04-03"),
            soil("Benzene", "0.1", sampled_at="2025-04-03 14:05", analysed_at="2025-04-03 13:00", sample_id="S2"),
        ]
    )
    assert list(told.held) == [3]
    assert told.held[3]["reason"] == "analysed before it was sampled: a date is wrong"
