"""Names and remarks of any kind come out harmless, and whole where they fit."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from screening.outputs.pictures.letters import cut, width, wrap
from screening.outputs.pictures.plan import sheets
from screening.outputs.pictures.raster import png
from tests.outputs.pictures import drawn
from tests.outputs.pictures.invented import contents_of, outcome, places

HOSTILE = (
    '=HYPERLINK("http://example.invalid","x")', "<script>alert(1)</script>", "]]><svg onload=alert(1)>", "&amp;&lt;<b>", "a\x00b\x07\x1b[31mc",
    "\u202egnp.exe\u202c", "مرحبا-7", "😀🛢️", "-" * 10_000, "\ud800", "\ufffe", "' onclick='x", "{{7*7}}", "%s%n", "tab\tnew\nline",
)  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE, ids=[f"{at}" for at in range(len(HOSTILE))])
def test_a_hostile_place(name: str) -> None:
    found = [outcome(name, amount="0.9"), outcome("Good", amount="0.1"), outcome("Good", name, "2")]
    for svg in sheets(contents_of(places(("Good", 1, 1)), found)):
        picture = drawn.read(svg.encode("utf-8").decode("utf-8"))
        assert {node.tag.removeprefix(drawn.SVG) for node in picture.iter()} <= {
            "svg", "g", "title", "desc", "text", "rect", "line", "path", "circle"
        }  # fmt: skip
        assert not [key for node in picture.iter() for key in node.attrib if key.startswith("on") or "href" in key]
        assert not re.search("[\x00-\x08\x0b-\x1f\u202a-\u202e\u2066-\u2069]", svg)
        assert png(svg, 300)[:8] == b"\x89PNG\r\n\x1a\n"


def test_nothing_is_fetched_and_screen_readers_are_told(demo_pictures: Mapping[str, str]) -> None:
    ids: list[str] = []
    for name, svg in demo_pictures.items():
        assert not re.findall(r"url\(|href|@import|<style|<script|<image|<foreignObject", svg), name
        picture = drawn.read(svg)
        title, described = picture.find(f"{drawn.SVG}title"), picture.find(f"{drawn.SVG}desc")
        assert title is not None and described is not None and title.text and described.text
        assert picture.attrib["role"] == "img"
        assert picture.attrib["aria-labelledby"].split() == [title.attrib["id"], described.attrib["id"]]
        ids += picture.attrib["aria-labelledby"].split()
    assert len(ids) == len(set(ids)) > 10  # several pictures may stand on one page


def test_texts_are_measured_as_another_library_measures() -> None:
    """Letter by letter as Pillow measures the same font, which is never less than with pairs of letters drawn together."""
    for text in (
        "TV-T1-W, 2025-06-10",
        "1,2,4-Trimethylbenzene 24.100 D mg/kg, 10.2 × level",
        "AVAVAV To. Ty",
        "groundwater: 3 of 14 exceed",
    ):
        for bold in (False, True):
            each = sum(drawn.font(bold).getlength(letter) for letter in text) / 100 * 8
            assert width(text, 8, bold) == pytest.approx(each, rel=0.003)
            assert width(text, 8, bold) >= drawn.font(bold).getlength(text) / 100 * 8 - 0.02


def test_long_texts_are_cut_and_broken_to_fit() -> None:
    assert cut("short", 100) == "short"
    assert width(cut("x" * 10_000, 80), 8) <= 80 and cut("x" * 10_000, 80).endswith("…")
    lines = wrap("one two three four five six seven eight nine ten eleven", 60, most=3)
    assert len(lines) == 3 and all(width(line) <= 60 for line in lines) and lines[-1].endswith("…")
    assert wrap("a result\u00a0of three", 33) == ["a", "result of", "three"]
    assert wrap("a result of three", 33) == ["a result", "of three"]
