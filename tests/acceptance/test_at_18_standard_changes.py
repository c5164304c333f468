"""AT-18, the part of the levels: New Jersey groundwater before and after 3 Feb 2025 (57 N.J.R. 234(a), second hand)."""

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


def test_nobody_exceeds_the_old_levels_and_two_sites_the_new(five: Any) -> None:
    for levels, at in ((OLD, 3), (NEW, 4)):
        expected = sorted((one[0], one[1], one[at]) for one in SITES)
        assert _outcomes(five, levels) == expected


def test_every_row_names_the_day_from_which_its_level_counts(five: Any) -> None:
    for levels in (OLD, NEW):
        (one,) = five.run("screen", "--site", "OA", "--levels", levels).document["outcomes"]
        assert f"{one['table']}@{one['version']}" == levels and one["citation"]


def test_the_tightening_factors_are_marked_tenfold(office: Any) -> None:
    changes = {one["analyte"]: one for one in office.run("levels", "compare", OLD, NEW).document["changes"]}
    for analyte, factor in FACTORS.items():
        assert (changes[analyte]["what"], changes[analyte]["factor"], changes[analyte]["tenfold"]) == ("stricter", factor, True)
