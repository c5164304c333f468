"""Marks on the plan are the outcomes of the run: each exceeding sample once, each place with a triangle in the list."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from xml.etree import ElementTree as ET

from screening.decision.contents import Contents
from screening.outputs.pictures.plan import sheets, site_plan
from tests.outputs.pictures import drawn
from tests.outputs.pictures.invented import contents_of, outcome, places

SVG = drawn.SVG


def _exceeding(picture: ET.Element) -> Counter[str]:
    found: Counter[str] = Counter()
    for mark in drawn.layer(picture, "marks").iter(f"{SVG}g"):
        found.update(json.loads(mark.get("data-exceeding", "[]")))
    return found


def _places(picture: ET.Element, sign: str) -> set[str]:
    """Places that bear a sign at one of their depths."""
    return {
        place.get("data-place", "")
        for place in drawn.layer(picture, "marks")
        if any(mark.get("data-sign") == sign and mark.get("data-samples") for mark in place.iter(f"{SVG}g"))
    }


def _check(contents: Contents, plan: str = "") -> None:
    picture = drawn.read(plan or site_plan(contents))
    over = [item for item in contents.answer["outcomes"] if item["outcome"] == "exceeds"]
    assert _exceeding(picture) == Counter({item["sample_id"] for item in over})
    assert _places(picture, "exceeds") == {item["location"] for item in over}


def test_the_demo(contents: Contents, demo_pictures: Mapping[str, str]) -> None:
    _check(contents, demo_pictures["plan"])
    assert len(_places(drawn.read(demo_pictures["plan"]), "exceeds")) == 8  # demo/expected.json, by an oracle of its own


def test_three_exceedances_in_two_samples() -> None:
    """The counting rule of a mixed site: 3 exceedances in 2 samples, 1 open, 2 without level are 2 triangles."""
    found = [
        outcome("TM-1", "Benzene", "0.9"), outcome("TM-1", "Naphthalene", "1.2"), outcome("TM-2", "Benzene", "0.31"),
        outcome("TM-3", "Benzene", "<0.5"), outcome("TM-3", "n-Hexane", "4"), outcome("TM-4", "n-Hexane", "2"),
    ]  # fmt: skip
    contents = contents_of(places(("TM-1", 0, 0), ("TM-2", 4, 0), ("TM-3", 0, 4), ("TM-4", 4, 4)), found)
    _check(contents)
    picture = drawn.read(site_plan(contents))
    assert [len(_places(picture, sign)) for sign in ("exceeds", "open", "no_level", "does_not_exceed")] == [2, 1, 1, 0]


def test_depths_and_rounds_of_one_place() -> None:
    """Depths are marks above each other; rounds and duplicates of one depth are one mark that names each sample."""
    found = [
        outcome("B-1", amount="0.9", sample_id="B-1-4"), outcome("B-1", amount="0.1", depth_top="8", sample_id="B-1-8"),
        outcome("B-1", amount="0.7", depth_top="8", sample_id="B-1-8D", sample_kind="field_duplicate"),
        *(outcome("W-1", amount=amount, medium="groundwater", depth_top=None, sample_id=f"W-1-{turn}", sampled_at=f"2025-0{turn}-01")
          for turn, amount in enumerate(("0.9", "0.1", "0.4"), start=1)),
    ]  # fmt: skip
    contents = contents_of(places(("B-1", 0, 0), ("W-1", 5, 5)), found)
    _check(contents)
    marks = [
        json.loads(mark.get("data-samples", "[]"))
        for mark in drawn.layer(drawn.read(site_plan(contents)), "marks").iter(f"{SVG}g")
    ]
    assert sorted(filter(None, marks)) == [["B-1-4"], ["B-1-8", "B-1-8D"], ["W-1-1", "W-1-2", "W-1-3"]]


def test_places_without_coordinates_are_listed_and_none_is_lost() -> None:
    found = [outcome("A", amount="0.9"), outcome("Elsewhere", amount="0.8")]
    picture = drawn.read(sheets(contents_of(places(("A", 0, 0)), found))[0])
    listed = " ".join(node.text or "" for node in drawn.texts(drawn.layer(picture, "list")))
    assert "Elsewhere" in listed and "Without coordinates" in listed
    assert _places(picture, "exceeds") == {"A"}


def test_what_is_required_and_missing_is_drawn() -> None:
    """A planned place without a result, a sample that a rule asks for and nobody took, analytes that were not looked for."""
    requirement = {
        "component": "P1", "what": "soil samples", "required": 3, "missing": 2, "taken": 1, "planned": ["PL"], "decides": True, "waived": "",
    }  # fmt: skip
    lacking = {"sample": "A", "location": "A", "analyte": "PAH", "decides": True, "waived": ""}
    site = (
        places(("A", 0, 0))
        + '[[location]]\nid = "PL"\nx = 5\ny = 1\ncomponent = "P1"\n[[piping]]\nid = "P1"\nroute = [[3, 1], [9, 1]]\n'
    )
    coverage = {"requirements": [requirement], "analytes_missing": [lacking], "out_of_the_ground": []}
    picture = drawn.read(site_plan(contents_of(site, [outcome("A")], coverage=coverage)))
    missing = [
        node for node in drawn.layer(picture, "marks").iter(f"{SVG}g") if node.get("data-sign") == "missing" and len(node) > 2
    ]
    assert len(missing) == 3
    told = [" ".join(node.text or "" for node in drawn.texts(label)) for label in drawn.layer(picture, "labels")]
    assert "P1 1 of 3 soil samples missing" in told and any("planned, no result" in text for text in told)
    assert "A not analysed: PAH" in told


def test_held_rows_are_not_clean() -> None:
    held = [{"id": "h1", "file": "f.csv", "sheet": "", "row": 3, "sample_id": "A", "analyte": "Benzine", "reason": "not listed"}]
    contents = contents_of(places(("A", 0, 0), ("B", 4, 0)), [outcome("A"), outcome("B")], held)
    picture = drawn.read(site_plan(contents))
    assert _places(picture, "held") == {"A"} and _places(picture, "does_not_exceed") == {"B"}
    title = picture.find(f"{SVG}title")
    assert title is not None and title.text == "Sampling plan: None of 2 places is shown to exceed a level; 1 is open"
