"""Field duplicates where the rows of law differ, or two tables weigh the same substances. Figures made up."""

from __future__ import annotations

from typing import Any

DEPTH = """
[conditions.layer]
from = "results"
values = ["detected", "not_detected"]
title = "toluene"
analyte = "Toluene"
"""


def test_no_mean_is_held_against_the_row_of_one_side_alone(rule: Any) -> None:
    """Toluene lies in the duplicate only: the parent's laxer level is not that of the mean."""
    rule.table(
        "analyte,cas,medium,level,unit,layer,citation,source\n"
        "Benzene,71-43-2,soil,1,mg/kg,detected,made up,made up\nBenzene,71-43-2,soil,9,mg/kg,not_detected,made up,made up\n",
        DEPTH,
    )
    one = {"location": "L", "analyte": "Benzene", "result": "3"}
    two = {"location": "L", "sample_kind": "field_duplicate", "parent_sample": "A"}
    rule.results(
        [
            {**one, "sample_id": "A"}, {**one, "sample_id": "A", "analyte": "Toluene", "result": "<1"},
            {**one, **two, "sample_id": "B"}, {**one, **two, "sample_id": "B", "analyte": "Toluene", "result": "5"},
        ]
    )  # fmt: skip
    found = [one for one in rule.screen("--setting", "duplicate_rule=mean")["outcomes"] if one["analyte"] == "Benzene"]
    assert [(one["sample_id"], one["outcome"]) for one in found] == [("B", "exceeds")]


EQUIVALENTS = """
[[equivalents]]
name = "Benzo[a]pyrene"
text = "made up"
citation = "made up"
transcription = "memory"
[equivalents.factors]
"Benzo[a]pyrene" = "{}"
"Chrysene" = "0.5"
"""


def test_equivalents_of_two_tables_are_paired_within_their_own(rule: Any) -> None:
    level = "analyte,cas,medium,level,unit,citation,source\nBenzo[a]pyrene,50-32-8,soil,3,mg/kg,made up,made up\n"
    rule.table(level, EQUIVALENTS.format("1"))
    rule.table(level, EQUIVALENTS.format("2"), name="other")
    parts = [{"analyte": "Benzo[a]pyrene", "location": "L"}, {"analyte": "Chrysene", "location": "L"}]
    rule.results(
        [{**one, "sample_id": "A", "result": "1"} for one in parts]
        + [{**one, "sample_id": "B", "result": "2", "sample_kind": "field_duplicate", "parent_sample": "A"} for one in parts]
    )
    document = rule.screen("--levels", "xx/made-up", "--levels", "xx/other", "--setting", "duplicate_rule=mean")
    sums = [one for one in document["outcomes"] if one["analyte"] == "Benzo[a]pyrene equivalents"]
    assert [(one["table"], one["value"], one["outcome"]) for one in sums] == [
        ("xx/made-up", "2.25", "does_not_exceed"), ("xx/other", "3.75", "exceeds"),
    ]  # fmt: skip
