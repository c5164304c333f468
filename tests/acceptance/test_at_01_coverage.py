"""AT-01, completeness: 2 tank + 1 piping + 1 dispenser asked for by the county's form of 1989, 4 taken, 0 missing."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

SITE = """
[site]
id = "alder"
name = "Site Alder"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01"]
{rules}
[[tank]]
id = "T1"
capacity_gal = 8000
product = "gasoline"
closure = "removed"
[[piping]]
id = "P1"
length_ft = 18
[[dispenser]]
id = "D1"
[[location]]
id = "AL-T1-E"
component = "T1"
[[location]]
id = "AL-T1-W"
component = "T1"
[[location]]
id = "AL-D1"
component = "D1"
[[location]]
id = "AL-P1"
component = "P1"
[[custody]]
sample = "AL-T1-E"
analyses = ["VOC"]
[[custody]]
sample = "AL-T1-W"
analyses = ["VOC"]
[[custody]]
sample = "AL-D1"
analyses = ["VOC"]
[[custody]]
sample = "AL-P1"
analyses = ["VOC"]
[events]
removed = 2025-05-06
[field]
groundwater_met = false
signs = []
"""
COUNTY = '[closure]\nsampling = ["us-ca/san-joaquin-1989", "us-ca/san-joaquin-dispensers"]'
SAMPLES = ("AL-T1-E", "AL-T1-W", "AL-D1", "AL-P1")
ANALYTES = {
    "Benzene": "0.031", "Toluene": "<0.0050", "Ethylbenzene": "<0.0050", "Total xylenes": "<0.015", "Naphthalene": "0.066",
    "1,2,4-Trimethylbenzene": "<0.0050", "MTBE": "<0.0050", "1,2-Dibromoethane": "<0.00080", "1,2-Dichloroethane": "<0.0050",
    "TPH C6-C12": "<10",
}  # fmt: skip


def _came(office: Any, rows_of: Any, rules: str, samples: tuple[str, ...]) -> None:
    assert office.site(SITE.format(rules=rules)).status == 0
    rows = [
        row
        for one in samples
        for row in rows_of(
            ANALYTES, sample_id=one, location=one, medium="soil", depth_top="12.5", depth_unit="ft", unit="mg/kg", basis="dry"
        )
    ]
    assert office.run("import", office.deliverable("alder.csv", rows), "--site", "alder").status == 0


@pytest.mark.parametrize(("rules", "decides"), [(COUNTY, True), ("", False)])
def test_as_many_as_the_county_asks_for(office: Any, rows_of: Any, rules: str, decides: bool) -> None:
    """Also without a rule named: Ohio's count was not read, general practice asks for as many and does not decide."""
    _came(office, rows_of, rules, SAMPLES)
    said = office.run("coverage", "--site", "alder")
    asked = said.document["requirements"]
    assert said.status == 0
    assert Counter({one["component"]: one["required"] for one in asked}) == {"T1": 2, "P1": 1, "D1": 1}
    assert (sum(one["taken"] for one in asked), sum(one["missing"] for one in asked)) == (4, 0)
    assert {one["decides"] for one in asked} == {decides}
    assert {one["transcription"] for one in asked} == ({"read"} if decides else {"common practice, no source"})
    answer = office.run("screen", "--site", "alder").document
    assert answer["counts"] == {"exceeds": 0, "open": 0, "no_level": 0, "does_not_exceed": 40}
    assert (answer["recommendation"]["status"], answer["recommendation"]["open_items"]) == ("not_triggered", [])
    assert answer["recommendation"]["actions"] == []


def test_without_a_rule_read_the_note_says_so_and_nothing_becomes_undetermined(office: Any, rows_of: Any) -> None:
    text = SITE.format(rules="").replace("length_ft = 18", "length_ft = 41")
    assert office.site(text).status == 0
    rows = [
        row for one in SAMPLES for row in rows_of(ANALYTES, sample_id=one, location=one, medium="soil", unit="mg/kg", basis="dry")
    ]
    assert office.run("import", office.deliverable("alder.csv", rows), "--site", "alder").status == 0
    advice = office.run("screen", "--site", "alder").document["recommendation"]
    assert advice["status"] == "not_triggered"
    assert any("no number of samples was read" in note and "P1 1 of 3" in note for note in advice["notes"])


def test_with_the_county_s_rule_the_same_run_of_piping_is_a_gap(office: Any, rows_of: Any) -> None:
    text = SITE.format(rules=COUNTY).replace("length_ft = 18", "length_ft = 41")
    assert office.site(text).status == 0
    rows = [
        row for one in SAMPLES for row in rows_of(ANALYTES, sample_id=one, location=one, medium="soil", unit="mg/kg", basis="dry")
    ]
    assert office.run("import", office.deliverable("alder.csv", rows), "--site", "alder").status == 0
    advice = office.run("screen", "--site", "alder").document["recommendation"]
    assert advice["status"] == "undetermined"
    assert len(advice["actions"]) == 1 and "2 more soil samples at P1" in advice["actions"][0]


def test_a_planned_location_without_results_is_a_gap(office: Any, rows_of: Any) -> None:
    text = SITE.format(rules="").replace('[[custody]]\nsample = "AL-P1"\nanalyses = ["VOC"]\n', "")
    assert office.site(text).status == 0
    rows = [
        row
        for one in SAMPLES[:3]
        for row in rows_of(ANALYTES, sample_id=one, location=one, medium="soil", unit="mg/kg", basis="dry")
    ]
    assert office.run("import", office.deliverable("alder.csv", rows), "--site", "alder").status == 0
    advice = office.run("screen", "--site", "alder").document["recommendation"]
    assert advice["status"] == "undetermined"
    assert [item["text"] for item in advice["open_items"]] == ["AL-P1 is a planned location and has no result"]
    assert advice["actions"] == ["take and analyse the planned AL-P1"]


def test_a_run_with_rules_of_closure_is_made_again(office: Any, rows_of: Any) -> None:
    _came(office, rows_of, COUNTY, SAMPLES)
    run = office.run("screen", "--site", "alder").document["run"]
    assert office.run("runs", "reproduce", run).document["identical"] is True
    later = office.run("screen", "--site", "alder", "--sampling", "us-ca/san-joaquin-later").document
    assert later["run"] != run
    assert office.run("runs", "reproduce", later["run"]).document["identical"] is True
