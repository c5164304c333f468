"""Levels that hang on the depth of a sample or on its pH: known, unknown, across two ranges, outside all."""

from __future__ import annotations

from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,{},citation,source\n"
DEPTH = """
[conditions.layer]
from = "sample"
values = ["upper", "lower"]
title = "depth"
field = "{field}"
unit = "ft"
when_unknown = "{unknown}"

[conditions.layer.ranges.upper]
from = "0"
to = "5"

[conditions.layer.ranges.lower]
above = "5"
to = "10"
"""
ROWS = "Benzene,71-43-2,soil,1,mg/kg,upper,made up,made up\nBenzene,71-43-2,soil,3,mg/kg,lower,made up,made up\n"


LAYERS = (HEAD.format("layer") + ROWS, DEPTH.format(field="depth", unknown="open"))


def _depths(
    rule: Any, *depths: tuple[str, str, str], result: str = "2", field: str = "depth", unknown: str = "open"
) -> list[dict[str, Any]]:
    rule.table(HEAD.format("layer") + ROWS, DEPTH.format(field=field, unknown=unknown))
    rule.results(
        {"analyte": "Benzene", "result": result, "depth_top": top, "depth_bottom": bottom, "depth_unit": unit}
        for top, bottom, unit in depths
    )
    found: list[dict[str, Any]] = rule.screen()["outcomes"]
    return sorted(found, key=lambda one: str(one["sample_id"]))


def test_each_depth_takes_its_own_level(rule: Any) -> None:
    found = _depths(rule, ("2", "4", "ft"), ("5", "5", "ft"), ("5.01", "6", "ft"), ("10", "10", "ft"))
    assert [(one["outcome"], one["level"]) for one in found] == [
        ("exceeds", "1"),
        ("exceeds", "1"),
        ("does_not_exceed", "3"),
        ("does_not_exceed", "3"),
    ]
    assert "depth 2 to 4 ft" in found[0]["because"]


def test_metres_are_turned_into_feet(rule: Any) -> None:
    """1.524 m are 5 ft exactly (NIST SP 811: 1 ft = 0.3048 m)."""
    found = _depths(rule, ("1.524", "1.524", "m"), ("1.525", "1.6", "m"))
    assert [one["level"] for one in found] == ["1", "3"]


def test_a_sample_across_both_layers_is_open_where_they_disagree(rule: Any) -> None:
    (found,) = _depths(rule, ("4", "6", "ft"))
    assert found["outcome"] == "open" and "lies across ranges" in found["because"]
    assert found["because"].startswith("the rows 1 and 3 mg/kg disagree and the condition is unknown")
    assert [(one["level"], one["outcome"]) for one in found["beside"]] == [("1", "exceeds"), ("3", "does_not_exceed")]


@pytest.mark.parametrize(("result", "outcome"), [("0.5", "does_not_exceed"), ("4", "exceeds")])
def test_an_unknown_depth_decides_where_both_layers_agree(cases: Any, result: str, outcome: str) -> None:
    (found,) = cases(lambda result, outcome: [{"analyte": "Benzene", "result": result}], *LAYERS)
    assert found["outcome"] == outcome and "every row that may apply agrees" in found["because"]


def test_an_unknown_depth_may_take_the_strictest_layer(rule: Any) -> None:
    (found,) = _depths(rule, ("", "", ""), unknown="strictest")
    assert (found["outcome"], found["level"]) == ("exceeds", "1") and "the strictest row decides" in found["because"]


def test_a_depth_below_all_layers_has_no_level_and_says_why(rule: Any) -> None:
    found = _depths(rule, ("12", "13", "ft"), ("15", "15", "ft"))
    assert [one["outcome"] for one in found] == ["no_level", "no_level"]
    told = "depth 12 to 13 ft lies in no range", "depth 15 ft lies in no range"
    assert [[words in one["because"] for words in told] for one in found] == [[True, False], [False, True]]


def test_only_the_top_counts_where_the_table_says_so(rule: Any) -> None:
    (found,) = _depths(rule, ("4", "6", "ft"), field="depth_top")
    assert (found["outcome"], found["level"]) == ("exceeds", "1")


