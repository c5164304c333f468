"""AT-14: water in the pit, sheen on it: triggered by both; the county's two forms count differently; unsampled water is a gap."""

from __future__ import annotations

from typing import Any

import pytest

SITE = """
[site]
id = "kestrel"
name = "Site Kestrel"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[closure]
sampling = ["us-ca/san-joaquin-1989"]
[[tank]]
id = "T1"
capacity_gal = 6000
product = "gasoline"
{positions}
[field]
groundwater_met = true
groundwater_depth_ft = 9.0
signs = ["sheen"]
"""
WALLS = '[[location]]\nid = "KE-N"\ncomponent = "sidewall"\n[[location]]\nid = "KE-S"\ncomponent = "sidewall"\n'
UNSAID = '[[location]]\nid = "KE-N"\ncomponent = "T1"\n[[location]]\nid = "KE-S"\ncomponent = "T1"\n'
WATER = '[[location]]\nid = "KE-W"\ncomponent = "pit"\n'
LATER = ("--sampling", "us-ca/san-joaquin-later")


def _came(office: Any, rows_of: Any, positions: str = WALLS, water: bool = True) -> None:
    assert office.site(SITE.format(positions=positions + (WATER if water else ""))).status == 0
    rows = rows_of({"Benzene": "0.19"}, sample_id="KE-N", location="KE-N", medium="soil", unit="mg/kg", basis="dry")
    rows += rows_of({"Benzene": "0.11"}, sample_id="KE-S", location="KE-S", medium="soil", unit="mg/kg", basis="dry")
    if water:
        rows += rows_of(
            {"Benzene": "7.2", "Naphthalene": "1.1"}, sample_id="KE-W", location="KE-W", medium="groundwater", unit="ug/L"
        )
    assert office.run("import", office.deliverable("kestrel.csv", rows), "--site", "kestrel").status == 0


def test_triggered_by_water_and_by_sheen(office: Any, rows_of: Any, find: Any) -> None:
    _came(office, rows_of)
    answer = office.run("screen", "--site", "kestrel").document
    benzene, naphthalene = find(answer, "KE-W", "Benzene"), find(answer, "KE-W", "Naphthalene")
    assert (benzene["outcome"], benzene["ratio"], benzene["level"]) == ("exceeds", "1.44", "0.005")
    assert naphthalene["outcome"] == "does_not_exceed"
    assert {find(answer, name, "Benzene")["outcome"] for name in ("KE-N", "KE-S")} == {"does_not_exceed"}
    advice = answer["recommendation"]
    assert (advice["status"], [reason["kind"] for reason in advice["reasons"]]) == ("triggered", ["exceedance", "field_sign"])
    assert "sheen" in advice["reasons"][1]["text"] and "40 CFR 280.72(b)" in advice["reasons"][1]["text"]
    assert advice["open_items"] == []


@pytest.mark.parametrize("positions", [WALLS, UNSAID])
def test_the_two_forms_count_differently(office: Any, rows_of: Any, positions: str) -> None:
    """1989: 2 soil and 1 water, complete; later: 3 soil and 1 water, the one below the tank is missing."""
    _came(office, rows_of, positions)
    old = office.run("coverage", "--site", "kestrel").document
    assert [(one["what"], one["required"], one["missing"]) for one in old["requirements"]] == [
        ("soil samples of the walls", 2, 0), ("water samples", 1, 0),
    ]  # fmt: skip
    assert old["complete"] is True
    new = office.run("coverage", "--site", "kestrel", *LATER).document
    assert [(one["what"], one["required"], one["missing"]) for one in new["requirements"]] == [
        ("soil samples of the walls", 2, 0), ("soil samples", 1, 1), ("water samples", 1, 0),
    ]  # fmt: skip
    (gap,) = new["gaps"]
    assert gap["text"].startswith("T1: 1 of 1 soil samples missing") and "below the tank" in gap["text"]
    assert any("not stated: counted as wall samples" in text for text in new["assumptions"]) == (positions == UNSAID)


def test_water_seen_and_none_sampled(office: Any, rows_of: Any) -> None:
    _came(office, rows_of, water=False)
    advice = office.run("screen", "--site", "kestrel").document["recommendation"]
    assert (advice["status"], [reason["kind"] for reason in advice["reasons"]]) == ("triggered", ["field_sign"])
    assert any(item["text"] == "groundwater was met, and no groundwater result is there" for item in advice["open_items"])
    assert any("groundwater" in act for act in advice["actions"])


def test_water_seen_and_none_sampled_is_never_clean_without_the_sheen(office: Any, rows_of: Any) -> None:
    _came(office, rows_of, water=False)
    assert office.site(SITE.format(positions=WALLS).replace('["sheen"]', "[]")).status == 0
    assert office.run("screen", "--site", "kestrel").document["recommendation"]["status"] == "undetermined"
