"""AT-16, its chromium part: a total neither exceeds nor clears a level for one species, unless it bounds it."""

from __future__ import annotations

from typing import Any

import pytest

SITE = """
[site]
id = "maple"
name = "Site Maple"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01", "us-co/residential-soil@2021-01-15"]
[conditions]
soil_class = "1"
[[tank]]
id = "T1"
capacity_gal = 550
product = "used_oil"
[[location]]
id = "MA-1"
component = "T1"
"""


@pytest.mark.parametrize(("total", "outcome", "status"), [
    ("41", "open", "undetermined"), ("0.2", "does_not_exceed", None), ("0.3", "does_not_exceed", None), ("0.31", "open", "undetermined"),
])  # fmt: skip
def test_total_chromium_against_a_hexavalent_level(office: Any, find: Any, total: str, outcome: str, status: str | None) -> None:
    level = {
        "analyte": "Chromium (VI)", "cas": "18540-29-9", "medium": "soil", "level": "0.3", "unit": "mg/kg", "comparison": "above",
        "citation": "as reprinted by a laboratory", "transcription": "secondhand", "source": "a laboratory's list",
    }  # fmt: skip
    path = office.deliverable("cr.csv", [level])
    said = office.run(
        "levels", "add", path, "--table", "us-co/residential-soil", "--version", "2021-01-15", "--by", "PM", "--why", "used oil"
    )
    assert said.status == 0, said.error
    assert office.site(SITE).status == 0
    same = {"sample_id": "MA-1", "medium": "soil", "unit": "mg/kg", "basis": "dry"}
    rows = [
        {**same, "analyte": "Chromium, total", "cas": "7440-47-3", "result": total},
        {**same, "analyte": "Benzene", "cas": "71-43-2", "result": "<0.0050"},
    ]
    assert office.run("import", office.deliverable("maple.csv", rows), "--site", "maple").status == 0
    answer = office.run("screen", "--site", "maple").document
    hexavalent = find(answer, "MA-1", "Hexavalent chromium", table="us-co/residential-soil")
    assert (hexavalent["outcome"], hexavalent["level"]) == (outcome, "0.3")
    assert "only the total is reported" in hexavalent["because"]
    assert any(total in part for part in hexavalent["parts"])
    assert answer["counts"]["exceeds"] == 0
    if status:
        assert answer["recommendation"]["status"] == status
