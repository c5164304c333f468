"""Levels that hang on another result of the same sample: detected, not detected, not shown; the shares of a mixture. Figures made up."""

from __future__ import annotations

from collections.abc import Callable
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


WATER = {"sample_id": "W-1", "medium": "groundwater", "unit": "ug/L"}
WHOLE = {"analyte": GASOLINE, "result": "900"}


def _gasoline(rule: Any, *results: dict[str, str], words: tuple[str, ...] = (), limit: str = LIMIT) -> dict[str, Any]:
    """The outcome of gasoline at 900 ug/L beside the results given of the same water."""
    rule.table(HEAD + ROWS, BENZENE.format(limit=limit))
    rule.results({**WATER, **one} for one in (WHOLE, *results))
    return _of_gasoline(rule.screen(*words)["outcomes"])


def _among(cases: Any, results: Callable[..., list[dict[str, str]]], words: tuple[str, ...] = ()) -> dict[str, Any]:
    """The same of a case among the others of its test."""
    return _of_gasoline(cases(lambda **case: [{**WATER, **one} for one in (WHOLE, *results(**case))],
                              HEAD + ROWS, BENZENE.format(limit=LIMIT), words=words))  # fmt: skip


def _of_gasoline(outcomes: list[dict[str, Any]]) -> dict[str, Any]:
    (found,) = [one for one in outcomes if one["analyte"] == GASOLINE]
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
def test_what_shows_that_benzene_is_absent(cases: Any, benzene: dict[str, str], outcome: str) -> None:
    assert _among(cases, lambda benzene, outcome: [benzene])["outcome"] == outcome


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
def test_of_two_fractions_the_one_that_shows_less_decides(cases: Any, one: str, other: str, outcome: str) -> None:
    def both(one: str, other: str, outcome: str) -> list[dict[str, str]]:
        return [_benzene(one, fraction="total"), _benzene(other, fraction="dissolved")]

    assert _among(cases, both)["outcome"] == outcome


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
def test_the_share_of_the_mixture(cases: Any, toluene: str, ethylbenzene: str, outcome: str) -> None:
    def parts(toluene: str, ethylbenzene: str, outcome: str) -> list[dict[str, str]]:
        given = (("Toluene", toluene), ("Ethylbenzene", ethylbenzene))
        return [_benzene("<1"), *({"analyte": name, "result": result} for name, result in given if result)]

    assert _among(cases, parts, MIXTURE)["outcome"] == outcome


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


def test_a_rejected_result_beside_a_non_detect_shows_no_absence(rule: Any) -> None:
    found = _gasoline(rule, _benzene("3", fraction="total", qualifiers="R"), _benzene("<1", fraction="dissolved"))
    assert found["outcome"] == UNKNOWN and "benzene is rejected" in found["because"]


@pytest.mark.parametrize(
    ("more", "outcome"),
    [
        ({}, ABSENT),
        ({"medium": "surface_water"}, UNKNOWN),
        ({"location": "W-9"}, UNKNOWN),
        ({"depth_top": "3", "depth_unit": "ft"}, UNKNOWN),
        ({"sampled_at": "2024-07-01"}, UNKNOWN),
        ({"sample_kind": "field_duplicate"}, UNKNOWN),
    ],
)
def test_benzene_elsewhere_or_at_another_time_shows_nothing(cases: Any, more: dict[str, str], outcome: str) -> None:
    here = {**WATER, "location": "W-1", "sampled_at": "2024-05-01"}

    def rows(more: dict[str, str], outcome: str) -> list[dict[str, str]]:
        return [{**here, **WHOLE}, {**here, **_benzene("<1"), **more}]

    assert _of_gasoline(cases(rows, HEAD + ROWS, BENZENE.format(limit=LIMIT)))["outcome"] == outcome


def test_benzene_in_the_soil_says_nothing_of_the_water_under_the_same_number(rule: Any) -> None:
    """A boring that lends its name to its soil and its water: <1 mg/kg in the soil is no '<1 ug/L' in the water."""
    rule.table(HEAD + ROWS, BENZENE.format(limit=LIMIT))
    rule.results(
        [
            {"sample_id": "B-1", "analyte": GASOLINE, "result": "900", "medium": "groundwater", "unit": "ug/L"},
            {"sample_id": "B-1", "analyte": "Benzene", "result": "<1"},
        ]
    )
    assert rule.outcomes()["B-1", GASOLINE] == UNKNOWN


def test_a_greatest_limit_for_water_shows_no_absence_in_soil(rule: Any) -> None:
    """'5 ug/L' is no limit for mg/kg: <3 mg/kg of soil lies below no '5'."""
    rule.table(HEAD + ROWS.replace("groundwater", "soil").replace("ug/L", "mg/kg"), BENZENE.format(limit=LIMIT))
    rule.results(
        [
            {"sample_id": "S-1", "analyte": GASOLINE, "result": "900"},
            {"sample_id": "S-1", "analyte": "Benzene", "result": "<3"},
        ]
    )
    assert rule.outcomes()["S-1", GASOLINE] == UNKNOWN


