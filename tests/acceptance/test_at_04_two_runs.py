"""AT-04: one sample in two dilutions gives exactly one value an analyte."""

from __future__ import annotations

from typing import Any

import pytest

RUNS = [
    ("1", "1", "Benzene", "5.2", "E"), ("1", "1", "Ethylbenzene", "0.38", ""), ("1", "1", "MTBE", "<0.025", ""),
    ("2", "50", "Benzene", "7.9", "D"), ("2", "50", "Ethylbenzene", "<1.25", ""), ("2", "50", "MTBE", "<1.25", ""),
]  # fmt: skip


@pytest.fixture(scope="module")
def office(desk: Any) -> Any:
    """One for all tests: none changes what was delivered."""
    return desk


@pytest.fixture(scope="module")
def screened(office: Any) -> dict[str, Any]:
    """The screen of both runs under class 2."""
    office.plain_site(more='[conditions]\nsoil_class = "2"\n')
    rows = [
        {
            "sample_id": "BI-3", "medium": "soil", "run_no": run, "dilution": dilution, "analyte": analyte, "result": result,
            "qualifiers": flag, "unit": "mg/kg", "basis": "dry",
        }
        for run, dilution, analyte, result, flag in RUNS
    ]  # fmt: skip
    assert office.run("import", office.deliverable("runs.csv", rows), "--site", "one").status == 0
    return dict(office.run("screen", "--site", "one").document)


def test_one_value_an_analyte_enters(screened: dict[str, Any], find: Any) -> None:
    assert len(screened["outcomes"]) == 3
    assert {item["sample_id"] for item in screened["outcomes"]} == {"BI-3"}
    benzene = find(screened, "BI-3", "Benzene")
    assert (benzene["value"], benzene["level"], benzene["outcome"]) == ("7.9", "0.437", "exceeds")
    assert find(screened, "BI-3", "Ethylbenzene")["value"] == "0.38"
    mtbe = find(screened, "BI-3", "Methyl tert-butyl ether")
    assert (mtbe["detected"], mtbe["limit"], mtbe["level"], mtbe["outcome"]) == (False, "0.025", "2.67", "does_not_exceed")
    assert screened["recommendation"]["status"] == "triggered"
    assert all("chosen of 2 analyses" in item["because"] for item in screened["outcomes"])


def test_the_others_are_kept_with_the_reason(screened: dict[str, Any], office: Any) -> None:
    every = office.run("results", "--site", "one", "--all").document["results"]
    left = {item["analyte"]: item for item in every if not item["chosen"]}
    assert len(every) == 6 and len(left) == 3
    assert left["Benzene"]["value"] == "5.2"
    assert "over the calibrated range" in left["Benzene"]["because"]
    assert (left["Ethylbenzene"]["limit"], left["Methyl tert-butyl ether"]["limit"]) == ("1.25", "1.25")
    assert all(item["because"].startswith("not chosen") for item in left.values())


def test_switching_the_rule_is_told_beforehand(screened: dict[str, Any], office: Any) -> None:
    chosen = office.run("review", "--site", "one").document["chosen_rule"]
    assert {(item["analyte"], item["chosen"], item["under_other_rule"]) for item in chosen["switching_would_change"]} == {
        ("Ethylbenzene", "0.38", "<1.25"), ("Methyl tert-butyl ether", "<0.025", "<1.25"),
    }  # fmt: skip


def test_last_run_wins_changes_two_analytes(screened: dict[str, Any], office: Any, find: Any) -> None:
    last = office.run("screen", "--site", "one", "--setting", "chosen_rule=last_run").document
    assert last["run"] != screened["run"]
    assert find(last, "BI-3", "Benzene")["value"] == "7.9"
    changes = office.run("compare", screened["run"], last["run"]).document["changes"]
    assert {(item["analyte"], item["cause"]) for item in changes} == {
        ("Ethylbenzene", "setting"), ("Methyl tert-butyl ether", "setting"),
    }  # fmt: skip
    assert office.run("runs", "reproduce", last["run"]).document["identical"] is True