def test_a_layer_stated_for_the_whole_site_counts(rule: Any) -> None:
    rule.table(HEAD.format("layer") + ROWS, DEPTH.format(field="depth", unknown="open"))
    rule.results([{"analyte": "Benzene", "result": "2"}])
    assert rule.outcomes("--condition", "layer=lower") == {("S-1", "Benzene"): "does_not_exceed"}


def test_the_recalled_low_threat_table_takes_its_depths_from_the_samples(office: Any) -> None:
    """California Resolution 2012-0016 Table 1, from memory: benzene 1.9 and 2.8 mg/kg for residential use."""
    office.plain_site(levels="us-ca/low-threat-soil-recalled@2012-05-01", more='[conditions]\nexposure = "residential"\n')
    rows = [
        {"sample_id": f"S-{depth}", "medium": "soil", "basis": "dry", "analyte": "Benzene", "result": "2.2", "unit": "mg/kg",
         "depth_top": depth, "depth_bottom": depth, "depth_unit": "ft"} for depth in ("3", "8")
    ]  # fmt: skip
    assert office.run("import", office.deliverable("s.csv", rows), "--site", "one").status == 0
    outcomes = office.run("screen", "--site", "one", "--levels", "us-ca/low-threat-soil-recalled@2012-05-01").document["outcomes"]
    assert [(one["level"], one["outcome"]) for one in outcomes] == [("1.9", "exceeds"), ("2.8", "does_not_exceed")]


ACID = """
[conditions.acidity]
from = "results"
values = ["low", "high"]
title = "soil pH"
analyte = "pH"

[conditions.acidity.ranges.low]
below = "6.65"

[conditions.acidity.ranges.high]
from = "6.65"
"""


def test_a_level_by_the_ph_of_the_same_sample(rule: Any) -> None:
    rule.table(
        HEAD.format("acidity")
        + "Lead,7439-92-1,soil,23,mg/kg,low,made up,made up\nLead,7439-92-1,soil,107,mg/kg,high,made up,made up\n",
        ACID,
    )
    rule.results([
        {"sample_id": "S-1", "analyte": "Lead", "result": "50"}, {"sample_id": "S-1", "analyte": "pH", "result": "6.64", "unit": "pH units", "basis": ""},
        {"sample_id": "S-2", "analyte": "Lead", "result": "50"}, {"sample_id": "S-2", "analyte": "pH", "result": "6.65", "unit": "pH units", "basis": ""},
        {"sample_id": "S-3", "analyte": "Lead", "result": "50"}, {"sample_id": "S-4", "analyte": "Lead", "result": "20"},
    ])  # fmt: skip
    outcomes = rule.outcomes()
    assert [outcomes[f"S-{at}", "Lead"] for at in (1, 2, 3, 4)] == ["exceeds", "does_not_exceed", "open", "does_not_exceed"]


MIDDLE = """
[conditions.layer]
from = "sample"
values = ["upper", "lower"]
title = "depth"
field = "depth"
unit = "ft"

[conditions.layer.ranges.upper]
above = "2"
to = "5"

[conditions.layer.ranges.lower]
above = "5"
below = "10"
"""


@pytest.mark.parametrize(
    ("top", "bottom", "outcome", "level"),
    [
        ("1", "12", "open", "1"),  # both ends lie in no range, what is between them in both
        ("1", "4", "open", "1"),  # a part of it lies in a range
        ("8", "12", "open", "1"),
        ("2", "5", "open", "1"),  # 2 itself lies outside
        ("1", "2", "no_level", None),
        ("10", "12", "no_level", None),
        ("1", "2.01", "open", "1"),
        ("9.99", "12", "open", "1"),
        ("2.01", "5", "exceeds", "1"),
        ("5.01", "9.99", "does_not_exceed", "3"),
        ("5", "6", "open", "1"),
    ],
)
def test_a_sample_that_a_range_holds_only_in_part_is_open(
    cases: Any, top: str, bottom: str, outcome: str, level: str | None
) -> None:
    def rows(top: str, bottom: str, **_: object) -> list[dict[str, str]]:
        return [{"analyte": "Benzene", "result": "2", "depth_top": top, "depth_bottom": bottom, "depth_unit": "ft"}]

    (found,) = cases(rows, HEAD.format("layer") + ROWS, MIDDLE)
    assert (found["outcome"], found["level"]) == (outcome, level)


