"""Levels that hang on another result of the same sample: detected, not detected, not shown; the shares of a mixture. Figures made up."""

from __future__ import annotations

from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,benzene,citation,source\n"
ROWS = (
    "Gasoline range organics,,groundwater,800,ug/L,detected,made up,made up\n"
    "Gasoline range organics,,groundwater,1000,ug/L,not_detected,made up,made up\n"
)
BENZENE = """
[conditions.benzene]
from = "results"
analyte = "Benzene"
values = ["detected", "not_detected"]
title = "benzene"
when_unknown = "open"
{limit}
default_wording = "alone"
[conditions.benzene.wordings.alone]
source = "made up"
[conditions.benzene.wordings.mixture]
sum = ["Toluene", "Ethylbenzene"]
of = "Gasoline range organics"
share_below = "0.01"
source = "made up"
"""
LIMIT = 'limit_at_most = "5 ug/L"'
MIXTURE = ("--setting", "wording.benzene=mixture")
GASOLINE = "Gasoline range organics"

DETECTED, ABSENT, UNKNOWN = "exceeds", "does_not_exceed", "open"
"""What gasoline at 900, between the two levels, says of the condition."""


def _gasoline(rule: Any, *results: dict[str, str], words: tuple[str, ...] = (), limit: str = LIMIT) -> dict[str, Any]:
    """The outcome of gasoline at 900 ug/L beside the results given of the same water."""
    rule.table(HEAD + ROWS, BENZENE.format(limit=limit))
    water = {"sample_id": "W-1", "medium": "groundwater", "unit": "ug/L"}
    given = [{"analyte": GASOLINE, "result": "900"}, *results]
    rule.results({**water, **one} for one in given)
    (found,) = [one for one in rule.screen(*words)["outcomes"] if one["analyte"] == GASOLINE]
    return dict(found)


def _benzene(result: str, **more: str) -> dict[str, str]:
    return {"analyte": "Benzene", "result": result, **more}


@pytest.mark.parametrize(
    ("benzene", "outcome"),
    [
        (_benzene("0.1"), DETECTED),
        (_benzene("<4.9"), ABSENT),
        (_benzene("<5"), ABSENT),  # at the greatest limit that shows absence
        (_benzene("<5.01"), UNKNOWN),
        (_benzene("ND"), UNKNOWN),
        (_benzene("3", qualifiers="R"), UNKNOWN),  # a rejected result shows nothing
    ],
    ids=["detected", "below", "at", "above", "no limit", "rejected"],
)
def test_what_shows_that_benzene_is_absent(rule: Any, benzene: dict[str, str], outcome: str) -> None:
    assert _gasoline(rule, benzene)["outcome"] == outcome


def test_benzene_not_reported_is_unknown(rule: Any) -> None:
    found = _gasoline(rule, {"analyte": "Toluene", "result": "1"})
    assert (found["outcome"], len(found["beside"])) == (UNKNOWN, 2)


def test_without_a_greatest_limit_any_non_detect_counts(rule: Any) -> None:
    assert _gasoline(rule, _benzene("<700"), limit="")["outcome"] == ABSENT


@pytest.mark.parametrize(
    ("one", "other", "outcome"),
    [
        ("2", "<1", DETECTED),
        ("<1", "2", DETECTED),
        ("<1", "<6", UNKNOWN),
        ("<6", "<1", UNKNOWN),
        ("<1", "<2", ABSENT),
        ("<1", "ND", UNKNOWN),
    ],
)
def test_of_two_fractions_the_one_that_shows_less_decides(rule: Any, one: str, other: str, outcome: str) -> None:
    found = _gasoline(rule, _benzene(one, fraction="total"), _benzene(other, fraction="dissolved"))
    assert found["outcome"] == outcome


def test_a_leachate_says_nothing_of_the_soil(rule: Any) -> None:
    rule.table(
        HEAD + ROWS.replace("groundwater", "soil").replace("ug/L", "mg/kg"), BENZENE.format(limit='limit_at_most = "5 mg/kg"')
    )
    rule.results(
        [
            {"sample_id": "S-1", "analyte": GASOLINE, "result": "900"},
            {"sample_id": "S-1", "analyte": "Benzene", "result": "3", "fraction": "leachate"},
            {"sample_id": "S-1", "analyte": "Benzene", "result": "<1"},
        ]
    )
    assert rule.outcomes()["S-1", GASOLINE] == ABSENT


@pytest.mark.parametrize(
    ("toluene", "ethylbenzene", "outcome"),
    [
        ("4", "4.9", ABSENT),
        ("4", "5", DETECTED),  # 9 is 1 % of 900, not below it
        ("4", "5.1", DETECTED),
        ("4", "<4.9", ABSENT),
        ("4", "<5", UNKNOWN),  # at most 9: may reach 1 %
        ("9", "<5", DETECTED),
        ("4", "", UNKNOWN),
        ("", "4", UNKNOWN),
        ("4", "ND", UNKNOWN),
        ("<1", "ND", UNKNOWN),
    ],
)
def test_the_share_of_the_mixture(rule: Any, toluene: str, ethylbenzene: str, outcome: str) -> None:
    parts = [
        {"analyte": name, "result": result} for name, result in (("Toluene", toluene), ("Ethylbenzene", ethylbenzene)) if result
    ]
    assert _gasoline(rule, _benzene("<1"), *parts, words=MIXTURE)["outcome"] == outcome


def test_a_share_of_what_is_not_detected_is_unknown(rule: Any) -> None:
    """Another level may hang on the same condition where there is no gasoline to take a share of."""
    rule.table(
        HEAD
        + "Lead,7439-92-1,groundwater,10,ug/L,detected,made up,made up\nLead,7439-92-1,groundwater,20,ug/L,not_detected,made up,made up\n",
        BENZENE.format(limit=LIMIT),
    )
    names = [("Lead", "15"), ("Benzene", "<1"), ("Toluene", "<1"), ("Ethylbenzene", "<1"), (GASOLINE, "<100")]
    rule.results(
        {"sample_id": "W-1", "medium": "groundwater", "unit": "ug/L", "analyte": name, "result": result} for name, result in names
    )
    assert rule.outcomes()["W-1", "Lead"] == ABSENT
    assert rule.outcomes(*MIXTURE)["W-1", "Lead"] == UNKNOWN


def test_the_percent_is_told_as_the_rule_prints_it(rule: Any) -> None:
    found = _gasoline(
        rule, _benzene("<1"), {"analyte": "Toluene", "result": "4"}, {"analyte": "Ethylbenzene", "result": "5"}, words=MIXTURE
    )
    assert "toluene + ethylbenzene 9 is 1.00 % of gasoline range organics 900, not below 1 %" in found["because"]


def test_a_result_of_another_sample_decides_nothing(rule: Any) -> None:
    rule.table(HEAD + ROWS, BENZENE.format(limit=LIMIT))
    water = {"medium": "groundwater", "unit": "ug/L"}
    rule.results([
        {**water, "sample_id": "W-1", "analyte": GASOLINE, "result": "900"}, {**water, "sample_id": "W-1", "analyte": "Benzene", "result": "<1"},
        {**water, "sample_id": "W-2", "analyte": GASOLINE, "result": "900"}, {**water, "sample_id": "W-2", "analyte": "Benzene", "result": "3"},
    ])  # fmt: skip
    found = rule.outcomes()
    assert (found["W-1", GASOLINE], found["W-2", GASOLINE]) == (ABSENT, DETECTED)
