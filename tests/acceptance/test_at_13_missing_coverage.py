"""AT-13: two 10,000-gallon tanks, 45 ft of piping, 3 dispensers, 120 cubic yards: what is missing, and where to sample."""

from __future__ import annotations

from typing import Any

import pytest

TAKEN = [
    "JU-T1-E",
    "JU-T1-W",
    "JU-T2-E",
    "JU-T2-W",
    "JU-P1-a",
    "JU-P1-b",
    "JU-D1",
    "JU-D2",
    "JU-S1-a",
    "JU-S1-b",
    "JU-S1-c",
    "JU-S1-d",
]
SITE = """
[site]
id = "juniper"
name = "Site Juniper"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[closure]
sampling = ["us-ca/san-joaquin-1989", "us-ca/san-joaquin-dispensers"]
[[tank]]
id = "T1"
capacity_gal = 10000
product = "gasoline"
[[tank]]
id = "T2"
capacity_gal = 10000
product = "gasoline"
[[piping]]
id = "P1"
length_ft = 45
[[dispenser]]
id = "D1"
[[dispenser]]
id = "D2"
[[dispenser]]
id = "D3"
[[stockpile]]
id = "S1"
volume_cubic_yards = 120
[field]
groundwater_met = false
""" + "".join(f'[[location]]\nid = "{name}"\ncomponent = "{name.split("-")[1]}"\n' for name in TAKEN)


@pytest.fixture
def juniper(office: Any, rows_of: Any) -> Any:
    """The site with its 12 clean samples."""
    assert office.site(SITE).status == 0
    rows = [
        row
        for name in TAKEN
        for row in rows_of(
            {"Benzene": "0.02", "Naphthalene": "<0.0050"}, sample_id=name, location=name, medium="soil", unit="mg/kg", basis="dry"
        )
    ]
    assert office.run("import", office.deliverable("juniper.csv", rows), "--site", "juniper").status == 0
    return office


def test_required_taken_and_missing(juniper: Any) -> None:
    said = juniper.run("coverage", "--site", "juniper")
    assert said.status == 3
    found: dict[str, list[int]] = {}
    for one in said.document["requirements"]:
        sums = found.setdefault(one["component"][0], [0, 0, 0])
        for at, key in enumerate(("required", "taken", "missing")):
            sums[at] += one[key]
    assert found == {"T": [4, 4, 0], "P": [3, 2, 1], "D": [3, 2, 1], "S": [6, 4, 2]}
    assert all(one["citation"] and one["rule"] for one in said.document["requirements"])


def test_the_verdict_is_incomplete_and_names_the_places(juniper: Any) -> None:
    answer = juniper.run("screen", "--site", "juniper").document
    advice = answer["recommendation"]
    assert (advice["status"], answer["counts"]["exceeds"], answer["counts"]["open"]) == ("undetermined", 0, 0)
    assert advice["actions"] == [
        "take and analyse 1 more soil sample at P1: below the run, every 20 ft",
        "take and analyse 1 more soil sample at D3: below the dispenser",
        "take and analyse 2 more stockpile samples at S1",
    ]
    assert [reason["text"].split(":")[0] for reason in advice["reasons"]] == ["P1", "D3", "S1"]


def test_heaped_soil_is_not_soil_that_remains(juniper: Any, rows_of: Any) -> None:
    heap = [name for name in TAKEN if "-S1-" in name]
    assert juniper.run("coverage", "--site", "juniper").document["out_of_the_ground"] == heap
    more = rows_of({"Benzene": "0.30"}, sample_id="JU-S1-e", location="JU-S1-a", medium="soil", unit="mg/kg", basis="dry")
    assert juniper.run("import", juniper.deliverable("more.csv", more), "--site", "juniper").status == 0
    advice = juniper.run("screen", "--site", "juniper").document["recommendation"]
    (cause,) = [reason["text"] for reason in advice["reasons"] if reason["kind"] == "exceedance"]
    assert cause.endswith("soil taken out, not soil that remains")
