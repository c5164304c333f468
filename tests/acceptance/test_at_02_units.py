"""AT-02 (a) and (c): units differ between results and between levels, and no value changes in the delivered layer."""

from __future__ import annotations

from typing import Any


def test_micrograms_against_a_level_in_milligrams(office: Any, find: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    row = {"sample_id": "AL-1", "medium": "soil", "analyte": "Benzene", "result": "312", "unit": "ug/kg", "basis": "dry"}
    assert office.run("import", office.deliverable("a.csv", [row]), "--site", "one").status == 0
    kept = office.run("results", "--site", "one").document["results"][0]
    assert (kept["value"], kept["unit"], kept["source"]["text"]) == ("0.312", "mg/kg", "312")
    said = office.run("screen", "--site", "one", "--levels", "us-oh/closure@2017-01-01")
    assert said.status == 3
    item = find(said.document, "AL-1", "Benzene")
    assert (item["outcome"], item["level"], item["level_unit"], item["ratio"]) == ("exceeds", "0.246", "mg/kg", "1.27")
    assert item["source"]["text"] == "312"
    assert "for soil class 1" in item["because"]


def test_one_water_with_ranges_in_two_units(office: Any, find: Any) -> None:
    office.plain_site(place="us-wa", levels="us-wa/groundwater-method-a@2001-08-15")
    results = [
        ("Gasoline range organics", "640", "ug/L"), ("Diesel range organics", "0.61", "mg/L"),
        ("Oil range organics", "0.44", "mg/L"), ("Benzene", "1.1", "ug/L"),
    ]  # fmt: skip
    rows = [
        {"sample_id": "BI-W1", "medium": "groundwater", "analyte": analyte, "result": result, "unit": unit}
        for analyte, result, unit in results
    ]
    assert office.run("import", office.deliverable("c.csv", rows), "--site", "one").status == 0
    said = office.run("screen", "--site", "one")
    gasoline = find(said.document, "BI-W1", "Gasoline range organics")
    assert (gasoline["value"], gasoline["level"], gasoline["outcome"]) == ("640", "800", "does_not_exceed")
    assert "800 because benzene 1.1" in gasoline["because"]
    diesel = find(said.document, "BI-W1", "Diesel range organics")
    assert (diesel["value"], diesel["unit"], diesel["outcome"]) == ("610", "ug/L", "exceeds")
    assert (diesel["level"], diesel["level_unit"], diesel["ratio"]) == ("0.500", "mg/L", "1.22")
    oil = find(said.document, "BI-W1", "Oil range organics")
    assert (oil["value"], oil["outcome"]) == ("440", "does_not_exceed")
    assert find(said.document, "BI-W1", "Benzene")["outcome"] == "does_not_exceed"
    delivered = {item["analyte"]: item["source"]["text"] for item in said.document["outcomes"]}
    assert delivered == {analyte: result for analyte, result, _ in results}
    assert said.document["recommendation"]["status"] == "triggered"
