"""Limits that the rule lets take the place of a lower level, and the tests that it sets for them."""

from __future__ import annotations

from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,citation,source\n"
ROW = HEAD + "Benzene,71-43-2,groundwater,1,ug/L,made up,made up\n"


WATER = {"medium": "groundwater", "unit": "ug/L", "analyte": "Benzene"}


def _stand_in(limit: str, more: str = "") -> str:
    return f'[[stand_ins]]\nlimit = "{limit}"\ntext = "made up"\ncitation = "made up"\ntranscription = "memory"\n{more}\n'


def _waters(rule: Any, *rows: dict[str, str], more: str = "") -> None:
    rule.results(({**WATER, **row} for row in rows), more)


def _by_sample(rule: Any, *words: str) -> list[str]:
    return [one for _, one in sorted(rule.outcomes(*words).items())]


def test_without_such_a_rule_a_limit_above_the_level_is_open(rule: Any) -> None:
    rule.table(ROW)
    _waters(rule, {"result": "<5", "quantitation_limit": "5", "detection_limit": "1"})
    assert _by_sample(rule) == ["open"]


def test_a_quantitation_limit_may_stand_in(rule: Any) -> None:
    rule.table(ROW, _stand_in("quantitation_limit"))
    limits = {"quantitation_limit": "5", "detection_limit": "0.5"}
    _waters(rule, {"result": "<5", **limits}, {"result": "2 J", **limits}, {"result": "5", **limits}, {"result": "5.1", **limits})
    assert _by_sample(rule) == ["does_not_exceed", "does_not_exceed", "does_not_exceed", "exceeds"]
    assert "the quantitation limit that stands in for 1 ug/L (made up; memory)" in rule.screen()["outcomes"][0]["because"]


def test_a_limit_that_a_dilution_raised_never_stands_in(rule: Any) -> None:
    rule.table(ROW, _stand_in("quantitation_limit"))
    limits = {"result": "<50", "quantitation_limit": "50"}
    _waters(rule, {**limits, "dilution": "10"}, {**limits, "dilution": ""}, {**limits, "dilution": "1"})
    assert _by_sample(rule) == ["open", "open", "does_not_exceed"]


@pytest.mark.parametrize(("detection", "outcome"), [("0.5", "does_not_exceed"), ("0.4999", "open"), ("", "open")])
def test_no_more_than_ten_detection_limits(cases: Any, detection: str, outcome: str) -> None:
    def rows(detection: str, outcome: str) -> list[dict[str, str]]:
        return [{**WATER, "result": "<5", "quantitation_limit": "5", "detection_limit": detection}]

    assert cases.outcome(rows, ROW, _stand_in("quantitation_limit", 'times_detection_limit = "10"\n')) == outcome


def test_at_or_above_the_limit_may_be_the_violation(rule: Any) -> None:
    """As in North Carolina, 15A NCAC 02L .0202(b): a detection at or above the quantitation limit; figures made up."""
    rule.table(ROW, _stand_in("quantitation_limit", 'comparison = "at_or_above"\n'))
    limits = {"quantitation_limit": "5"}
    _waters(rule, {"result": "4.9", **limits}, {"result": "5", **limits}, {"result": "<5", **limits})
    assert _by_sample(rule) == ["does_not_exceed", "exceeds", "does_not_exceed"]


def test_for_non_detects_only(rule: Any) -> None:
    """As in Wisconsin, NR 140.14: a substance not detected does not count as attained or exceeded; figures made up."""
    rule.table(ROW, _stand_in("quantitation_limit", "nondetects_only = true\n"))
    limits = {"quantitation_limit": "5", "detection_limit": "2"}
    _waters(rule, {"result": "<2", **limits}, {"result": "3", **limits})
    assert _by_sample(rule) == ["does_not_exceed", "exceeds"]


def test_what_a_person_must_state_first(office: Any) -> None:
    """Washington, WAC 173-340-707: ten detection limits at most, and at most the limit that the federal agency uses."""
    office.plain_site(levels="us-wa/groundwater-method-a@2001-08-15")
    row = {
        "sample_id": "W-1", "medium": "groundwater", "analyte": "Benzene", "result": "<8", "unit": "ug/L",
        "quantitation_limit": "8", "detection_limit": "0.8", "dilution": "1",
    }  # fmt: skip
    assert office.run("import", office.deliverable("w.csv", [row]), "--site", "one").status == 0
    (open_,) = office.run("screen", "--site", "one").document["outcomes"]
    assert open_["outcome"] == "open" and "does not stand in for the level here: it must be at most ten" in open_["because"]
    (passed,) = office.run("screen", "--site", "one", "--condition", "published_limit=met").document["outcomes"]
    assert passed["outcome"] == "does_not_exceed" and "WAC 173-340-707; read" in passed["because"]
    (not_met,) = office.run("screen", "--site", "one", "--condition", "published_limit=not_met").document["outcomes"]
    assert not_met["outcome"] == "open"


BACKGROUND = '[[background]]\nanalyte = "Benzene"\nmedium = "groundwater"\namount = "0.003"\nunit = "mg/L"\nby = "A. Person"\nwhy = "three wells upstream"\n'


def test_a_natural_amount_stands_in_only_where_the_rule_lets_it(rule: Any) -> None:
    rule.table(ROW, _stand_in("background"))
    _waters(rule, {"result": "2.5"}, {"result": "3.5"}, more=BACKGROUND)
    assert _by_sample(rule) == ["does_not_exceed", "exceeds"]
    assert any(
        "background of Benzene in groundwater 0.003 mg/L, stated by A. Person" in text for text in rule.screen()["assumptions"]
    )


def test_elsewhere_it_does_not(rule: Any) -> None:
    rule.table(ROW)
    _waters(rule, {"result": "2.5"}, more=BACKGROUND)
    assert _by_sample(rule) == ["exceeds"]


def test_a_background_in_no_unit_of_the_medium_is_refused(rule: Any) -> None:
    rule.table(ROW, _stand_in("background"))
    _waters(rule, {"result": "2.5"}, more=BACKGROUND.replace("mg/L", "mg/kg"))
    said = rule.office.run("screen", "--site", "one")
    assert said.status == 1 and "[[background]]: 'mg/kg' is no unit for groundwater" in said.error


@pytest.mark.parametrize(
    ("limits", "outcome"),
    [
        ({"quantitation_limit": "50"}, "does_not_exceed"),
        ({"reporting_limit": "50"}, "open"),
        ({"detection_limit": "50"}, "open"),
        ({}, "open"),
    ],
)
def test_only_a_quantitation_limit_stands_in_as_one(cases: Any, limits: dict[str, str], outcome: str) -> None:
    """What a laboratory reports down to, for whatever reason, is no quantitation limit until it is called one."""
    found = cases.outcome(lambda limits, outcome: [{**WATER, "result": "<50", **limits}], ROW, _stand_in("quantitation_limit"))
    assert found == outcome
