"""Kinds of sample told by a sample's name. All names are invented, or as in the real files of tests/real."""

from __future__ import annotations

from typing import Any

import pytest

from screening.vocabulary.sample_names import kind_in_name
from screening.vocabulary.time_zones import read_zone


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("Trip Blank 2", "trip blank in its name"), ("TripBlank-0506", "trip blank in its name"), ("LCS", "LCS"),
        ("MW-3 Field Blank", "field blank in its name"), ("CCV1", "CCV in its name"), ("H2O-V1", "H2O in its name"),
        ("231005-LabTapAs", "lab tap in its name"), ("B-2 Matrix Spike Duplicate", "matrix spike duplicate in its name"),
        ("LCS-1", "LCS in its name"), ("MB-1", ""), ("TB-1", ""), ("SB-1", ""), ("DUP-1", ""), ("Field duplicate", ""), ("", ""),
        ("Normal", ""), ("Water", ""), ("10-17-S1-1", ""), ("North CCV", ""),
    ],
)  # fmt: skip
def test_what_a_name_tells(name: str, told: str) -> None:
    """TB, MB and the like may as well be borings: the tool takes them as they come."""
    assert kind_in_name(name) == told


def brought_in(office: Any, *words: str, **more: str) -> dict[str, Any]:
    office.plain_site()
    row = {"medium": "groundwater", "analyte": "Benzene", "unit": "ug/L", "result": "7", **more}
    rows = [{"sample_id": name, **row} for name in ("MW-1", "Trip Blank", "H2O-1")]
    return dict(office.run("import", office.deliverable("a.csv", rows), "--site", "one", *words).document["deliverables"][0])


def kinds(office: Any) -> dict[str, str]:
    found = office.run("results", "--site", "one", "--all").document["results"]
    return {item["sample_id"]: item["sample_kind"] for item in found}


def test_a_plain_word_is_taken_and_said_a_doubtful_one_is_asked_about(office: Any) -> None:
    said = brought_in(office)
    assert "kinds of samples told by their names: Trip Blank, H2O-1" in said["assumptions"]
    (held,) = said["held_back"]
    assert (held["field"], held["text"], held["proposal"]) == ("sample_kind", "H2O in its name", "method_blank | field")
    assert kinds(office) == {"MW-1": "field", "Trip Blank": "trip_blank"}
    assert office.run("held", "accept", held["id"], "--as", "field", "--by", "test", "--why", "pit water").status == 0
    assert kinds(office)["H2O-1"] == "field"


def test_a_stated_kind_stands_above_the_name(office: Any) -> None:
    assert brought_in(office, sample_kind="field")["held_back"] == []
    assert kinds(office) == {"MW-1": "field", "Trip Blank": "field", "H2O-1": "field"}


@pytest.mark.parametrize(
    ("words", "kind"), [("sample_kind=field", "field"), ("sample_kind:H2O in its name=method_blank", "method_blank")]
)
def test_a_word_of_the_command_settles_it(office: Any, words: str, kind: str) -> None:
    assert brought_in(office, "--set", words)["held_back"] == []
    assert kinds(office)["H2O-1"] == kind


@pytest.mark.parametrize(
    ("text", "offset"),
    [
        ("EST", "-05:00"),
        ("z", "+00:00"),
        ("UTC-5", "-05:00"),
        ("+0530", "+05:30"),
        ("Pacific Daylight Time", "-07:00"),
        ("", None),
    ],
)
def test_time_zones(text: str, offset: str | None) -> None:
    """Offsets of the zones of the United States: from memory (15 USC 260a, 261)."""
    assert (read_zone(text).offset, read_zone(text).problem) == (offset, None)


@pytest.mark.parametrize("text", ["Eastern", "ET", "-15:00", "+05:75", "local"])
def test_a_zone_without_one_offset_is_none(text: str) -> None:
    assert read_zone(text).offset is None and "is not listed" in str(read_zone(text).problem)
