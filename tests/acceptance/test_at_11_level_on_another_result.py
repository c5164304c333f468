"""AT-11: the gasoline level hangs on benzene in the same water, in two wordings of the condition."""

from __future__ import annotations

from typing import Any

import pytest

TABLE = "us-wa/groundwater-method-a@2001-08-15"
GASOLINE = "Gasoline range organics"
WATERS = {
    "HW-1": {GASOLINE: "900", "Benzene": "<0.40", "Toluene": "<1.0", "Ethylbenzene": "3.3", "Total xylenes": "4.6"},
    "HW-2": {GASOLINE: "900", "Benzene": "0.76"},
    "HW-3": {GASOLINE: "900", "Benzene": "<0.40", "Toluene": "2.0", "Ethylbenzene": "3.3", "Total xylenes": "4.2"},
    "HW-4": {GASOLINE: "700", "Benzene": "2.3"},
}


@pytest.fixture
def waters(office: Any, rows_of: Any) -> Any:
    """The four waters imported."""
    office.plain_site(place="us-wa", levels=TABLE)
    rows = [
        row for sample, results in WATERS.items() for row in rows_of(results, sample_id=sample, medium="groundwater", unit="ug/L")
    ]
    assert office.run("import", office.deliverable("waters.csv", rows), "--site", "one").status == 0
    return office


def test_wording_benzene_is_the_default(waters: Any, find: Any) -> None:
    answer = waters.run("screen", "--site", "one").document
    told = {sample: find(answer, sample, GASOLINE) for sample in WATERS}
    assert {sample: (item["level"], item["outcome"]) for sample, item in told.items()} == {
        "HW-1": ("1000", "does_not_exceed"), "HW-2": ("800", "exceeds"), "HW-3": ("1000", "does_not_exceed"),
        "HW-4": ("800", "does_not_exceed"),
    }  # fmt: skip
    assert "level 800 because benzene 0.76" in told["HW-2"]["because"]
    assert "level 800 because benzene 2.3" in told["HW-4"]["because"]
    assert "because benzene not detected (<0.40)" in told["HW-1"]["because"]
    assert answer["settings"]["wording.benzene"] == "benzene"


def test_wording_mixture_wants_the_share_too(waters: Any, find: Any) -> None:
    answer = waters.run("screen", "--site", "one", "--setting", "wording.benzene=mixture").document
    told = {sample: find(answer, sample, GASOLINE) for sample in WATERS}
    assert {sample: (item["level"], item["outcome"]) for sample, item in told.items()} == {
        "HW-1": ("1000", "does_not_exceed"), "HW-2": ("800", "exceeds"), "HW-3": ("800", "exceeds"),
        "HW-4": ("800", "does_not_exceed"),
    }  # fmt: skip
    assert "at most 8.9, 0.99 %" in told["HW-1"]["because"]
    assert "9.5 is 1.06 %" in told["HW-3"]["because"]


def test_the_difference_is_exactly_hw_3(waters: Any) -> None:
    one = waters.run("screen", "--site", "one").document["run"]
    two = waters.run("screen", "--site", "one", "--setting", "wording.benzene=mixture").document["run"]
    assert one != two
    changes = waters.run("compare", one, two).document["changes"]
    assert [(change["sample_id"], change["analyte"], change["cause"]) for change in changes] == [("HW-3", GASOLINE, "setting")]
    assert (changes[0]["before"]["outcome"], changes[0]["after"]["outcome"]) == ("does_not_exceed", "exceeds")