@pytest.mark.parametrize(
    ("depth", "unit", "level"),
    [("60", "in", "1"), ("60.1", "in", "3"), ("152.4", "cm", "1"), ("152.5", "cm", "3"), ("1.524", "m", "1")],
)
def test_every_unit_of_depth_is_turned_into_that_of_the_table(cases: Any, depth: str, unit: str, level: str) -> None:
    """5 ft are 60 in, 152.4 cm and 1.524 m, exactly (NIST SP 811, Appendix B)."""

    def rows(depth: str, unit: str, level: str) -> list[dict[str, str]]:
        return [{"analyte": "Benzene", "result": "2", "depth_top": depth, "depth_bottom": depth, "depth_unit": unit}]

    (found,) = cases(rows, *LAYERS)
    assert found["level"] == level


def test_a_table_in_metres(rule: Any) -> None:
    rule.table(HEAD.format("layer") + ROWS, DEPTH.format(field="depth_bottom", unknown="open").replace('"ft"', '"m"'))
    depths = [("1", "5", "m"), ("1", "16.4", "ft"), ("1", "16.5", "ft"), ("1", "", "ft")]
    rule.results(
        {"analyte": "Benzene", "result": "2", "depth_top": top, "depth_bottom": bottom, "depth_unit": unit}
        for top, bottom, unit in depths
    )
    outcomes = rule.outcomes()
    assert [outcomes[f"S-{at}", "Benzene"] for at in (1, 2, 3, 4)] == ["exceeds", "exceeds", "does_not_exceed", "open"]


HARDNESS = """
[conditions.hardness]
from = "results"
values = ["soft", "hard"]
title = "hardness"
analyte = "Hardness"
unit = "mg/L"

[conditions.hardness.ranges.soft]
below = "100"

[conditions.hardness.ranges.hard]
from = "100"
"""
WATER = {"sample_id": "W-1", "location": "W-1", "medium": "groundwater", "unit": "mg/L"}


SOFT_AND_HARD = (
    HEAD.format("hardness")
    + "Lead,7439-92-1,groundwater,2,ug/L,soft,made up,made up\nLead,7439-92-1,groundwater,9,ug/L,hard,made up,made up\n",
    HARDNESS,
)


def _lead_and(*hardness: dict[str, str]) -> list[dict[str, str]]:
    """Lead at 5 ug/L, between the levels for soft (2) and hard (9) water."""
    rows = [{"analyte": "Hardness", **WATER, **one} for one in hardness]
    return [{**WATER, "analyte": "Lead", "result": "5", "unit": "ug/L"}, *rows]


def _lead_at(rule: Any, *hardness: dict[str, str]) -> dict[str, Any]:
    """The outcome of that lead."""
    rule.table(*SOFT_AND_HARD)
    rule.results(_lead_and(*hardness))
    (found,) = [one for one in rule.screen()["outcomes"] if one["analyte"] == "Lead"]
    return dict(found)


@pytest.mark.parametrize(
    ("hardness", "outcome"),
    [
        ([{"result": "99.9"}], "exceeds"),
        ([{"result": "100"}], "does_not_exceed"),
        ([{"result": "100000", "unit": "ug/L"}], "does_not_exceed"),
        ([{"result": "<400"}], "open"),
        ([{"result": "ND"}], "open"),
        ([{"result": ">150"}], "open"),
        ([{"result": "150", "qualifiers": "R"}], "open"),
        ([{"result": "150", "qualifiers": "E"}], "open"),
        ([{"result": "150", "fraction": "leachate"}], "open"),
        ([{"result": "150", "fraction": "total"}, {"result": "200", "fraction": "dissolved"}], "does_not_exceed"),
        ([{"result": "150", "fraction": "total"}, {"result": "50", "fraction": "dissolved"}], "open"),
        ([{"result": "150", "fraction": "total"}, {"result": "200", "fraction": "dissolved", "qualifiers": "R"}], "open"),
        ([{"result": "150", "fraction": "total"}, {"result": "<200", "fraction": "dissolved"}], "open"),
        ([{"result": "50", "fraction": "total"}, {"result": "90", "fraction": "dissolved"}], "exceeds"),
        ([{"result": "150", "location": "W-2"}], "open"),
        ([{"result": "150", "medium": "surface_water"}], "open"),
        ([{"result": "150", "sample_kind": "field_duplicate"}], "open"),
        ([{"result": "150", "sample_id": "W-2"}], "open"),
        ([{"result": "150", "depth_top": "3", "depth_unit": "ft"}], "open"),
        ([{"result": "150", "sampled_at": "2024-05-01"}], "does_not_exceed"),
        ([], "open"),
    ],
)
def test_only_a_usable_amount_of_the_sample_itself_measures(cases: Any, hardness: list[dict[str, str]], outcome: str) -> None:
    told = cases(lambda hardness, outcome: _lead_and(*hardness), *SOFT_AND_HARD)
    assert [one["outcome"] for one in told if one["analyte"] == "Lead"] == [outcome]


