"""AT-16: a used-oil tank: the count is complete, PCBs are missing, chromium came only as a total."""

from __future__ import annotations

from typing import Any

import pytest

REQUIRED = [
    "GRO", "DRO", "VOC", "BTEX", "SVOC", "Oil and grease", "PCB", "Cadmium", "Chromium(III)", "Hexavalent chromium", "Lead", "Zinc",
    "Nickel",
]  # fmt: skip
SITE = f"""
[site]
id = "maple"
name = "Site Maple"
place = "us-oh"
[screening]
levels = ["us-oh/closure@2017-01-01", "us-co/residential-soil@2021-01-15"]
[closure]
sampling = ["us-ca/san-joaquin-1989"]
[[tank]]
id = "T1"
capacity_gal = 550
product = "used_oil"
[[location]]
id = "MA-1"
component = "T1"
[field]
groundwater_met = false
[[required]]
product = "used_oil"
analytes = {REQUIRED}
citation = "list of the scenario"
"""
RESULTS = {
    "TPH C6-C12": "<10", "TPH C10-C20": "40", "Benzene": "<0.0050", "Toluene": "<0.0050", "Ethylbenzene": "<0.0050",
    "Total xylenes": "<0.015", "Phenol": "<0.1", "Oil and grease": "60", "Cadmium": "0.2", "Chromium, total": "41", "Lead": "12",
    "Zinc": "30", "Nickel": "14",
}  # fmt: skip


@pytest.fixture
def maple(office: Any, rows_of: Any) -> Any:
    """The site, the extra set with chromium (VI) 0.3 mg/kg (second hand, S85b of the scenarios), everything but PCBs."""
    level = {
        "analyte": "Hexavalent chromium", "cas": "18540-29-9", "medium": "soil", "level": "0.3", "unit": "mg/kg",
        "citation": "CO-915 as a laboratory reprints it", "transcription": "secondhand", "source": "laboratory reprint",
    }  # fmt: skip
    path = office.deliverable("cr.csv", [level])
    words = ("--table", "us-co/residential-soil", "--version", "2021-01-15", "--by", "PM", "--why", "used oil")
    said = office.run("levels", "add", path, *words)
    assert said.status == 0, said.error
    assert office.site(SITE).status == 0
    rows = rows_of(RESULTS, sample_id="MA-1", location="MA-1", medium="soil", unit="mg/kg", basis="dry")
    assert office.run("import", office.deliverable("maple.csv", rows), "--site", "maple").status == 0
    return office


def test_one_sample_is_enough_for_550_gallons(maple: Any) -> None:
    (one,) = maple.run("coverage", "--site", "maple").document["requirements"]
    assert (one["required"], one["taken"], one["missing"]) == (1, 1, 0)


def test_pcbs_are_missing_and_chromium_is_not_by_species(maple: Any) -> None:
    missing = {one["analyte"]: one for one in maple.run("coverage", "--site", "maple").document["analytes_missing"]}
    assert set(missing) == {"PCB", "Chromium(III)", "Hexavalent chromium"}
    assert "no result" in missing["PCB"]["because"]
    assert "only the total was delivered" in missing["Hexavalent chromium"]["because"]
    assert missing["PCB"]["citation"] == "list of the scenario" and all(one["decides"] for one in missing.values())


def test_total_chromium_neither_exceeds_nor_passes(maple: Any, find: Any) -> None:
    answer = maple.run("screen", "--site", "maple").document
    chromium = find(answer, "MA-1", "Hexavalent chromium", table="us-co/residential-soil")
    assert (chromium["outcome"], answer["counts"]["exceeds"]) == ("open", 0)
    advice = answer["recommendation"]
    assert advice["status"] == "undetermined"
    assert "have MA-1 analysed for Hexavalent chromium itself" in advice["actions"]
    assert any("PCB" in act for act in advice["actions"])


def test_general_practice_would_ask_for_the_same_and_not_decide(maple: Any) -> None:
    text = SITE[: SITE.index("[[required]]")]
    assert maple.site(text).status == 0
    found = maple.run("coverage", "--site", "maple").document
    assert {"PCB", "Hexavalent chromium"} <= {one["analyte"] for one in found["analytes_missing"]}
    assert not any(one["decides"] for one in found["analytes_missing"])
    assert found["complete"] is True and any("no list of analytes was read for 'used_oil'" in note for note in found["notes"])
