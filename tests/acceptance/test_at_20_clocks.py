"""AT-20: 24 hours after discovery, 30 days after completion for clean closures only, 90 days after discovery else; sign-off."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

SITE = """
[site]
id = "tamarack"
name = "Site Tamarack"
place = "us-oh"
time_zone = "America/New_York"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[[tank]]
id = "T1"
capacity_gal = 4000
product = "gasoline"
[events]
discovery = 2025-05-28T15:00:00
closed = 2025-06-02
[field]
groundwater_met = false
signs = ["staining"]
[[clock]]
what = "report to the agency"
counted_from = "discovery"
hours = 24
applies = "triggered"
citation = "put together for the test (S10, S13)"
[[clock]]
what = "closure report"
counted_from = "closed"
days = 30
applies = "clean"
citation = "put together for the test (S06)"
[[clock]]
what = "abatement report"
counted_from = "discovery"
days = 90
applies = "triggered"
citation = "put together for the test (S06)"
"""


STANDING = {"stale", "stale_because", "notices", "sign_offs"}
"""How a run stands today, beside what it answered."""


@pytest.fixture(scope="module")
def exceeding(desk: Any, rows_of: Any) -> Any:
    """A screen with one exceedance."""
    office = desk
    assert office.site(SITE).status == 0
    rows = rows_of({"Benzene": "0.5"}, sample_id="TA-1", location="TA-1", medium="soil", unit="mg/kg", basis="dry")
    assert office.run("import", office.deliverable("tamarack.csv", rows), "--site", "tamarack").status == 0
    assert office.run("screen", "--site", "tamarack").document["recommendation"]["status"] == "triggered"
    return office


@pytest.fixture
def tamarack(office: Any, exceeding: Any) -> Any:
    """The same as a test's own."""
    return office.takes(exceeding)


def _own(document: Any) -> dict[str, dict[str, Any]]:
    return {one["what"]: one for one in document["deadlines"] if one["rule_file"] == "site file"}


def test_the_three_clocks(tamarack: Any) -> None:
    said = tamarack.run("deadlines", "--site", "tamarack", "--today", "2025-05-29")
    found = _own(said.document)
    assert (found["report to the agency"]["due"], found["report to the agency"]["status"]) == (
        "2025-05-29T15:00:00-04:00",
        "running",
    )
    assert found["report to the agency"]["counted_from"] == "discovery, 2025-05-28T15:00:00-04:00"
    assert (found["abatement report"]["due"], found["abatement report"]["applies"]) == ("2025-08-26", True)
    clean = found["closure report"]
    assert (clean["due"], clean["applies"], clean["because"]) == ("2025-07-02", False, "clean closures only - does not apply")
    assert clean["status"] == "does_not_apply"
    assert all(one["citation"].startswith("put together for the test") for one in found.values())


def test_overdue_on_the_next_day_and_met_once_reported(tamarack: Any) -> None:
    said = tamarack.run("deadlines", "--site", "tamarack", "--today", "2025-05-30")
    assert (said.status, _own(said.document)["report to the agency"]["status"]) == (3, "overdue")
    text = SITE.replace("[field]", "reported = 2025-05-29T14:59:00\n[field]").replace(
        "hours = 24\n", 'hours = 24\nmet_by = "reported"\n'
    )
    assert tamarack.site(text).status == 0
    assert (
        _own(tamarack.run("deadlines", "--site", "tamarack", "--today", "2025-05-30").document)["report to the agency"]["status"]
        == "met"
    )
    assert tamarack.site(text.replace("14:59", "15:01")).status == 0
    late = _own(tamarack.run("deadlines", "--site", "tamarack", "--today", "2025-05-30").document)["report to the agency"]
    assert late["status"] == "overdue" and "done late" in late["note"]


def test_the_calendar_file_has_what_applies(tamarack: Any, tmp_path: Path) -> None:
    file = tmp_path / "tamarack.ics"
    said = tamarack.run("deadlines", "--site", "tamarack", "--today", "2025-05-29", "--ics", file)
    assert said.document["files"] == [str(file)]
    text = file.read_bytes().decode().replace("\r\n ", "")
    assert "DTSTART:20250529T190000Z\r\nSUMMARY:tamarack: report to the agency" in text
    assert "DTSTART;VALUE=DATE:20250826" in text and "SUMMARY:tamarack: closure report\r\n" not in text


def test_a_named_run_and_one_of_another_site(tamarack: Any) -> None:
    run = tamarack.run("runs", "list").document["runs"][0]["run"]
    assert tamarack.run("deadlines", "--site", "tamarack", "--run", run).document["run"] == run
    tamarack.plain_site("other")
    said = tamarack.run("deadlines", "--site", "other", "--run", run)
    assert said.status == 1 and "is of site 'tamarack'" in said.error


def test_signed_off_and_one_more_deliverable_afterwards(tamarack: Any, rows_of: Any) -> None:
    run = tamarack.run("runs", "list").document["runs"][0]["run"]
    before = tamarack.run("runs", "show", run).document
    signed = tamarack.run("sign-off", run, "--by", "R. Lind", "--licence", "PG 1234 (invented)", "--why", "closure report")
    assert signed.status == 0 and signed.document["sign_off"]["status"] == "stands"
    assert tamarack.run("runs", "show", run).document["stale"] is False, "a sign-off speaks of the run, not of the data"
    rows = rows_of({"Benzene": "0.01"}, sample_id="TA-2", location="TA-2", medium="soil", unit="mg/kg", basis="dry")
    assert tamarack.run("import", tamarack.deliverable("more.csv", rows), "--site", "tamarack").status == 0
    shown = tamarack.run("runs", "show", run)
    (one,) = shown.document["sign_offs"]
    assert (one["status"], one["by"], one["licence"]) == ("stale: data changed after sign-off", "R. Lind", "PG 1234 (invented)")
    assert "stale: data changed after sign-off" in " ".join(shown.error.split())
    assert {key: shown.document[key] for key in before if key not in STANDING} == {
        key: before[key] for key in before if key not in STANDING
    }
    assert tamarack.run("runs", "reproduce", run).document["identical"] is True
    assert tamarack.run("signed-off", "list").status == 3
    for words in (["deadlines", "--site", "tamarack", "--today", "2025-05-29"], ["papers", "--site", "tamarack"]):
        assert f"run {run} is stale: data changed since; screen again" in tamarack.run(*words).document["notes"]