@pytest.mark.parametrize("whole", [">900", "900 E"])
def test_a_share_of_what_is_known_only_from_below(cases: Any, whole: str) -> None:
    """8.9 is below 1 % of any amount above 900; 9 may be or not."""

    def rows(whole: str) -> list[dict[str, str]]:
        result, _, flag = whole.partition(" ")
        made = [{**WATER, "sample_id": sample, "analyte": name, "result": text, "qualifiers": ""}
                for sample, toluene in (("W-1", "4.9"), ("W-2", "5"), ("W-3", "99"))
                for name, text in (("Lead", "15"), ("Benzene", "<1"), ("Toluene", toluene), ("Ethylbenzene", "4"))]  # fmt: skip
        gasoline = {**WATER, "analyte": GASOLINE, "result": result, "qualifiers": flag}
        return made + [{**gasoline, "sample_id": f"W-{at}"} for at in (1, 2, 3)]

    table = "Lead,7439-92-1,groundwater,10,ug/L,detected,made up,made up\nLead,7439-92-1,groundwater,20,ug/L,not_detected,made up,made up\n"
    outcomes = {
        (one["sample_id"], one["analyte"]): one["outcome"]
        for one in cases(rows, HEAD + table, BENZENE.format(limit=LIMIT), words=MIXTURE)
    }
    assert [outcomes[f"W-{at}", "Lead"] for at in (1, 2, 3)] == [ABSENT, UNKNOWN, UNKNOWN]


def test_the_share_is_taken_of_the_least_that_two_fractions_say(rule: Any) -> None:
    """900 in all and 300 dissolved: 4 is below 1 % of the one, not of the other."""
    rule.table(HEAD + "Lead,7439-92-1,groundwater,10,ug/L,detected,made up,made up\n"
                      "Lead,7439-92-1,groundwater,20,ug/L,not_detected,made up,made up\n", BENZENE.format(limit=LIMIT))  # fmt: skip
    water = {"medium": "groundwater", "unit": "ug/L", "sample_id": "W-1"}
    names = [("Lead", "15", ""), ("Benzene", "<1", ""), ("Toluene", "2", ""), ("Ethylbenzene", "2", ""),
             (GASOLINE, "900", "total"), (GASOLINE, "300", "dissolved")]  # fmt: skip
    rule.results({**water, "analyte": name, "result": result, "fraction": fraction} for name, result, fraction in names)
    assert rule.outcomes(*MIXTURE)["W-1", "Lead"] == UNKNOWN


XYLENES = BENZENE.replace("Benzene", "Total xylenes").format(limit="")


def test_a_total_not_detected_whose_parts_are_shows_no_absence(rule: Any) -> None:
    rule.table(
        HEAD + ROWS + "Total xylenes,,groundwater,1000,ug/L,detected,made up,made up\n"
        "Total xylenes,,groundwater,1000,ug/L,not_detected,made up,made up\n",
        XYLENES,
    )
    water = {"sample_id": "W-1", "medium": "groundwater", "unit": "ug/L"}
    names = ((GASOLINE, "900"), ("Total xylenes", "<5"), ("m,p-Xylene", "4"), ("o-Xylene", "4"))
    rule.results({**water, "analyte": name, "result": result} for name, result in names)
    assert rule.outcomes()["W-1", GASOLINE] == UNKNOWN


@pytest.mark.parametrize(("chromium", "outcome"), [("3", UNKNOWN), ("<3", ABSENT)])
def test_a_total_shows_the_absence_of_its_species_but_not_their_presence(cases: Any, chromium: str, outcome: str) -> None:
    found = cases(
        lambda chromium, outcome: [{**WATER, **WHOLE}, {**WATER, "analyte": "Chromium", "result": chromium}],
        HEAD + ROWS + "Hexavalent chromium,,groundwater,1000,ug/L,detected,made up,made up\n"
        "Hexavalent chromium,,groundwater,1000,ug/L,not_detected,made up,made up\n",
        BENZENE.replace('analyte = "Benzene"', 'analyte = "Hexavalent chromium"').format(limit=""),
    )
    assert _of_gasoline(found)["outcome"] == outcome


@pytest.mark.parametrize(("deep", "outcome"), [([], ABSENT), ([{"depth_top": "9"}], UNKNOWN)])
def test_benzene_without_a_depth_is_one_of_the_only_depth(cases: Any, deep: list[dict[str, str]], outcome: str) -> None:
    gasoline = {**WATER, **WHOLE, "depth_top": "3", "depth_unit": "ft"}

    def rows(deep: list[dict[str, str]], outcome: str) -> list[dict[str, str]]:
        return [gasoline, {**WATER, **_benzene("<1")}, *({**gasoline, **one} for one in deep)]

    told = cases(rows, HEAD + ROWS, BENZENE.format(limit=LIMIT))
    found = [one for one in told if one["analyte"] == GASOLINE and one["depth_top"] == "3"]
    assert [one["outcome"] for one in found] == [outcome]
