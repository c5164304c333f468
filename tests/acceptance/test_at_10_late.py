"""AT-10, the late part: a water analysed after 15 days under a limit of 14."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture(scope="module")
def begun(desk: Any, rows_of: Any) -> tuple[Any, dict[str, Any]]:
    """GA-W1 of the scenario, imported and screened."""
    desk.plain_site(place="us-wa", levels="us-wa/groundwater-method-a@2001-08-15")
    rows = rows_of(
        {"Benzene": "<0.40", "Toluene": "1150"}, sample_id="GA-W1", medium="groundwater", unit="ug/L", sampled_at="2025-05-01",
        analysed_at="2025-05-16",
    )  # fmt: skip
    assert desk.run("import", desk.deliverable("late.csv", rows), "--site", "one").status == 0
    return desk, desk.run("screen", "--site", "one").document


@pytest.fixture
def late(office: Any, begun: tuple[Any, dict[str, Any]]) -> Any:
    """The same as a test's own."""
    return office.takes(begun[0])


@pytest.fixture
def answer(begun: tuple[Any, dict[str, Any]]) -> dict[str, Any]:
    """Its screen."""
    return begun[1]


def test_a_late_non_detect_is_open_and_a_late_exceedance_counts(answer: dict[str, Any], find: Any) -> None:
    benzene, toluene = find(answer, "GA-W1", "Benzene"), find(answer, "GA-W1", "Toluene")
    assert (benzene["outcome"], benzene["limit"], benzene["review_qualifiers"]) == ("open", "0.40", "estimated")
    assert benzene["because"].startswith("not detected, and analysed too late to prove it")
    assert (toluene["outcome"], toluene["value"], toluene["review_qualifiers"]) == ("exceeds", "1150", "biased_low")
    assert "15 days from collection 2025-05-01 to analysis 2025-05-16" in toluene["because"]
    assert answer["recommendation"]["status"] == "triggered"
    assert [item["text"] for item in answer["recommendation"]["open_items"] if "Benzene" in item["text"]]


def test_one_day_less_is_not_late(office: Any, rows_of: Any, find: Any) -> None:
    office.plain_site(place="us-wa", levels="us-wa/groundwater-method-a@2001-08-15")
    rows = rows_of(
        {"Benzene": "<0.40"},
        sample_id="GA-W1",
        medium="groundwater",
        unit="ug/L",
        sampled_at="2025-05-01",
        analysed_at="2025-05-15",
    )
    assert office.run("import", office.deliverable("timely.csv", rows), "--site", "one").status == 0
    assert find(office.run("screen", "--site", "one").document, "GA-W1", "Benzene")["outcome"] == "does_not_exceed"


def test_a_named_person_may_say_otherwise(late: Any, answer: dict[str, Any], find: Any) -> None:
    before = answer
    words = ("review", "override", "--site", "one", "--sample", "GA-W1", "--analyte", "Benzene", "--as", "usable")
    assert late.run(*words, "--by", "", "--why", "acidified, 21 days allowed").status == 1
    said = late.run(*words, "--by", "R. Imhof", "--why", "the project plan allows 21 days")
    assert said.status == 0 and said.document["override"]["automatic"] == ["estimated"]
    after = late.run("screen", "--site", "one").document
    assert after["run"] != before["run"] and after["data"] != before["data"]
    benzene = find(after, "GA-W1", "Benzene")
    assert benzene["outcome"] == "does_not_exceed" and "usable by R. Imhof" in benzene["because"]
    review = late.run("review", "--site", "one").document
    assert review["overrides"][0] | {"made_at": ""} == {
        "sample_id": "GA-W1", "analyte": "Benzene", "qualifier": "usable", "automatic": "estimated", "by": "R. Imhof",
        "why": "the project plan allows 21 days", "made_at": "",
    }  # fmt: skip
    assert any(item["check"] == "holding_time" and item["analyte"] == "Benzene" for item in review["findings"])
    assert late.run("runs", "reproduce", before["run"]).document["identical"] is True
    assert late.run("compare", before["run"], after["run"]).document["changes"][0]["cause"] == "data"


def test_the_explanation_names_the_review(late: Any, answer: dict[str, Any]) -> None:
    steps = late.run("explain", answer["run"], "--sample", "GA-W1", "--analyte", "Benzene").document["steps"]
    (step,) = [item["text"] for item in steps if item["step"] == "review"]
    assert "15 days from collection" in step and "edition published-criteria" in step


def test_a_late_benzene_decides_no_other_level(office: Any, rows_of: Any, find: Any) -> None:
    """Gasoline range organics 900: over 800 where benzene is found, under 1,000 where not; a late non-detect shows neither."""
    office.plain_site(place="us-wa", levels="us-wa/groundwater-method-a@2001-08-15")
    same = {"sample_id": "HW-1", "medium": "groundwater", "unit": "ug/L", "sampled_at": "2025-05-01"}
    rows = rows_of({"Gasoline range organics": "900"}, **same, analysed_at="2025-05-05")
    rows += rows_of({"Benzene": "<0.40"}, **same, analysed_at="2025-05-16")
    assert office.run("import", office.deliverable("g.csv", rows), "--site", "one").status == 0
    gasoline = find(office.run("screen", "--site", "one").document, "HW-1", "Gasoline range organics")
    assert gasoline["outcome"] == "open" and "too late to show its absence" in gasoline["because"]