def test_two_runs_of_the_measured_amount_are_one(rule: Any) -> None:
    found = _lead_at(rule, {"result": "150", "dilution": "1"}, {"result": "50", "dilution": "5"})
    assert found["outcome"] == "does_not_exceed" and found["because"].endswith("hardness 150000")


def test_two_amounts_that_measure_are_told_as_a_span(rule: Any) -> None:
    found = _lead_at(rule, {"result": "150", "fraction": "total"}, {"result": "200", "fraction": "dissolved"})
    assert found["because"].endswith("hardness 150000 to 200000")


def test_an_unusable_amount_is_told(rule: Any) -> None:
    assert "hardness is not measured by a usable result" in _lead_at(rule, {"result": "<400"})["because"]


IRON = (
    HEAD.format("iron") + "Lead,7439-92-1,soil,2,mg/kg,little,made up,made up\nLead,7439-92-1,soil,9,mg/kg,much,made up,made up\n",
    HARDNESS.replace("hardness", "iron").replace("Hardness", "Iron").replace("soft", "little").replace("hard", "much")
    .replace("mg/L", "mg/kg"),
)  # fmt: skip


@pytest.mark.parametrize(("solids", "outcome"), [("", "open"), ("90", "does_not_exceed"), ("99", "exceeds")])
def test_a_measured_amount_is_one_of_the_dry_soil(cases: Any, solids: str, outcome: str) -> None:
    """Iron 95 mg/kg as received is 105.6 dry at 90 % solids and 95.96 at 99 %; the level turns at 100."""

    def rows(solids: str, outcome: str) -> list[dict[str, str]]:
        iron = {"sample_id": "S-1", "analyte": "Iron", "result": "95", "basis": "as_received", "percent_solids": solids}
        return [{"sample_id": "S-1", "analyte": "Lead", "result": "5"}, iron]

    assert [one["outcome"] for one in cases(rows, *IRON) if one["analyte"] == "Lead"] == [outcome]


@pytest.mark.parametrize(("basis", "outcome"), [("dry", "does_not_exceed"), ("open", "open"), ("as_received", "open")])
def test_a_measured_amount_of_no_stated_basis(rule: Any, basis: str, outcome: str) -> None:
    rule.table(*IRON)
    rule.results([{"sample_id": "S-1", "analyte": "Lead", "result": "5"},
                  {"sample_id": "S-1", "analyte": "Iron", "result": "105", "basis": ""}])  # fmt: skip
    assert rule.outcomes("--setting", f"missing_basis={basis}")["S-1", "Lead"] == outcome


def test_an_amount_in_another_unit_than_the_ranges_measures_nothing(rule: Any) -> None:
    rule.table(
        HEAD.format("acidity") + "Lead,7439-92-1,soil,2,mg/kg,low,made up,made up\nLead,7439-92-1,soil,9,mg/kg,high,made up,made up\n",
        ACID.replace('"pH"', '"Iron"'),
    )  # fmt: skip
    rule.results([{"sample_id": "S-1", "analyte": "Lead", "result": "5"}, {"sample_id": "S-1", "analyte": "Iron", "result": "8"}])
    lead = next(one for one in rule.screen()["outcomes"] if one["analyte"] == "Lead")
    assert lead["outcome"] == "open" and "8 mg/kg cannot be compared" in lead["because"]


