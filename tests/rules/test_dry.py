"""Dry weight by the sample's own percent solids, held against the rule said a second time in plain Python.

Per dry mass is per mass as received x 100 / percent solids (EPA Method 160.3 and SW-846 Chapter 1 define percent solids
so: recalled). Which percent solids is the sample's own is the tool's rule: the row's, else the one that is reported for
the sample, its depth and its day, if it is one. Cases are invented, drawn with fixed seeds.
"""

from __future__ import annotations

import random
from collections import defaultdict
from datetime import datetime
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest

from screening.quality.dry import dry, dry_amount
from screening.store.fill import fill

KNOWN = {
    "row_id": "BIGINT", "sample_id": "VARCHAR", "sample_kind": "VARCHAR", "location": "VARCHAR", "medium": "VARCHAR", "depth_top": "DECIMAL(9, 2)",
    "sampled_at": "TIMESTAMP", "class": "VARCHAR", "analyte": "VARCHAR", "unit": "VARCHAR", "basis": "VARCHAR", "percent_solids": "DECIMAL(9, 2)",
    "value": "DECIMAL(38, 18)", "nondetect_limit": "DECIMAL(38, 18)", "reporting_limit": "DECIMAL(38, 18)",
    "quantitation_limit": "DECIMAL(38, 18)", "detection_limit": "DECIMAL(38, 18)",
}  # fmt: skip
AMOUNTS = ("value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit")
PLACE = ("sample_id", "sample_kind", "location", "medium")


def _drawn(seed: int) -> tuple[list[Any], dict[tuple[Any, ...], str]]:
    some = random.Random(seed)
    rows: list[Any] = []
    only_day = {}
    for number in range(800):
        plain = {
            "sample_id": f"S-{number}", "sample_kind": "field", "location": "L", "medium": some.choice(("soil", "soil", "sediment", "groundwater")),
            "depth_top": some.choice((None, 2)), "sampled_at": some.choice((None, datetime(2024, 5, 1, 9))), "class": "result", "unit": "mg/kg",
            "basis": some.choice(("as_received", "as_received", "", "dry")), "percent_solids": None,
        }  # fmt: skip
        changes: list[dict[str, Any]] = [
            {"sample_kind": "x"}, {"location": "M"}, {"medium": "other"}, {"depth_top": 3}, {"sampled_at": datetime(2024, 5, 2, 9)},
            {"sampled_at": datetime(2024, 5, 1, 17)}, {"sampled_at": None},
        ]  # fmt: skip
        if some.random() < 0.4:
            only_day[tuple(plain[name] for name in PLACE)] = some.choice(("2024-05-01", "2024-05-01", "2024-05-02"))
        for _ in range(some.choice((1, 2))):
            amounts = {name: some.choice((None, Decimal(some.randrange(1, 9)))) for name in AMOUNTS}
            odd = some.choice(
                ({}, {}, {}, {}, {"unit": "%"}, {"class": "quality_control"}, {"percent_solids": some.choice((80, 0))}, *changes)
            )
            rows.append(SimpleNamespace(**{**plain, **amounts, **odd, "row_id": len(rows), "analyte": "Lead"}))
        for _ in range(some.choice((0, 1, 1, 1, 2))):
            moist = some.random() < 0.3
            solids = some.choice((75, 75, 75, 90, 0, 100, 1))
            odd = {} if some.random() < 0.6 else some.choice((*changes, {"class": "quality_control"}))
            rows.append(
                SimpleNamespace(
                    **{**plain, **dict.fromkeys(AMOUNTS), "unit": "%", "basis": "", **odd, "row_id": len(rows),
                       "analyte": "Percent moisture" if moist else "Percent solids", "value": Decimal(100 - solids if moist else solids)}
                )
            )  # fmt: skip
    return rows, only_day


def _day(one: Any, only_day: dict[tuple[Any, ...], str]) -> str | None:
    if one.sampled_at is not None:
        return str(one.sampled_at.date().isoformat())
    return only_day.get(tuple(getattr(one, name) for name in PLACE))


@pytest.mark.parametrize(("seed", "missing_basis"), [(1, "open"), (2, "dry"), (3, "as_received")])
def test_amounts_are_turned_by_the_percent_solids_of_their_own_sample(seed: int, missing_basis: str) -> None:
    rows, only_day = _drawn(seed)
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        fill(
            connection,
            "known",
            ", ".join(f"{name} {kind}" for name, kind in KNOWN.items()),
            [tuple(getattr(one, name) for name in KNOWN) for one in rows],
        )
        fill(connection, "sample_day", "sample_id VARCHAR, sample_kind VARCHAR, location VARCHAR, medium VARCHAR, only_day DATE",
             [(*place, day) for place, day in only_day.items()])  # fmt: skip
        dry(connection, missing_basis)
        said = {
            row[0]: row[1:] for row in connection.execute(f"SELECT row_id, solids_used, {', '.join(AMOUNTS)} FROM dry").fetchall()
        }
    reported: dict[tuple[Any, ...], set[Decimal]] = defaultdict(set)
    for one in rows:
        if one.analyte.startswith("Percent") and getattr(one, "class") == "result" and 0 < one.value < 100:
            place = (*(getattr(one, name) for name in PLACE), one.depth_top, _day(one, only_day))
            reported[place].add(one.value if one.analyte == "Percent solids" else 100 - one.value)
    rule = {}
    for one in rows:
        wet = one.basis == "as_received" or (one.basis == "" and missing_basis == "as_received")
        if getattr(one, "class") != "result" or one.medium not in ("soil", "sediment") or one.unit != "mg/kg" or not wet:
            continue
        told = reported[(*(getattr(one, name) for name in PLACE), one.depth_top, _day(one, only_day))]
        solids = one.percent_solids if one.percent_solids is not None else min(told) if len(told) == 1 else None
        if solids:
            amounts = (None if getattr(one, name) is None else getattr(one, name) * 100 / Decimal(solids) for name in AMOUNTS)
            rule[one.row_id] = (solids, *(None if amount is None else round(amount, 18) for amount in amounts))
    assert said == rule and len(said) > 50


def test_a_third_is_kept_to_the_last_place_of_the_store() -> None:
    """100 / 30 = 3.333…; the 18th decimal is the last that the store keeps."""
    assert dry_amount(Decimal(1), Decimal(30)) == Decimal("3.333333333333333333")
    assert dry_amount(Decimal(2), Decimal(30)) == Decimal("6.666666666666666667")
    assert dry_amount(Decimal("123456789012.5"), Decimal(3)) == Decimal("4115226300416.666666666666666667")
    assert dry_amount(None, Decimal(30)) is None
