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
    assert found["outcome"] == "open" and "disagree" in found["because"] and "lies across ranges" in found["because"]
    assert [(one["level"], one["outcome"]) for one in found["beside"]] == [("1", "exceeds"), ("3", "does_not_exceed")]


@pytest.mark.parametrize(("result", "outcome"), [("0.5", "does_not_exceed"), ("4", "exceeds")])
def test_an_unknown_depth_decides_where_both_layers_agree(rule: Any, result: str, outcome: str) -> None:
    (found,) = _depths(rule, ("", "", ""), result=result)
    assert found["outcome"] == outcome and "every row that may apply agrees" in found["because"]


def test_an_unknown_depth_may_take_the_strictest_layer(rule: Any) -> None:
    (found,) = _depths(rule, ("", "", ""), unknown="strictest")
    assert (found["outcome"], found["level"]) == ("exceeds", "1") and "the strictest row decides" in found["because"]


def test_a_depth_below_all_layers_has_no_level_and_says_why(rule: Any) -> None:
    (found,) = _depths(rule, ("12", "13", "ft"))
    assert found["outcome"] == "no_level" and "depth 12 to 13 ft lies in no range" in found["because"]


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
