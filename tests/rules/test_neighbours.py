"""Results are joined only within one sample, kind, place, depth, medium and fraction: a neighbour never decides. Figures made up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,citation,source\n"
HERE = {
    "sample_id": "A", "sample_kind": "field", "location": "P", "depth_top": "2", "depth_unit": "ft", "medium": "soil",
    "fraction": "total", "unit": "mg/kg", "basis": "dry",
}  # fmt: skip
ELSEWHERE = {
    "sample": {"sample_id": "B"}, "kind": {"sample_kind": "field_duplicate"}, "place": {"location": "Q"}, "depth": {"depth_top": "3"},
    "no depth": {"depth_top": "", "depth_unit": ""}, "medium": {"medium": "sediment"}, "fraction": {"fraction": "dissolved"},
}  # fmt: skip
"""What a neighbour differs in, one thing at a time."""


def _rows(analytes: dict[str, str], **more: str) -> list[dict[str, str]]:
    return [{**HERE, "analyte": name, "result": result, **more} for name, result in analytes.items()]


SOLIDS = ('media = ["soil", "groundwater"]', 'media = ["soil", "sediment"]')


def _levels(level: str, analyte: str) -> str:
    return HEAD + "".join(f"{analyte},,{medium},{level},mg/kg,made up,made up\n" for medium in ("soil", "sediment"))


def _at(told: list[dict[str, Any]], analyte: str, **at: str) -> list[dict[str, Any]]:
    """The outcomes of the analyte at HERE, or where `at` differs from it."""
    place = {**HERE, **at}
    asked = ("sample_id", "sample_kind", "location", "medium", "fraction")
    return [
        one for one in told
        if one["analyte"] == analyte and all(one[key] == place[key] for key in asked) and (one["depth_top"] or "") == place["depth_top"]
    ]  # fmt: skip


def _here(rule: Any, level: str, analyte: str, *rows: list[dict[str, str]], **at: str) -> list[dict[str, Any]]:
    """The outcomes of the analyte at HERE, or where `at` differs from it, of a site of its own."""
    rule.table(_levels(level, analyte), facts=SOLIDS)
    rule.results(row for group in rows for row in group)
    document = rule.screen()
    return _at([*document["outcomes"], *document["outweighed"]], analyte, **at)


def _xylenes(cases: Any, rows: Callable[..., list[dict[str, str]]], level: str = "6", **at: str) -> list[dict[str, Any]]:
    """The outcomes of total xylenes of one case among the others."""
    return _at(cases(rows, _levels(level, "Total xylenes"), facts=SOLIDS), "Total xylenes", **at)


@pytest.mark.parametrize("other", ELSEWHERE)
def test_parts_elsewhere_say_nothing_against_a_total(cases: Any, other: str) -> None:
    parts = {"m,p-Xylene": "50", "o-Xylene": "50"}
    (found,) = _xylenes(cases, lambda other: _rows({"Total xylenes": "5"}) + _rows(parts, **ELSEWHERE[other]))
    assert (found["outcome"], found["upper"]) == ("does_not_exceed", "5")


def test_parts_of_the_same_sample_do(rule: Any) -> None:
    """The parts add up to 7, more than the total of 5 says; it clears nothing below 7."""
    (found,) = _here(rule, "6", "Total xylenes", _rows({"Total xylenes": "5", "m,p-Xylene": "4", "o-Xylene": "3"}))
    assert (found["outcome"], found["lower"], found["upper"]) == ("open", "5", "7") and "add up to more" in found["because"]


@pytest.mark.parametrize(("part", "outcome"), [("1", "does_not_exceed"), ("1.01", "does_not_exceed"), ("2.01", "open")])
def test_a_total_equal_to_its_parts_stands(cases: Any, part: str, outcome: str) -> None:
    (found,) = _xylenes(cases, lambda part, outcome: _rows({"Total xylenes": "5", "m,p-Xylene": "4", "o-Xylene": part}))
    assert found["outcome"] == outcome
    assert ("add up to more" in found["because"]) is (part != "1")


@pytest.mark.parametrize("qualifiers", [{"qualifiers": "R"}, {"fraction": "leachate"}], ids=["rejected", "leachate"])
def test_parts_that_prove_nothing_say_nothing_against_a_total(cases: Any, qualifiers: dict[str, str]) -> None:
    parts = {"m,p-Xylene": "50", "o-Xylene": "50"}
    (found,) = _xylenes(cases, lambda qualifiers: _rows({"Total xylenes": "5"}) + _rows(parts, **qualifiers))
    assert found["outcome"] == "does_not_exceed"


@pytest.mark.parametrize("other", [*ELSEWHERE, "here"])
def test_a_total_elsewhere_does_not_hide_the_sum_of_the_parts(cases: Any, other: str) -> None:
    parts = _rows({"m,p-Xylene": "4", "o-Xylene": "4"})
    found = _xylenes(cases, lambda other: _rows({"Total xylenes": "5"}, **ELSEWHERE.get(other, {})) + parts)
    assert [(one["outcome"], one["lower"]) for one in found] == ([("open", "5")] if other == "here" else [("exceeds", "8")])


@pytest.mark.parametrize(("whole", "part"), [("", "total"), ("dissolved", ""), ("", "")])
def test_a_fraction_not_stated_may_be_any(cases: Any, whole: str, part: str) -> None:
    """A total and its parts of which one states no fraction are held against each other: 5 is told, the parts say 8."""

    def rows(whole: str, part: str) -> list[dict[str, str]]:
        return _rows({"Total xylenes": "5"}, fraction=whole) + _rows({"m,p-Xylene": "4", "o-Xylene": "4"}, fraction=part)

    (found,) = _xylenes(cases, rows, fraction=whole)
    assert (found["outcome"], found["upper"]) == ("open", "8")


def test_parts_of_two_fractions_are_not_added_to_hold_them_against_a_total(rule: Any) -> None:
    parts = [_rows({"m,p-Xylene": "2", "o-Xylene": "2"}, fraction=name) for name in ("total", "dissolved")]
    (found,) = _here(rule, "6", "Total xylenes", _rows({"Total xylenes": "5"}, fraction=""), *parts, fraction="")
    assert (found["outcome"], found["upper"]) == ("does_not_exceed", "5")


@pytest.mark.parametrize("other", ELSEWHERE)
def test_parts_elsewhere_are_not_added(cases: Any, other: str) -> None:
    (found,) = _xylenes(cases, lambda other: _rows({"m,p-Xylene": "4"}) + _rows({"o-Xylene": "4"}, **ELSEWHERE[other]))
    assert (found["outcome"], found["lower"], found["upper"]) == ("open", "4", None)


@pytest.mark.parametrize("other", [one for one in ELSEWHERE if one != "fraction"])
def test_a_species_elsewhere_does_not_stand_for_the_total_here(cases: Any, other: str) -> None:
    def rows(other: str) -> list[dict[str, str]]:
        return _rows({"Chromium": "5"}) + _rows({"Hexavalent chromium": "0.1"}, **ELSEWHERE[other])

    (found,) = _at(cases(rows, _levels("0.3", "Hexavalent chromium"), facts=SOLIDS), "Hexavalent chromium")
    assert found["outcome"] == "open" and "only the total is reported" in found["because"]


def test_a_species_reported_stands_for_itself(rule: Any) -> None:
    (found,) = _here(rule, "0.3", "Hexavalent chromium", _rows({"Chromium": "5", "Hexavalent chromium": "0.1"}))
    assert found["outcome"] == "does_not_exceed"


@pytest.mark.parametrize(
    ("parts", "upper", "outcome"),
    [
        ({"m,p-Xylene": "<4", "o-Xylene": "6"}, "10", "open"),  # the parts leave room up to 10
        ({"m,p-Xylene": "<1", "o-Xylene": "6"}, "7", "does_not_exceed"),
        ({"o-Xylene": "6"}, None, "open"),  # and a part that is not reported, any room
        ({"m,p-Xylene": ">1", "o-Xylene": "6"}, None, "open"),
    ],
)
def test_a_total_below_its_parts_clears_no_more_than_the_parts_do(
    cases: Any, parts: dict[str, str], upper: str | None, outcome: str
) -> None:
    (found,) = _xylenes(cases, lambda parts, upper, outcome: _rows({"Total xylenes": "<5"}) + _rows(parts), level="8")
    assert (found["outcome"], found["upper"]) == (outcome, upper)


def test_a_sum_with_all_its_parts_goes_before_one_with_more_of_more(rule: Any) -> None:
    """The table's own two parts, both there, against three of the four of the vocabulary: 1 and 1 are 2, not 52 and more."""
    rule.table(
        HEAD + "Total trihalomethanes,,soil,10,mg/kg,made up,made up\n",
        '[[sums]]\nanalyte = "Total trihalomethanes"\nmembers = ["Chloroform", "Bromoform"]\n',
    )
    amounts = {"Chloroform": "1", "Bromoform": "1", "Bromodichloromethane": "50"}
    rule.results([{**HERE, "analyte": analyte, "result": result} for analyte, result in amounts.items()])
    assert rule.outcomes()["A", "Total trihalomethanes"] == "does_not_exceed"
