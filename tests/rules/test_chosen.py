"""Of several analyses of one sample one value is chosen: each step of the rule by a pair that differs in nothing else. Figures made up."""

from __future__ import annotations

from typing import Any

import pytest

LEVEL = "analyte,cas,medium,level,unit,citation,source\nBenzene,71-43-2,soil,1,mg/kg,made up,made up\n"
SAME = {"sampled_at": "2024-05-01", "analyte": "Benzene", "method": "8260"}
TIMELY, LATE = {"analysed_at": "2024-05-10"}, {"analysed_at": "2024-05-20"}
"""Within the 14 days of a volatile in soil, and after them but within twice as many (later still it is rejected)."""

PAIRS: dict[str, tuple[dict[str, str], dict[str, str]]] = {
    "a usable one before a rejected one": ({"result": "3", "dilution": "10"}, {"result": "4", "qualifiers": "R"}),
    "one in range before one over it": ({"result": "3", "dilution": "10"}, {"result": "4", "qualifiers": "E"}),
    "one in range before one only bounded": ({"result": "3", "dilution": "10"}, {"result": ">4"}),
    "of two over range the more diluted": ({"result": "3", "qualifiers": "E", "dilution": "10"}, {"result": "4", "qualifiers": "E"}),
    "of two over range one diluted twofold before one not stated": (
        {"result": "3", "qualifiers": "E", "dilution": "2"}, {"result": "4", "qualifiers": "E", "dilution": ""}
    ),
    "of two over range one not stated before half": (
        {"result": "3", "qualifiers": "E", "dilution": ""}, {"result": "4", "qualifiers": "E", "dilution": "0.5"}
    ),
    "a timely non-detect before a late one": ({"result": "<3", "dilution": "10", **TIMELY}, {"result": "<2", **LATE}),
    "a late detection is no late non-detect": ({"result": "3", **LATE}, {"result": "4", "dilution": "10", **TIMELY}),
    "a detection before a late non-detect": ({"result": "3", "dilution": "10", **LATE}, {"result": "<2", **LATE}),
    "the less diluted": ({"result": "3", "dilution": "2"}, {"result": "4", "dilution": "10"}),
    "one of no stated dilution before a diluted one": ({"result": "3", "dilution": ""}, {"result": "4", "dilution": "2"}),
    "half before one of no stated dilution": ({"result": "3", "dilution": "0.5"}, {"result": "4", "dilution": ""}),
    "a detection before a non-detect": ({"result": "3"}, {"result": "<5"}),
    "the higher detection": ({"result": "4"}, {"result": "3"}),
    "the higher detection in dry weight": (
        {"result": "3", "basis": "as_received", "percent_solids": "50"}, {"result": "4", "basis": "dry"}
    ),
    "of equal ones the last analysed": ({"result": "3.0", **TIMELY}, {"result": "3", "analysed_at": "2024-05-09"}),
    "of equal ones one of a known day": ({"result": "3", **TIMELY}, {"result": "3.00"}),
    "the lower limit": ({"result": "<3"}, {"result": "<4"}),
    "the lower limit in dry weight": ({"result": "<4"}, {"result": "<3", "basis": "as_received", "percent_solids": "50"}),
    "a limit before none": ({"result": "<3"}, {"result": "ND"}),
}  # fmt: skip
"""What is chosen, and what is not."""

LAST: dict[str, tuple[dict[str, str], dict[str, str]]] = {
    "the last analysed": ({"result": "3", "analysed_at": "2024-05-10"}, {"result": "4", "analysed_at": "2024-05-09"}),
    "a day before none": ({"result": "3", "analysed_at": "2024-05-10"}, {"result": "4"}),
    "the highest run number": ({"result": "3", "run_no": "10"}, {"result": "4", "run_no": "9"}),
    "a run number before none": ({"result": "3", "run_no": "1"}, {"result": "4"}),
    "the last run letter": ({"result": "3", "run_no": "B"}, {"result": "4", "run_no": "A"}),
    "a usable one before a rejected one": ({"result": "3"}, {"result": "4", "qualifiers": "R", "analysed_at": "2024-05-10"}),
}


def _told(row: dict[str, str], sample: str) -> dict[str, str]:
    return {**SAME, "sample_id": sample, **row}


def _chosen(rule: Any, pairs: dict[str, tuple[dict[str, str], dict[str, str]]], turned: bool, *words: str) -> dict[str, str]:
    """The chosen text of each pair, all pairs in one deliverable."""
    rule.table(LEVEL)
    samples = {f"S-{at}": (name, pair) for at, (name, pair) in enumerate(pairs.items(), start=1)}
    rows = [_told(row, sample) for sample, (_, pair) in samples.items() for row in (reversed(pair) if turned else pair)]
    rule.results(rows, reviewed=True)
    document = rule.screen(*words)
    assert len(document["outcomes"]) == len(pairs)
    return {samples[one["sample_id"]][0]: one["source"]["text"] for one in document["outcomes"]}


@pytest.mark.parametrize("turned", [False, True], ids=["as written", "turned round"])
def test_each_step_of_the_rule(rule: Any, turned: bool) -> None:
    assert _chosen(rule, PAIRS, turned) == {name: pair[0]["result"] for name, pair in PAIRS.items()}


@pytest.mark.parametrize("turned", [False, True], ids=["as written", "turned round"])
def test_each_step_of_the_last_run(rule: Any, turned: bool) -> None:
    found = _chosen(rule, LAST, turned, "--setting", "chosen_rule=last_run")
    assert found == {name: pair[0]["result"] for name, pair in LAST.items()}


def test_what_a_person_rejects_is_chosen_last(rule: Any) -> None:
    rule.table(LEVEL)
    rule.results(
        [_told({"result": "4"}, "S-1"), _told({"result": "3", "dilution": "10"}, "S-1"), _told({"result": "2"}, "S-2")],
        reviewed=True,
    )
    assert rule.screen()["outcomes"][0]["value"] == "4"
    words = ("--sample", "S-1", "--analyte", "Benzene", "--as", "rejected", "--by", "A. Person", "--why", "a test")
    said = rule.office.run("review", "override", "--site", "one", *words, "--row", "2")
    if said.status:
        pytest.fail(said.error)
    assert rule.screen()["outcomes"][0]["value"] == "3"
