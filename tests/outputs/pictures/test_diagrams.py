"""Diagrams put each result where its number says, and tell the rest in words."""

from __future__ import annotations

import datetime as dt
import json
import math
import re
from collections.abc import Mapping
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest

from screening.decision.contents import Contents
from screening.errors import Refused
from screening.outputs import pictures
from screening.outputs.pictures import checks, deadlines, levels, plan, profile, raster, wells
from screening.outputs.pictures.axes import DayAxis, LogAxis, PlainAxis, log_axis
from screening.outputs.pictures.raster import png
from tests.outputs.pictures import drawn
from tests.outputs.pictures.invented import contents_of, outcome

SVG = drawn.SVG


def said(picture: ET.Element) -> list[str]:
    return [node.text or "" for node in drawn.texts(picture)]


def signs(picture: ET.Element, sign: str) -> list[drawn.Area]:
    """Marks of a sign that tell of a result (those of the key have no words)."""
    return [
        drawn.shape_area(node)
        for node in picture.iter(f"{SVG}g")
        if node.get("data-sign") == sign and node.find(f"{SVG}title") is not None
    ]


def test_axes() -> None:
    axis = LogAxis(0.01, 100, 0, 400)
    assert [axis.at(value) for value in (0.01, 0.1, 1, 10, 100)] == pytest.approx([0, 100, 200, 300, 400])
    assert axis.at(0.0001) == 0 and axis.at(1e9) == 400
    assert [text for _, text in axis.ticks()][:4] == ["0.01", "0.02", "0.05", "0.1"]
    assert [text for _, text in LogAxis(0.0001, 1000, 0, 200).ticks()] == [
        "0.0001",
        "0.001",
        "0.01",
        "0.1",
        "1",
        "10",
        "100",
        "1000",
    ]
    assert [text for _, text in PlainAxis(0, 17, 0, 100).ticks()] == ["0", "5", "10", "15"]
    found = log_axis([3e-9, 250], 0, 1, most=6)
    assert (found.low, found.high) == (0.001, 1000)
    years = DayAxis(dt.date(2019, 5, 1), dt.date(2025, 5, 1), 0, 400)
    assert [text for _, text in years.ticks()] == [str(year) for year in range(2020, 2026)]


def test_no_text_of_the_demo_covers_another(demo_pictures: Mapping[str, str]) -> None:
    """Labels of one result may lie on lines, never on each other's letters."""
    for name, svg in demo_pictures.items():
        picture = drawn.read(svg)
        wide, high = drawn.size(picture)
        areas = [drawn.text_area(node, node.text or "") for node in drawn.texts(picture)]
        for area in areas:
            assert area.left >= 0 and area.right <= wide and area.top >= 0 and area.bottom <= high, f"{name}: {area}"
        for one, other in combinations(areas, 2):
            assert not one.overlaps(other, 0.3), f"{name}: {one} covers {other}"


def test_every_exceedance_is_a_dot(contents: Contents) -> None:
    over = [item for item in contents.answer["outcomes"] if item["outcome"] == "exceeds"]
    sheets = [drawn.read(svg) for svg in levels.dot_plots(contents)]
    assert sum(len(signs(picture, "exceeds")) for picture in sheets) == len(over) == 22  # demo/expected.json
    rows = [node.get("data-analyte") for picture in sheets for node in picture.iter(f"{SVG}g") if node.get("data-analyte")]
    with_level = {(item["medium"], item["analyte"]) for item in contents.answer["outcomes"] if item["outcome"] != "no_level"}
    assert len(rows) == len(with_level)


def test_dots_stand_at_their_ratio() -> None:
    """Between the ticks 0.1 and 10 of the axis, by logarithm."""
    picture = drawn.read(
        levels.dot_plot(
            contents_of("", [outcome("A", amount="0.0492"), outcome("B", amount="1.23"), outcome("C", amount="<0.492")])
        )
    )
    tick = {
        text: (drawn.text_area(node).left + drawn.text_area(node).right) / 2
        for node in drawn.texts(picture)
        if (text := node.text) in ("0.1", "1", "10")
    }
    decade = tick["10"] - tick["1"]
    for sign, ratio in (("does_not_exceed", 0.2), ("exceeds", 5.0), ("open", 2.0)):
        (area,) = signs(picture, sign)
        assert (area.left + area.right) / 2 == pytest.approx(tick["1"] + decade * math.log10(ratio), abs=0.06)


