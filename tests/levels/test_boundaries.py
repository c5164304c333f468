"""A result just below, at and just above a level, for both signs, in other units than the level's, by the command line."""

from __future__ import annotations

from typing import Any

import pytest

LESS, MORE = "does_not_exceed", "exceeds"

# table@version, site conditions, analyte, medium, and results with their outcome
CASES: list[tuple[str, dict[str, str], str, str, list[tuple[str, str, str]]]] = [
    (  # 0.246 mg/kg, above: technical guidance manual 2017, Table 2.2
        "us-oh/closure@2017-01-01", {"soil_class": "1"}, "Benzene", "soil",
        [("245.9", "ug/kg", LESS), ("246", "ug/kg", LESS), ("246.1", "ug/kg", MORE), ("0.246", "mg/kg", LESS),
         ("0.2460001", "mg/kg", MORE), ("246000", "ng/kg", LESS)],
    ),
    (  # 20 ppb, at or in excess of: Environment Article 4-411.2
        "us-md/petroleum-triggers@2024-01-01", {}, "Methyl tert-butyl ether", "groundwater",
        [("0.01999", "mg/L", LESS), ("0.020", "mg/L", MORE), ("0.02001", "mg/L", MORE), ("19999", "ng/L", LESS), ("20000", "ng/L", MORE)],
    ),
    (  # 10 parts per million or less: COMAR 26.10.13.11, the other sign in the same table
        "us-md/petroleum-triggers@2024-01-01", {}, "Total petroleum hydrocarbons", "soil",
        [("9999", "ug/kg", LESS), ("10", "ppm", LESS), ("10001", "ug/kg", MORE)],
    ),
    (  # 100 mg/kg, below passes: 18 AAC 75.341(a), 78.600(a)
        "us-ak/soil-method-one@2024-09-25", {"category": "A"}, "Diesel range organics", "soil",
        [("99.99", "mg/kg", LESS), ("100", "ppm", MORE), ("100000", "ug/kg", MORE)],
    ),
    (  # 9 mg/L, attained or exceeded: NR 140.10 Table 1, NR 140.14
        "us-wi/groundwater@2024-08-26", {"standard": "enforcement_standard"}, "Acetone", "groundwater",
        [("8999", "ug/L", LESS), ("9000", "ug/L", MORE), ("9.0001", "mg/L", MORE)],
    ),
    (  # 7.00E-01 mg/L in the print, above: Plan A target table
        "us-tx/plan-a@2009-03-19", {"table": "groundwater", "beneficial_use_category": "I"}, "Ethylbenzene", "groundwater",
        [("699", "ug/L", LESS), ("700", "ug/L", LESS), ("0.701", "mg/L", MORE)],
    ),
    (  # 1,5 mg/kg in the print: one and a half, not fifteen
        "ca-qc/soil-criteria@2001-12-01", {"criterion": "A"}, "Cadmium", "soil",
        [("1.49", "mg/kg", LESS), ("1500", "ug/kg", LESS), ("1.51", "mg/kg", MORE)],
    ),
    (  # 560 to 1,000 ug/L in the print, the note that picks the end not read
        "us-co/oil-gas-915-1@2021-01-15", {}, "Toluene", "groundwater",
        [("0.560", "mg/L", LESS), ("561", "ug/L", "open"), ("1000", "ug/L", "open"), ("1.001", "mg/L", MORE)],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("table", "conditions", "analyte", "medium", "results"), CASES, ids=[case[0] for case in CASES])
def test_just_below_at_and_just_above(
    office: Any, table: str, conditions: dict[str, str], analyte: str, medium: str, results: list[tuple[str, str, str]]
) -> None:
    office.plain_site(levels=table)
    rows = [
        {"sample_id": f"S-{at}", "medium": medium, "analyte": analyte, "result": result, "unit": unit, "basis": "dry" if medium == "soil" else ""}
        for at, (result, unit, _) in enumerate(results)
    ]  # fmt: skip
    assert office.run("import", office.deliverable("results.csv", rows), "--site", "one").status == 0
    stated = [word for key, value in conditions.items() for word in ("--condition", f"{key}={value}")]
    answer = office.run("screen", "--site", "one", *stated).document
    told = {item["sample_id"]: item["outcome"] for item in answer["outcomes"] if item["analyte"] == analyte}
    assert told == {f"S-{at}": outcome for at, (_, _, outcome) in enumerate(results)}
