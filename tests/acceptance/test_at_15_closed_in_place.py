"""AT-15: a tank closed in place under Indiana's rule: four borings, one too shallow, one too far, samples 8 of 8."""

from __future__ import annotations

from typing import Any

import pytest

BORINGS = {"LI-1": ("14", "2.0"), "LI-2": ("14", "2.5"), "LI-3": ("12.5", "2.0"), "LI-4": ("14", "4.0")}
SITE = """
[site]
id = "linden"
name = "Site Linden"
place = "us-in"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[[tank]]
id = "T1"
capacity_gal = 8000
product = "gasoline"
closure = "in_place"
perimeter_ft = 76
base_depth_ft = 11.0
[field]
groundwater_met = false
""" + "".join(
    f'[[location]]\nid = "{name}"\ncomponent = "T1"\ndepth_ft = {depth}\ndistance_ft = {away}\n'
    for name, (depth, away) in BORINGS.items()
)


@pytest.fixture
def linden(office: Any, rows_of: Any) -> Any:
    """The site with two samples from each boring, benzene below 0.05."""
    assert office.site(SITE).status == 0
    rows = []
    for name, (depth, _) in BORINGS.items():
        for at in ("7", depth):
            rows += rows_of(
                {"Benzene": "0.04"},
                sample_id=f"{name}-{at}",
                location=name,
                medium="soil",
                depth_top=at,
                depth_unit="ft",
                unit="mg/kg",
                basis="dry",
            )
    assert office.run("import", office.deliverable("linden.csv", rows), "--site", "linden").status == 0
    return office


def test_borings_and_samples(linden: Any) -> None:
    found = {one["what"]: one for one in linden.run("coverage", "--site", "linden").document["requirements"]}
    borings, samples = found["borings"], found["soil samples of borings"]
    assert (borings["required"], borings["taken"], borings["missing"]) == (4, 4, 0)
    assert (samples["required"], samples["taken"], samples["missing"]) == (8, 8, 0)
    assert [(fault["kind"], fault["location"]) for fault in borings["faults"]] == [("too_shallow", "LI-3"), ("too_far", "LI-4")]
    assert (
        "12.5 ft, needs 13.0 ft" in borings["faults"][0]["text"]
        and "4.0 ft from the tank, at most 3.0 ft" in borings["faults"][1]["text"]
    )


def test_incomplete_with_those_two_reasons_and_the_method_printed(linden: Any) -> None:
    answer = linden.run("screen", "--site", "linden").document
    advice = answer["recommendation"]
    assert (advice["status"], answer["counts"]["exceeds"], len(advice["reasons"])) == ("undetermined", 0, 2)
    assert "LI-3 is too shallow" in advice["reasons"][0]["text"] and "LI-4 is too far" in advice["reasons"][1]["text"]
    assert advice["closure_methods"] == {"T1": "in place"}
    assert advice["actions"] == [
        "sample again at LI-3, at least 13.0 ft deep",
        "sample again within 3.0 ft of T1 in place of LI-4",
    ]


def test_what_is_not_stated_cannot_be_shown(linden: Any) -> None:
    assert linden.site(SITE.replace("base_depth_ft = 11.0\n", "").replace("distance_ft = 4.0\n", "")).status == 0
    gaps = [gap["text"] for gap in linden.run("coverage", "--site", "linden").document["gaps"]]
    assert sum("whether LI-" in text and "base depth of T1 is not stated" in text for text in gaps) == 4
    assert sum("its distance from T1 is not stated" in text for text in gaps) == 1
