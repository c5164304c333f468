"""Which version decides: by the day of sampling, by an event of the site, or the one before where the rule lets it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Office
from tests.rules.conftest import Rule

HEAD = "analyte,cas,medium,level,unit,citation,source\n"
OLD = HEAD + "Benzene,71-43-2,soil,10,mg/kg,made up,made up\nToluene,108-88-3,soil,100,mg/kg,made up,made up\n"
NEW = (
    HEAD
    + "Benzene,71-43-2,soil,5,mg/kg,made up,made up\nToluene,108-88-3,soil,10,mg/kg,made up,made up\nXylenes,1330-20-7,soil,1,mg/kg,made up,made up\n"
)
SPANS = {"2010-01-01": "until = 2019-12-31", "2020-01-01": ""}
PHASE = '[phase_in]\ntext = "half a year"\nuntil = 2020-06-30\nnot_if_lowered_by = "10"\ncitation = "made up"\ntranscription = "memory"\n'


@pytest.fixture(scope="module")
def of_two_versions(tmp_path_factory: pytest.TempPathFactory) -> Office:
    """Two versions, five years of samples."""
    rule = Rule(Office(tmp_path_factory.mktemp("versions")))
    rule.table({"2010-01-01": OLD, "2020-01-01": NEW}, PHASE, SPANS)
    rule.results(
        (
            {"sample_id": f"S-{analyte[0]}-{day[:4]}", "analyte": analyte, "result": result, "sampled_at": day}
            for day in ("2019-12-31", "2020-01-01")
            for analyte, result in (("Benzene", "7"), ("Toluene", "70"), ("Xylenes", "2"))
        ),
        more="[events]\nplan_approved = 2019-06-01\nremoved = 2020-03-01T10:00:00\n",
    )
    return rule.office


@pytest.fixture
def two(rule: Rule, of_two_versions: Office) -> Rule:
    """The same as a test's own."""
    rule.office.takes(of_two_versions)
    return rule


def test_each_sample_is_held_against_the_law_of_its_day(two: Any) -> None:
    found = two.outcomes("--levels-on", "sampling")
    assert found == {
        ("S-B-2019", "Benzene"): "does_not_exceed", ("S-T-2019", "Toluene"): "does_not_exceed", ("S-X-2019", "Total xylenes"): "no_level",
        ("S-B-2020", "Benzene"): "exceeds", ("S-T-2020", "Toluene"): "exceeds", ("S-X-2020", "Total xylenes"): "exceeds",
    }  # fmt: skip
    document = two.screen("--levels-on", "sampling")
    assert {(one["sample_id"], one["version"]) for one in document["outcomes"] if one["level"]} == {
        ("S-B-2019", "2010-01-01"), ("S-T-2019", "2010-01-01"), ("S-B-2020", "2020-01-01"), ("S-T-2020", "2020-01-01"), ("S-X-2020", "2020-01-01"),
    }  # fmt: skip
    assert two.office.run("runs", "reproduce", document["run"]).document["identical"]


def test_a_sample_without_a_day_cannot_be_held_against_the_law_of_its_day(rule: Any) -> None:
    rule.table({"2010-01-01": OLD, "2020-01-01": NEW}, PHASE, SPANS)
    rule.results([{"analyte": "Benzene", "result": "7"}, {"analyte": "Benzene", "result": "7", "sampled_at": "2009-05-05"}])
    said = rule.office.run("screen", "--site", "one", "--levels-on", "sampling")
    assert said.status == 1 and "S-1 (no sampling date, xx/made-up), S-2 (2009-05-05, xx/made-up)" in said.error


def test_the_day_of_an_event_of_the_site(two: Any) -> None:
    assert {one["version"] for one in two.screen("--levels-on", "plan_approved")["levels"]} == {"2010-01-01"}
    assert {one["version"] for one in two.screen("--levels-on", "removed")["levels"]} == {"2020-01-01"}
    said = two.office.run("screen", "--site", "one", "--levels-on", "discovery")
    assert said.status == 2 and "an event of the site file; site 'one' has plan_approved, removed" in said.error


def test_the_version_before_is_used_on_but_for_levels_that_fell_tenfold(two: Any) -> None:
    """As N.J.A.C. 7:26D-1.4(b): six months, not for a standard lowered by ten times or more; figures made up."""
    document = two.screen("--levels-on", "2020-06-30", "--setting", "phase_in.xx/made-up=previous")
    found = {(one["sample_id"], one["analyte"]): (one["outcome"], one["version"]) for one in document["outcomes"]}
    assert found["S-B-2020", "Benzene"] == ("does_not_exceed", "2010-01-01")
    assert found["S-T-2020", "Toluene"] == ("exceeds", "2020-01-01")
    assert found["S-X-2020", "Total xylenes"] == ("exceeds", "2020-01-01")
    assert any("used on by election, but for 2 levels" in text for text in document["assumptions"])
    assert two.office.run("runs", "reproduce", document["run"]).document["identical"]


def test_after_the_time_the_election_is_refused(two: Any) -> None:
    said = two.office.run("screen", "--site", "one", "--levels-on", "2020-07-01", "--setting", "phase_in.xx/made-up=previous")
    assert said.status == 1 and "could be used until 2020-06-30 only" in said.error


def test_a_first_version_has_none_before(two: Any) -> None:
    said = two.office.run("screen", "--site", "one", "--levels-on", "2015-01-01", "--setting", "phase_in.xx/made-up=previous")
    assert said.status == 1 and "no version before" in said.error


def test_new_jersey_groundwater_2025(office: Any) -> None:
    """57 N.J.R. 234(a): vinyl chloride 1 to 0.035 ug/L falls more than tenfold, so the old level may not be used on."""
    office.plain_site(levels="us-nj/groundwater")
    row = {"sample_id": "W-1", "medium": "groundwater", "analyte": "Vinyl chloride", "result": "0.40", "unit": "ug/L"}
    assert office.run("import", office.deliverable("w.csv", [row]), "--site", "one").status == 0
    said = office.run("screen", "--site", "one", "--levels-on", "2025-07-01", "--setting", "phase_in.us-nj/groundwater=previous")
    (found,) = said.document["outcomes"]
    assert (found["version"], found["level"], found["outcome"]) == ("2025-02-03", "0.035", "exceeds")


@pytest.mark.parametrize(("old", "outcome"), [("NL", "exceeds"), ("TBD", "open"), ("50", "does_not_exceed")])
def test_a_level_where_there_was_none_counts_at_once(rule: Any, old: str, outcome: str) -> None:
    """Of a version that said 'no level' there is nothing to use on; one that was not read may be."""
    head = "analyte,cas,medium,level,unit,citation,source\n"
    row = "Benzene,71-43-2,groundwater,{},ug/L,made up,made up\n"
    phase = '[phase_in]\ntext = "made up"\ncitation = "made up"\ntranscription = "memory"\n'
    rule.table(
        {"2010-01-01": head + row.format(old), "2020-01-01": head + row.format("20")}, phase,
        spans={"2010-01-01": "until = 2019-12-31"},
    )  # fmt: skip
    rule.results([{"medium": "groundwater", "unit": "ug/L", "analyte": "Benzene", "result": "30"}])
    words = ("--levels-on", "2020-06-30", "--setting", "phase_in.xx/made-up=previous")
    assert rule.outcomes(*words) == {("S-1", "Benzene"): outcome}