def test_a_row_may_hang_on_two_facts_of_a_sample(rule: Any) -> None:
    rows = "".join(
        f"Lead,7439-92-1,soil,{level},mg/kg,{acidity},{layer},made up,made up\n"
        for level, acidity, layer in [
            ("10", "low", "upper"),
            ("20", "low", "lower"),
            ("30", "high", "upper"),
            ("40", "high", "lower"),
        ]
    )
    rule.table(HEAD.format("acidity,layer") + rows, ACID + DEPTH.format(field="depth", unknown="open"))
    rule.results([
        {"sample_id": "S-1", "analyte": "Lead", "result": "25", "depth_top": "2", "depth_unit": "ft"},
        {"sample_id": "S-1", "analyte": "pH", "result": "7", "unit": "pH units", "basis": ""},
        {"sample_id": "S-2", "analyte": "Lead", "result": "25", "depth_top": "2", "depth_unit": "ft"},
        {"sample_id": "S-3", "analyte": "Lead", "result": "25", "depth_top": "8", "depth_unit": "ft"},
        {"sample_id": "S-3", "analyte": "pH", "result": "5", "unit": "pH units", "basis": ""},
    ])  # fmt: skip
    outcomes = rule.outcomes()
    assert [outcomes[f"S-{at}", "Lead"] for at in (1, 2, 3)] == ["does_not_exceed", "open", "exceeds"]


@pytest.mark.parametrize(("result", "outcome"), [("6", "exceeds"), ("4", "open"), ("2", "does_not_exceed")])
def test_a_row_for_every_depth_decides_whatever_the_depth(cases: Any, result: str, outcome: str) -> None:
    """5 holds at every depth, 3 in the upper layer as well: 6 exceeds though the layer is not known."""
    assert outcome == cases.outcome(
        lambda result, outcome: [{"analyte": "Benzene", "result": result}],
        HEAD.format("layer") + "Benzene,71-43-2,soil,3,mg/kg,upper,made up,made up\nBenzene,71-43-2,soil,5,mg/kg,,made up,made up\n",
        DEPTH.format(field="depth", unknown="open"),
    )  # fmt: skip


def test_a_row_that_surely_exceeds_is_not_left_open_by_one_that_may_not_apply(rule: Any) -> None:
    rule.table(
        HEAD.format("layer") + "Benzene,71-43-2,soil,9,mg/kg,upper,made up,made up\nBenzene,71-43-2,soil,5,mg/kg,,made up,made up\n",
        DEPTH.format(field="depth", unknown="open"),
    )  # fmt: skip
    rule.results([{"analyte": "Benzene", "result": "6"}])
    (found,) = rule.screen()["outcomes"]
    assert (found["outcome"], found["level"]) == ("exceeds", "5")


@pytest.mark.parametrize(
    ("others", "outcome"),
    [
        ([], "does_not_exceed"),
        ([{"depth_top": "8"}], "open"),  # of which of the two depths is the pH without one?
        ([{"depth_top": "8", "sampled_at": "2024-07-01"}], "does_not_exceed"),
        ([{"depth_top": "8", "location": "L-2"}], "does_not_exceed"),
        ([{"depth_top": "", "depth_bottom": "8"}], "open"),
    ],
)
def test_a_measured_amount_without_a_depth_is_one_of_the_only_depth(
    cases: Any, others: list[dict[str, str]], outcome: str
) -> None:
    here = {
        "sample_id": "S-1",
        "location": "L-1",
        "depth_unit": "ft",
        "sampled_at": "2024-05-01",
        "analyte": "Lead",
        "result": "50",
    }
    acid = {**here, "analyte": "pH", "result": "7", "unit": "pH units", "basis": "", "depth_unit": ""}
    told = cases(
        lambda others, outcome: [{**here, "depth_top": "2"}, acid, *({**here, **one} for one in others)],
        HEAD.format("acidity")
        + "Lead,7439-92-1,soil,23,mg/kg,low,made up,made up\nLead,7439-92-1,soil,107,mg/kg,high,made up,made up\n",
        ACID,
    )
    found = [one for one in told if (one["depth_top"], one["location"]) == ("2", "L-1")]
    assert [one["outcome"] for one in found] == [outcome]
