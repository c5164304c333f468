"""Site files that cannot be used: the line and the key are named, and the site stays what it was."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

LEAST = '[site]\nid = "two"\nname = "Two"\nplace = "us-oh"\n'
BAD: dict[str, tuple[str, list[str]]] = {
    "no TOML": (LEAST + '[screening\nlevels = []\n', ["line 5"]),
    "a key twice": (LEAST + 'name = "Three"\n', ["line 5"]),
    "a value without quotes": ('[site]\nid = two\n', ["line 2"]),
    "an unknown key": (LEAST + 'colour = "red"\n', ["line 5", "'site.colour' is unknown"]),
    "an unknown table": (LEAST + "[tanks]\nid = 1\n", ["line 5", "'tanks' is unknown"]),
    "an unknown key of a second tank": (
        LEAST + '[[tank]]\nid = "T1"\n[[tank]]\nid = "T2"\ncapacity = 8000\n', ["line 9", "'tank.2.capacity' is unknown"],
    ),
    "a word that is not allowed": (LEAST + '[[tank]]\nid = "T1"\nclosure = "gone"\n', ["line 7", "tank.1.closure"]),
    "a missing key": ('[site]\nid = "two"\nname = "Two"\n', ["'site.place' is missing"]),
    "no site at all": ("[screening]\nlevels = []\n", ["'site' is missing"]),
    "a place that is no place": ('[site]\nid = "two"\nname = "Two"\nplace = "Ohio"\n', ["line 4", "site.place"]),
    "an id with a blank": ('[site]\nid = "site two"\nname = "Two"\nplace = "us-oh"\n', ["line 2", "site.id"]),
    "a sign that nobody knows": (LEAST + '[field]\nsigns = ["smell"]\n', ["line 6", "field.signs"]),
    "a component twice": (LEAST + '[[tank]]\nid = "T1"\n[[tank]]\nid = "T1"\n', ["line 8", "'T1' is there twice"]),
    "a tank in a pit that is not there": (LEAST + '[[tank]]\nid = "T1"\npit = "A"\n', ["line 7", "pit 'A' of tank 'T1'", "it has none"]),
    "a sign at a place that is not there": (
        LEAST + '[[location]]\nid = "S1"\n[[sign]]\nkind = "odour"\nlocation = "S2"\n', ["line 9", "location 'S2'", "it has S1"],
    ),
    "a paper of no known kind": (LEAST + '[[paper]]\nkind = "poem"\n', ["line 6", "paper.1.kind", "must be one of closure_notice"]),
    "a clock without a span": (
        LEAST + '[[clock]]\nwhat = "report"\ncounted_from = "removed"\ncitation = "order"\n', ["line 5", "clock.1", "one of days, hours"],
    ),
    "a clock with two spans": (
        LEAST + '[[clock]]\nwhat = "report"\ncounted_from = "removed"\ncitation = "order"\ndays = 1\nhours = 2\n', ["one of days, hours"],
    ),
    "a waiver without a name": (LEAST + '[[waiver]]\nanalyte = "lead"\nwhy = "x"\n', ["'waiver.1.by' is missing"]),
    "a waiver of nothing": (LEAST + '[[waiver]]\nby = "x"\nwhy = "x"\n', ["a waiver names a component or an analyte"]),
    "a length below zero": (LEAST + '[[piping]]\nid = "P1"\nlength_ft = -3\n', ["line 7", "piping.1.length_ft", "not below zero"]),
    "a length that is no number": (LEAST + '[[piping]]\nid = "P1"\nlength_ft = nan\n', ["line 7", "nan is no number"]),
    "a time zone that is none": (LEAST + 'time_zone = "Ohio"\n', ["line 5", "site.time_zone", "America/New_York"]),
    "coordinates in no known way": (LEAST + 'coordinates = "UTM"\n', ["line 5", "site.coordinates"]),
    "a position that is none": (LEAST + '[[location]]\nid = "S1"\nposition = "left"\n', ["line 7", "location.1.position"]),
    "a date that is a number": (LEAST + "[events]\nremoved = 20250506\n", ["line 6", "events.removed", "date or datetime, not 20250506"]),
    "a date that is none": (LEAST + '[[paper]]\nkind = "permit"\ndate = "soon"\n', ["line 7", "paper.1.date", "not 'soon'"]),
    "a location without its component": (LEAST + '[[location]]\nid = "S1"\ncomponent = "T9"\n', ["'T9'", "'S1'"]),
}  # fmt: skip


@pytest.mark.parametrize(("text", "told"), BAD.values(), ids=BAD)
def test_a_malformed_site_file(filled: Any, refused: Callable[..., str], text: str, told: list[str]) -> None:
    path = filled.folder / "two.toml"
    path.write_text(text, encoding="utf-8")
    line = refused("site", "add", path)
    assert "two.toml" in line
    for part in told:
        assert part in line, line


@pytest.mark.parametrize("number", ['"many"', '"1,000"'])
def test_a_number_that_is_none(filled: Any, refused: Callable[..., str], number: str) -> None:
    path = filled.folder / "two.toml"
    path.write_text(LEAST + f'[[tank]]\nid = "T1"\ncapacity_gal = {number}\n', encoding="utf-8")
    line = refused("site", "add", path)
    assert "line 7" in line and "tank.1.capacity_gal" in line


def test_an_event_without_a_date(filled: Any, refused: Callable[..., str]) -> None:
    path = filled.folder / "two.toml"
    path.write_text(LEAST + '[events]\nremoved = "in May"\n', encoding="utf-8")
    line = refused("site", "add", path)
    assert "line 6" in line and "'events.removed'" in line


def test_a_site_file_in_another_encoding(filled: Any, refused: Callable[..., str]) -> None:
    path: Path = filled.folder / "two.toml"
    path.write_bytes(LEAST.replace("Two", "Zwölf").encode("utf-16"))
    assert "is no UTF-8 text" in refused("site", "add", path)


def test_a_missing_site_file(filled: Any, refused: Callable[..., str]) -> None:
    assert "no such site file" in refused("site", "add", filled.folder / "none.toml")


def test_a_refused_site_file_makes_no_database(office: Any, refused: Callable[..., str]) -> None:
    path = office.folder / "two.toml"
    path.write_text("[site]\n", encoding="utf-8")
    refused("site", "add", path)
    assert not office.database.exists()