def test_an_open_row_without_a_level_is_listed_as_open() -> None:
    """As under a table of which only a part was read: nothing to divide by, and not clean."""
    unread = outcome("B-1", "Xylenol", "3", outcome="open", because="level not available: read only in part")
    (svg,) = levels.dot_plots(contents_of("", [unread, outcome("B-1", "Pyrene", "2"), outcome("B-1", "Benzene", "3")]))
    picture = drawn.read(svg)
    assert "Soil: 1 of 1 analytes with a level exceeds it somewhere; 1 more is open; 1 has no level" in said(picture)
    assert "Xylenol: open" in (picture.findtext(f"{SVG}desc") or "") and "Xylenol" in said(picture)


def test_a_depth_profile() -> None:
    found = [
        outcome("B", amount="0.9", depth_top="4", sample_id="B-4"), outcome("B", amount="0.01", depth_top="8", sample_id="B-8"),
        outcome("B", "Naphthalene", "<2", depth_top="12", sample_id="B-12"), outcome("W", medium="groundwater", depth_top=None),
    ]  # fmt: skip
    contents = contents_of('[[tank]]\nid = "T1"\nbase_depth_ft = 10\n[[location]]\nid = "B"\ncomponent = "T1"\n', found)
    picture = drawn.read(profile.depth_profile(contents, "B"))
    depth = [(area.top + area.bottom) / 2 for sign in ("exceeds", "does_not_exceed", "open") for area in signs(picture, sign)]
    zero = next(drawn.text_area(node) for node in drawn.texts(picture) if node.text == "0")
    ground = (zero.top + zero.bottom) / 2
    assert [(y - ground) / (depth[1] - ground) for y in depth] == pytest.approx([4 / 8, 1, 12 / 8], abs=0.02)
    told = said(picture)
    assert "base of T1" in told and "E Benzene 0.9 mg/kg" in told and "? Naphthalene <2 mg/kg" in told
    with pytest.raises(Refused, match="'W': has no soil result with a depth"):
        profile.depth_profile(contents, "W")


def test_a_level_steps_on_its_first_day() -> None:
    """Before it the older level holds; non-detects hang as arrows, and no line runs through them."""
    rounds = [("2024-06-01", "3"), ("2024-09-01", "<0.5"), ("2024-12-01", "4"), ("2025-03-01", "3.5"), ("2025-06-01", "2")]
    found = []
    for day, amount in rounds:
        new = day >= "2025-02-03"
        law = {
            "level": "1" if new else "50",
            "level_normal": "1" if new else "50",
            "version": "2025-02-03" if new else "2010-09-22",
        }
        kind = "does_not_exceed" if not new else "exceeds"
        found.append(outcome("MW", "Cobalt", amount, sampled_at=day, sample_id=f"MW {day}", medium="groundwater", depth_top=None,
                             unit="ug/L", level_unit="ug/L", ratio="1", outcome=kind, table="us-nj/groundwater", **law))  # fmt: skip
    contents = contents_of("", found)
    (one,) = wells.series(contents)
    assert [(str(start), str(later), str(number)) for start, later, number, _ in wells.levels_of(one)] == [
        ("2010-09-22", "2025-02-03", "50"), ("2025-02-03", "None", "1"),
    ]  # fmt: skip
    picture = drawn.read(wells.time_series(contents, "MW", "Cobalt"))
    assert len(signs(picture, "exceeds")) == 2 and len(signs(picture, "does_not_exceed")) == 2
    levels_drawn = [node for node in picture.iter(f"{SVG}line") if node.get("stroke-width") == "1.8"][:2]
    (old, new) = levels_drawn
    assert old.attrib["x2"] == new.attrib["x1"] and float(old.attrib["y1"]) < float(new.attrib["y1"])
    joined = [
        node for node in picture.iter(f"{SVG}line") if node.get("stroke-width") == "0.7" and node.get("stroke") == "#5B6470"
    ]
    assert len(joined) == 2  # of four steps between rounds two lead to or from the non-detect
    assert any("level 50 ug/L (us-nj/groundwater of 2010-09-22)" in text for text in said(picture))
    with pytest.raises(Refused, match="less than two sampling days"):
        wells.time_series(contents, "MW", "Benzene")


