"""Units: conversion is exact, and the unit in which an amount is written never changes an outcome."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.vocabulary.units import read_unit

SOLID = {
    "mg/kg": 1, "ug/kg": Fraction(1, 1000), "µg/kg": Fraction(1, 1000), "ng/g": Fraction(1, 1000), "ug/g": 1,
    "ng/kg": Fraction(1, 10**6), "g/kg": 1000, "ppm": 1, "ppb": Fraction(1, 1000),
}  # fmt: skip
WATER = {
    "ug/L": 1, "mg/L": 1000, "ng/L": Fraction(1, 1000), "µg/l": 1, "ug/mL": 1000, "ppm": 1000, "ppb": 1,
}  # fmt: skip
SIZES = [("soil", unit, Fraction(size)) for unit, size in SOLID.items()]
SIZES += [("groundwater", unit, Fraction(size)) for unit, size in WATER.items()]
AMOUNT = st.decimals("0.000000001", "1000000", allow_nan=False, allow_infinity=False, places=9)


@pytest.mark.parametrize(("medium", "unit", "size"), SIZES)
@settings(max_examples=25)
@given(amount=AMOUNT)
def test_conversion_there_and_back_is_exact(medium: str, unit: str, size: Fraction, amount: Decimal) -> None:
    read = read_unit(unit, medium)
    assert read.unit == ("mg/kg" if medium == "soil" else "ug/L")
    assert read.problem is None
    there = read.convert(amount)
    assert Fraction(there) == Fraction(amount) * size
    assert Fraction(there) / Fraction(read.factor) == Fraction(amount)
    assert there.as_tuple().digits == amount.as_tuple().digits  # as many figures as delivered


def _in(unit_size: Fraction, amount: Decimal) -> str:
    """The amount of the normal unit, written in a unit of another size."""
    power = {1: 0, Fraction(1, 1000): 3, Fraction(1, 10**6): 6, 1000: -3}[unit_size]
    return f"{amount.scaleb(power):f}"


@settings(max_examples=3)
@given(
    st.lists(st.integers(1, 9), min_size=1, max_size=6), st.sampled_from([Decimal("0.246"), Decimal("0.000982"), Decimal("1000")])
)
def test_the_unit_never_flips_a_comparison(office: Any, new_site: Callable[[], str], steps: list[int], level: Decimal) -> None:
    site = new_site()
    analyte = {"0.246": "Benzene", "0.000982": "EDB", "1000": "TPH C6-C12"}[str(level)]
    wanted: dict[str, str] = {}
    rows = []
    for step in dict.fromkeys(steps):
        small = Decimal(1).scaleb(level.normalize().as_tuple().exponent - step)  # type: ignore[operator]
        for amount, outcome in ((level - small, "does_not_exceed"), (level, "does_not_exceed"), (level + small, "exceeds")):
            for unit, size in SOLID.items():
                sample = f"{step} {amount} {unit}"
                wanted[sample] = outcome
                rows.append(
                    {
                        "sample_id": sample, "medium": "soil", "analyte": analyte, "cas": "106-93-4" if analyte == "EDB" else "",
                        "result": _in(Fraction(size), amount), "unit": unit, "basis": "dry",
                    }
                )  # fmt: skip
                wanted[f"{sample} not detected"] = "open" if outcome == "exceeds" else "does_not_exceed"
                rows.append({**rows[-1], "sample_id": f"{sample} not detected", "result": f"<{_in(Fraction(size), amount)}"})
    said = office.run("import", office.deliverable("units.csv", rows), "--site", site)
    assert said.status == 0, said.document
    answer = office.run("screen", "--site", site).document
    assert {item["sample_id"]: item["outcome"] for item in answer["outcomes"]} == wanted
    for item in answer["outcomes"]:  # a display never contradicts its verdict
        amount = Decimal(item["value"] or item["limit"])
        assert (amount > Decimal(item["level_normal"])) == (item["outcome"] in ("exceeds", "open"))


def test_waters_in_two_units_are_equal_at_the_level(office: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    texts = {"mg/L": "0.0014", "ug/L": "1.4", "ng/L": "1400", "µg/L": "1.40"}
    rows = [
        {
            "sample_id": f"{unit} {'above' if more else 'at'}",
            "medium": "groundwater",
            "analyte": "Naphthalene",
            "result": text + more,
            "unit": unit,
        }
        for unit, text in texts.items()
        for more in ("", "0000001" if "." in text else ".0001")
    ]
    assert office.run("import", office.deliverable("water.csv", rows), "--site", "one").status == 0
    answer = office.run("screen", "--site", "one").document
    for item in answer["outcomes"]:
        assert item["outcome"] == ("does_not_exceed" if item["sample_id"].endswith(" at") else "exceeds")
