"""What was taken on two days under one number, as from a well that lends its name, is two samples. Figures made up."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Office
from tests.rules.conftest import Rule

HEAD = "analyte,cas,medium,level,unit,citation,source\n"
WELL = {"sample_id": "", "location": "MW-1", "medium": "groundwater", "unit": "ug/L", "analyte": "Benzene"}
SPRING, SUMMER = "2024-04-10", "2024-07-10"


def _by_day(rule: Any, analyte: str = "Benzene") -> list[tuple[str, str, str]]:
    return sorted(
        (str(one["sampled_at"])[:10], one["sample_kind"], one["outcome"])
        for one in rule.screen()["outcomes"]
        if one["analyte"] == analyte
    )


def test_a_later_round_does_not_stand_for_an_earlier_one(rule: Any) -> None:
    rule.table(HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\n")
    rule.results(
        [{**WELL, "result": "500", "dilution": "10", "sampled_at": SPRING}, {**WELL, "result": "3", "sampled_at": SUMMER}]
    )
    document = rule.screen()
    assert sorted(one["outcome"] for one in document["outcomes"]) == ["does_not_exceed", "exceeds"]
    assert document["recommendation"]["status"] == "triggered"
    results = rule.office.run("results", "--site", "one", "--all").document["results"]
    assert [one["chosen"] for one in results] == [True, True]


@pytest.mark.parametrize("day", [SPRING, ""])
def test_two_runs_of_one_day_are_one_sample(cases: Any, day: str) -> None:
    """A run without its day is one of the only day on which the sample was taken."""
    well = {**WELL, "sample_id": "MW-1"}

    def rows(day: str) -> list[dict[str, str]]:
        return [{**well, "result": "500", "dilution": "10", "sampled_at": SPRING}, {**well, "result": "3", "sampled_at": day}]

    assert cases.outcome(rows, HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\n") == "does_not_exceed"


def test_a_run_without_its_day_stands_for_no_round_of_several(rule: Any) -> None:
    rule.table(HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\n")
    days = [("500", SPRING), ("400", SUMMER), ("3", "")]
    rule.results({**WELL, "result": result, "sampled_at": day} for result, day in days)
    assert [outcome for _, _, outcome in _by_day(rule)] == ["exceeds", "exceeds", "does_not_exceed"]


def test_parts_of_two_rounds_are_not_added(rule: Any) -> None:
    rule.table(HEAD + "Total xylenes,,groundwater,10,ug/L,made up,made up\n")
    rule.results(
        [
            {**WELL, "analyte": "m,p-Xylene", "result": "4", "sampled_at": SPRING},
            {**WELL, "analyte": "o-Xylene", "result": "4", "sampled_at": SUMMER},
        ]
    )
    assert [outcome for _, _, outcome in _by_day(rule, "Total xylenes")] == ["open", "open"]


def test_a_total_of_another_round_does_not_hide_the_sum_of_the_parts(rule: Any) -> None:
    rule.table(HEAD + "Total xylenes,,groundwater,10,ug/L,made up,made up\n")
    parts = [{**WELL, "analyte": name, "result": "6", "sampled_at": SUMMER} for name in ("m,p-Xylene", "o-Xylene")]
    rule.results([{**WELL, "analyte": "Total xylenes", "result": "4", "sampled_at": SPRING}, *parts])
    assert _by_day(rule, "Total xylenes") == [(SPRING, "field", "does_not_exceed"), (SUMMER, "field", "exceeds")]


def test_a_duplicate_is_one_of_its_own_round(rule: Any) -> None:
    """The duplicate of the summer decides for the summer's sample alone."""
    rule.table(HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\n")
    duplicate = {**WELL, "sample_id": "DUP", "sample_kind": "field_duplicate", "parent_sample": "MW-1", "location": "DUP"}
    rule.results(
        [
            {**WELL, "result": "3", "sampled_at": SPRING}, {**WELL, "result": "4", "sampled_at": SUMMER},
            {**duplicate, "result": "6", "sampled_at": SUMMER},
        ]
    )  # fmt: skip
    document = rule.screen()
    assert [(str(one["sampled_at"])[:10], one["sample_id"], one["outcome"]) for one in document["outcomes"]] == [
        (SUMMER, "DUP", "exceeds"), (SPRING, "MW-1", "does_not_exceed"),
    ]  # fmt: skip
    assert [(str(one["sampled_at"])[:10], one["sample_id"]) for one in document["outweighed"]] == [(SUMMER, "MW-1")]


def test_a_duplicate_without_its_day_decides_for_neither_of_two_rounds(rule: Any) -> None:
    rule.table(HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\n")
    duplicate = {**WELL, "sample_id": "DUP", "sample_kind": "field_duplicate", "parent_sample": "MW-1", "location": "DUP"}
    rule.results(
        [
            {**WELL, "result": "6", "sampled_at": SPRING}, {**WELL, "result": "4", "sampled_at": SUMMER},
            {**duplicate, "result": "6"},
        ]
    )  # fmt: skip
    document = rule.screen()
    assert (len(document["outcomes"]), document["outweighed"]) == (3, [])


def test_two_rounds_are_two_columns_and_two_changes(rule: Any) -> None:
    """Seen where a person looks: the comparison of two runs and the csv of the run tell the rounds apart."""
    rule.table({"2020-01-01": HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\n",
                "2022-01-01": HEAD + "Benzene,71-43-2,groundwater,2,ug/L,made up,made up\n"},
               spans={"2020-01-01": "until = 2021-12-31"})  # fmt: skip
    rule.results([{**WELL, "result": "3", "sampled_at": SPRING}, {**WELL, "result": "4", "sampled_at": SUMMER}])
    before, after = (rule.screen("--levels-on", day)["run"] for day in ("2021-01-01", "2023-01-01"))
    changes = rule.office.run("compare", before, after).document["changes"]
    assert [(one["sample_id"], one["before"]["value"], one["after"]["outcome"]) for one in changes] == [
        ("MW-1", "3", "exceeds"), ("MW-1", "4", "exceeds"),
    ]  # fmt: skip


OTHERS: list[tuple[dict[str, str], bool]] = [
    ({"sampled_at": SUMMER}, True), ({"depth_top": "9", "depth_unit": "ft"}, True), ({"medium": "surface_water"}, True),
    ({}, False), ({"sampled_at": ""}, False), ({"depth_top": ""}, False),
]  # fmt: skip
"""What the first report's row differs in from the revision's, and whether it stays."""


@pytest.fixture(scope="module")
def revised(tmp_path_factory: pytest.TempPathFactory) -> list[list[str]]:
    """The outcomes of each case, a well of its own in one report and in one revision of it."""
    rule = Rule(Office(tmp_path_factory.mktemp("revised")))
    rule.table(
        HEAD + "Benzene,71-43-2,groundwater,5,ug/L,made up,made up\nBenzene,71-43-2,surface_water,5,ug/L,made up,made up\n",
        facts=('"groundwater"]', '"groundwater", "surface_water"]'),
    )
    wells = [
        {**WELL, "sample_id": f"W-{at}", "location": f"MW-{at}", "sampled_at": SPRING, "depth_top": "3", "depth_unit": "ft"}
        for at, _ in enumerate(OTHERS)
    ]
    rule.results({**well, **other, "result": "700"} for well, (other, _) in zip(wells, OTHERS, strict=True))
    (first,) = rule.office.run("import", rule.office.folder / "results.csv", "--site", "one").document["deliverables"]
    revision = rule.office.deliverable("revised.csv", [{**well, "result": "3", "dilution": "1"} for well in wells])
    said = rule.office.run("import", revision, "--site", "one", "--replaces", first["id"], "--replaces-only-contents")
    assert said.status == 0, said.error
    told = rule.screen()["outcomes"]
    return [sorted(one["outcome"] for one in told if one["sample_id"] == well["sample_id"]) for well in wells]


@pytest.mark.parametrize(("other", "kept"), OTHERS)
def test_a_partial_revision_leaves_other_rounds_and_depths(revised: list[list[str]], other: dict[str, str], kept: bool) -> None:
    """The revision holds the spring's value of one depth alone, 3 in place of the first one's 700."""
    outcomes = revised[OTHERS.index((other, kept))]
    assert outcomes == (["does_not_exceed", "exceeds"] if kept else ["does_not_exceed"])