def _deadline(**more: object) -> dict[str, object]:
    return {
        "what": "closure report", "due": "2025-07-02", "counted_from": "removed, 2025-06-02", "span": "30 days after", "applies": True,
        "because": "always", "status": "running", "citation": "rule 7", "transcription": "read", "to": "", "rule_file": "x", "note": "",
    } | more  # fmt: skip


def test_the_strip_of_deadlines() -> None:
    found = [
        _deadline(), _deadline(what="report the release", due="2025-06-03T15:00:00-04:00", counted_from="discovery, 2025-06-02T15:00:00-04:00", status="overdue"),
        _deadline(what="heap", applies=False, status="does_not_apply"),
        _deadline(what="abatement report", due=None, counted_from="confirmed", status="unknown"),
    ]  # fmt: skip
    contents = contents_of("[events]\nremoved = 2025-06-02\n", [outcome("A")], deadlines={"deadlines": found})
    picture = drawn.read(deadlines.strip(contents))
    told = said(picture)
    assert "Deadlines: 1 overdue, 1 running, 0 met" in told and "today" in told and "removed 2025-06-02" in told
    assert "due 2025-06-03 15:00, OVERDUE" in told and "due 2025-07-02, runs" in told and "due 2025-07-02, does not apply" in told
    assert any("abatement report" in text for text in told)
    rows = {node.get("data-status"): node for node in picture.iter(f"{SVG}g") if node.get("data-status")}
    assert (
        len(list(rows["overdue"].iter(f"{SVG}line"))) > 0 == len(list(rows["running"].iter(f"{SVG}line")))
    )  # hatched, not by colour alone


def test_the_grid_of_checks(contents: Contents) -> None:
    sheets = [drawn.read(svg) for svg in checks.grids(contents)]
    rows = {row["sample_id"]: row["checks"] for row in contents.review["grid"]}
    shown = {node.get("data-sample"): node for picture in sheets for node in picture.iter(f"{SVG}g") if node.get("data-sample")}
    assert shown.keys() == rows.keys()
    for sample, node in shown.items():
        told = sorted(cell.get("data-state") or "" for cell in node if cell.get("data-state") != "not_checked")
        assert told == sorted(state for state in rows[sample or ""].values() if state != "not_checked")
    assert set(checks.WORDS) >= {state for row in rows.values() for state in row.values()}


def test_pictures_are_the_same_bytes_again(contents: Contents, demo_pictures: Mapping[str, str]) -> None:
    assert plan.site_plan(contents) == demo_pictures["plan"] and deadlines.strip(contents) == demo_pictures["pictures/deadlines"]
    assert {"pictures/levels-1", "pictures/profiles-1", "pictures/checks-1", "pictures/statistics-1"} <= demo_pictures.keys()
    again = png.__wrapped__
    small = again(demo_pictures["plan"], 200)
    assert small == again(demo_pictures["plan"], 200) and int.from_bytes(small[16:20], "big") == 200


def test_files_are_svg_and_png_of_each(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(raster, "PLAN_WIDTH", 220)
    monkeypatch.setattr(raster, "PRINT_WIDTH", 165)  # a tenth of the pixels across that are printed
    made = pictures.files(contents_of("", [outcome("A", amount="3")], review=json.loads('{"grid": [], "edition": {}}')))
    assert {name.rpartition(".")[0] for name in made} == {
        "plan",
        "pictures/levels-1",
        "pictures/profiles-1",
        "pictures/deadlines",
    }
    widths = {name: int.from_bytes(content[16:20], "big") for name, content in made.items() if name.endswith("png")}
    assert widths.pop("plan.png") == 220 and set(widths.values()) == {165}
    assert all(bool(re.match(rb"<svg " if name.endswith("svg") else rb"\x89PNG", content)) for name, content in made.items())


def test_a_list_that_fits_a_sheet_is_not_torn_for_its_last_lines() -> None:
    with_level = [levels.Row("soil", f"A{at}", "t", ({"outcome": "exceeds", "level": "1", "ratio": "2"},)) for at in range(20)]
    without = [levels.Row("soil", f"B{at}", "t", ({"outcome": "no_level", "level": None, "ratio": None},)) for at in range(30)]
    parts = levels._parts(with_level, without, levels.ROW)
    assert sum(len(measured) for measured, _ in parts) == 20
    assert [len(listed) for _, listed in parts if listed] == [30]
    short = levels._parts(with_level[:2], without[:3], levels.ROW)
    assert [(len(measured), len(listed)) for measured, listed in short] == [(2, 3)]
