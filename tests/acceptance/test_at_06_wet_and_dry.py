"""AT-06: results as received are converted with their own percent solids; without it nothing is shown."""

from __future__ import annotations

from decimal import Decimal
from typing import Any


def test_as_received_against_a_dry_level(office: Any, find: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    same = {"medium": "soil", "analyte": "Benzene", "unit": "mg/kg", "basis": "as received", "reporting_limit": "0.0050"}
    rows = [
        {**same, "sample_id": "DR-1", "result": "0.21", "percent_solids": "81.0"},
        {**same, "sample_id": "DR-2", "result": "0.205", "percent_solids": "84.0"},
        {**same, "sample_id": "DR-3", "result": "0.23"},
        {**same, "sample_id": "DR-4", "result": "<0.20", "percent_solids": "80.0"},
    ]
    assert office.run("import", office.deliverable("wet.csv", rows), "--site", "one").status == 0
    answer = office.run("screen", "--site", "one").document
    first, second, third, fourth = (find(answer, f"DR-{number}", "Benzene") for number in (1, 2, 3, 4))
    assert (f"{Decimal(first['value']):.3f}", first["outcome"]) == ("0.259", "exceeds")
    assert "dry weight at 81 % solids" in first["because"]
    assert (f"{Decimal(second['value']):.3f}", second["outcome"]) == ("0.244", "does_not_exceed")
    assert third["outcome"] == "open"
    assert "no percent solids" in third["because"]
    assert (Decimal(fourth["limit"]), fourth["outcome"]) == (Decimal("0.25"), "open")  # 0.20 passes as received, 0.25 dry
    assert any("dry weight" in text for text in answer["assumptions"])
    assert answer["recommendation"]["status"] == "triggered"
    assert len(answer["recommendation"]["open_items"]) == 2
