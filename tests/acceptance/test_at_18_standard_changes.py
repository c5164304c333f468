"""AT-18: New Jersey groundwater before and after 3 Feb 2025 (57 N.J.R. 234(a), second hand); who newly exceeds?"""

from __future__ import annotations

from typing import Any

import pytest

TABLE = "us-nj/groundwater"
OLD, NEW = f"{TABLE}@2010-09-22", f"{TABLE}@2025-02-03"

# site, sample, analyte, result in ug/L, outcome on the old levels, outcome on the new ones
SITES = [
    ("OA", "Vinyl chloride", "0.40", "does_not_exceed", "exceeds"),
    ("PI", "1,1'-Biphenyl", "31", "does_not_exceed", "exceeds"),
    ("QU", "1,3-Dichlorobenzene", "4.2", "does_not_exceed", "does_not_exceed"),
    ("RO", "Vinyl chloride", "0.030", "does_not_exceed", "does_not_exceed"),
    ("SO", "Cobalt", "1.1", "does_not_exceed", "does_not_exceed"),
    ("SO", "Vinyl chloride", "<0.20", "does_not_exceed", "open"),
]
FACTORS = {"Vinyl chloride": "28.6", "1,1'-Biphenyl": "80", "1,3-Dichlorobenzene": "120", "Cobalt": "50"}


@pytest.fixture
def five(office: Any) -> Any:
    """Five closed sites, each with its last groundwater results."""
    for site in dict.fromkeys(one[0] for one in SITES):
        assert office.plain_site(identity=site, place="us-nj", levels=TABLE).status == 0
        rows = [
            {"sample_id": f"{site}-1", "medium": "groundwater", "analyte": analyte, "result": result, "unit": "ug/L"}
            for place, analyte, result, _, _ in SITES
            if place == site
        ]
        assert office.run("import", office.deliverable(f"{site}.csv", rows), "--site", site).status == 0
    return office


def _outcomes(office: Any, levels: str) -> list[tuple[str, str, str]]:
    found = []
    for site in dict.fromkeys(one[0] for one in SITES):
        document = office.run("screen", "--site", site, "--levels", levels).document
        assert all(one["transcription"] == "secondhand" for one in document["outcomes"])
        assert any("read in another publication" in text for text in document["warnings"]) or all(
            one["outcome"] == "open" for one in document["outcomes"]
        )
        found += [(site, one["analyte"], one["outcome"]) for one in document["outcomes"]]
    return sorted(found)


def test_nobody_exceeds_the_old_levels_and_the_rescreen_finds_who_does_now(five: Any) -> None:
    assert _outcomes(five, OLD) == sorted((one[0], one[1], one[3]) for one in SITES)
    said = five.run("rescreen", "--levels-on", "2025-02-03", "--all")
    document = said.document
    assert said.status == 3
    changes = [{"site": one["site"], **change} for one in document["sites"] for change in one["changes"]]
    assert sorted((one["site"], one["analyte"], one["after"]["outcome"]) for one in changes) == sorted(
        (one[0], one[1], one[4]) for one in SITES
    )
    flips = {kind: [(one["site"], one["analyte"]) for one in found] for kind, found in document["flips"].items()}
    assert flips == {
        "newly_exceeds": [("OA", "Vinyl chloride"), ("PI", "1,1'-Biphenyl")], "newly_open": [("SO", "Vinyl chloride")],
    }, "the worst first: 11.4 times the level before 6.20 times"  # fmt: skip
    for one in changes:
        assert (one["direction"], one["factor"], one["tenfold"], one["cause"]) == (
            "stricter",
            FACTORS[one["analyte"]],
            True,
            "level",
        )
        for side, day in (("before", "2010-09-22"), ("after", "2025-02-03")):
            assert (one[side]["version"], one[side]["transcription"]) == (day, "secondhand") and one[side]["citation"]
    assert "levels second hand" in said.error and said.error.count("TEN-FOLD") >= len(FACTORS)
    assert [one["site"] for one in document["sites"]] == ["OA", "PI", "SO", "QU", "RO"]
    assert five.run("rescreen", "--levels-on", "2025-02-03", "--all").document == document, "the same question, the same answer"


def test_the_tightening_factors_are_marked_tenfold(office: Any) -> None:
    changes = {one["analyte"]: one for one in office.run("levels", "compare", OLD, NEW).document["changes"]}
    for analyte, factor in FACTORS.items():
        assert (changes[analyte]["what"], changes[analyte]["factor"], changes[analyte]["tenfold"]) == ("stricter", factor, True)
