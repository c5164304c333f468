"""A level of the dissolved or of the total amount, and results of the other fraction or of none stated. Figures made up."""

from __future__ import annotations

from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,fraction,citation,source\n"
WATER = {"sample_id": "W-1", "medium": "groundwater", "unit": "ug/L", "analyte": "Lead"}


def _fifteen(fraction: str) -> str:
    return HEAD + f"Lead,7439-92-1,groundwater,15,ug/L,{fraction},made up,made up\n"


def _told(outcomes: list[dict[str, Any]]) -> list[tuple[str, str, str | None]]:
    return sorted((one["fraction"], one["outcome"], one["level"]) for one in outcomes)


def _lead(rule: Any, fraction: str, *results: tuple[str, str]) -> list[tuple[str, str, str | None]]:
    """Fraction, outcome and level of each outcome of lead, whose level is 15 of the fraction."""
    rule.table(_fifteen(fraction))
    rule.results({**WATER, "fraction": of, "result": result} for of, result in results)
    return _told(rule.screen()["outcomes"])


def _one(of: str, result: str, outcome: str) -> list[dict[str, str]]:
    return [{**WATER, "fraction": of, "result": result}]


@pytest.mark.parametrize(
    ("of", "result", "outcome"),
    [
        ("dissolved", "16", "exceeds"), ("dissolved", "15", "does_not_exceed"),
        ("total", "15", "does_not_exceed"),  # what is dissolved is no more than the total
        ("total", "16", "open"), ("total", "<15", "does_not_exceed"), ("total", "<16", "open"),
        ("", "15", "does_not_exceed"), ("", "16", "open"),
    ],
)  # fmt: skip
def test_a_level_of_what_is_dissolved(cases: Any, of: str, result: str, outcome: str) -> None:
    assert _told(cases(_one, _fifteen("dissolved"))) == [("dissolved", outcome, "15")]


@pytest.mark.parametrize(
    ("of", "result", "outcome"),
    [
        ("total", "16", "exceeds"), ("total", "15", "does_not_exceed"),
        ("dissolved", "16", "exceeds"),  # the total is no less than what is dissolved
        ("dissolved", "15", "open"), ("dissolved", "<1", "open"), ("", "15", "open"), ("", "16", "exceeds"),
    ],
)  # fmt: skip
def test_a_level_of_the_total(cases: Any, of: str, result: str, outcome: str) -> None:
    assert _told(cases(_one, _fifteen("total"))) == [("total", outcome, "15")]


def test_the_fraction_that_the_level_means_stands_for_itself(rule: Any) -> None:
    found = _lead(rule, "dissolved", ("total", "200"), ("dissolved", "3"))
    assert found == [("dissolved", "does_not_exceed", "15"), ("total", "no_level", None)]


def test_the_stated_fraction_bounds_the_other_before_one_not_stated(rule: Any) -> None:
    assert ("dissolved", "does_not_exceed", "15") in _lead(rule, "dissolved", ("total", "3"), ("", "200"))


def test_a_leachate_bounds_nothing(rule: Any) -> None:
    assert _lead(rule, "dissolved", ("leachate", "3")) == [("leachate", "no_level", None)]


def test_another_sample_does_not_say_what_is_dissolved_here(rule: Any) -> None:
    rule.table(HEAD + "Lead,7439-92-1,groundwater,15,ug/L,dissolved,made up,made up\n")
    rule.results(
        [{**WATER, "fraction": "total", "result": "200"}, {**WATER, "sample_id": "W-2", "fraction": "dissolved", "result": "3"}]
    )
    assert rule.outcomes() == {("W-1", "Lead"): "open", ("W-2", "Lead"): "does_not_exceed"}


def test_a_level_of_every_fraction_needs_none(rule: Any) -> None:
    assert _lead(rule, "", ("", "15"), ("total", "16")) == [("", "does_not_exceed", "15"), ("total", "exceeds", "15")]


def test_the_reason_says_what_is_missing(rule: Any) -> None:
    rule.table(HEAD + "Lead,7439-92-1,groundwater,15,ug/L,dissolved,made up,made up\n")
    rule.results([{**WATER, "result": "16"}])
    (found,) = rule.screen()["outcomes"]
    assert "the level is one of the total or the dissolved amount, and this is not reported" in found["because"]
    assert "from Lead of no stated fraction 16" in found["because"]


def test_new_mexico_holds_what_is_dissolved_against_its_level(office: Any) -> None:
    """20.6.2.3103 NMAC: arsenic 0.010 mg/L, dissolved; a total of 8 ug/L is below it, one of 20 shows nothing."""
    office.plain_site(levels="us-nm/groundwater")
    rows = [{"sample_id": name, "medium": "groundwater", "analyte": "Arsenic", "fraction": fraction, "result": result, "unit": "ug/L"}
            for name, fraction, result in (("A", "total", "8"), ("B", "total", "20"), ("C", "", "20"), ("D", "dissolved", "20"))]  # fmt: skip
    assert office.run("import", office.deliverable("w.csv", rows), "--site", "one").status == 0
    found = office.run("screen", "--site", "one").document["outcomes"]
    assert {one["sample_id"]: one["outcome"] for one in found if one["fraction"] == "dissolved"} == {
        "A": "does_not_exceed", "B": "open", "C": "open", "D": "exceeds",
    }  # fmt: skip
