"""Every sampling formula at, below and above its threshold.

The numbers are those of the rule rows that `standards/sampling` cites; each is traced to the reference by `test_traces.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from screening.closure.library import Library

DRY: dict[str, Any] = {"field": {"groundwater_met": False}}
WET: dict[str, Any] = {"field": {"groundwater_met": True}}
SIGN: dict[str, Any] = {"field": {"groundwater_met": False, "signs": ["staining"]}}


def _tank(gallons: str | None = None, **more: Any) -> dict[str, Any]:
    return {"tank": [{"id": "T1", **({"capacity_gal": gallons} if gallons else {}), **more}]}


def _two(area: str | None = None, **more: Any) -> dict[str, Any]:
    tanks = [{"id": name, "capacity_gal": "8000", "pit": "A", **more} for name in ("T1", "T2")]
    return {"tank": tanks, "pit": [{"id": "A", **({"area_sqft": area} if area else {})}]}


def _run(feet: str) -> dict[str, Any]:
    return {"piping": [{"id": "P1", "length_ft": feet}]}


def _heap(yards: str) -> dict[str, Any]:
    return {"stockpile": [{"id": "S1", "volume_cubic_yards": yards}]}


def _wall(feet: str) -> dict[str, Any]:
    return {**_tank(), "sidewall": [{"id": "W1", "length_ft": feet}]}


PLACE: dict[str, Any] = {"closure": "in_place"}
SJ_OLD, SJ_NEW, SJ_DISPENSERS = "us-ca/san-joaquin-1989", "us-ca/san-joaquin-later", "us-ca/san-joaquin-dispensers"
UNNAMED = "unnamed/closure-guidance"
NJ, IL = "us-nj/heating-oil-discharge", "us-il/release-recalled"

CASES: list[tuple[str, str, dict[str, Any], int | None]] = [
    *[
        case
        for rule in (SJ_OLD, SJ_NEW)
        for case in [
            (rule, "dry-small", DRY | _tank("999.9"), 1), (rule, "dry-small", DRY | _tank("1000"), None),
            (rule, "dry-middle", DRY | _tank("1000"), 2), (rule, "dry-middle", DRY | _tank("10000"), 2),
            (rule, "dry-middle", DRY | _tank("999"), None), (rule, "dry-middle", DRY | _tank("10000.1"), None),
            (rule, "dry-large", DRY | _tank("10000.1"), 3), (rule, "dry-large", DRY | _tank("10000"), None),
            (rule, "slab-small", DRY | _tank("999", slab=True), 3), (rule, "slab-small", DRY | _tank("1000", slab=True), None),
            (rule, "slab-middle", DRY | _tank("1000", slab=True), 5), (rule, "slab-middle", DRY | _tank("10000", slab=True), 5),
            (rule, "slab-middle", DRY | _tank("999", slab=True), None), (rule, "slab-middle", DRY | _tank("10001", slab=True), None),
            (rule, "dry-middle", DRY | _tank("8000", slab=True), None), (rule, "dry-middle", WET | _tank("8000"), None),
            (rule, "wet-one-walls", WET | _tank("9999"), 2), (rule, "wet-one-walls", WET | _tank("10000"), None),
            (rule, "wet-one-walls", DRY | _tank("9999"), None), (rule, "wet-large-walls", WET | _tank("10001"), 4),
            (rule, "wet-large-walls", WET | _tank("10000"), 4), (rule, "wet-large-walls", WET | _tank("9999"), None),
            (rule, "wet-several-walls", WET | _two(), 4), (rule, "wet-several-walls", WET | _tank("8000"), None),
            (rule, "water", WET | _tank("8000"), 1), (rule, "water", DRY | _tank("8000"), None),
            (rule, "piping", _run("19.9"), 1), (rule, "piping", _run("20"), 1), (rule, "piping", _run("20.1"), 2),
            (rule, "piping", _run("45"), 3), (rule, "stockpile", _heap("50"), 2), (rule, "stockpile", _heap("49"), 2),
            (rule, "stockpile", _heap("50.5"), 4), (rule, "stockpile", _heap("120"), 6),
        ]
    ],
    (SJ_NEW, "wet-one-below", WET | _tank("9999"), 1), (SJ_OLD, "wet-one-below", WET | _tank("9999"), None),
    (SJ_NEW, "wet-large-below", WET | _tank("10001"), 1), (SJ_NEW, "wet-large-below", WET | _tank("9999"), None),
    (SJ_NEW, "wet-several-below", WET | _two(), 1), (SJ_NEW, "wet-several-below", WET | _tank("8000"), None),
    (SJ_DISPENSERS, "dispenser", {"dispenser": [{"id": "D1"}]}, 1),
    (UNNAMED, "small", _tank("1049"), 1), (UNNAMED, "small", _tank("1050"), None), (UNNAMED, "middle", _tank("1050"), 2),
    (UNNAMED, "middle", _tank("12500"), 2), (UNNAMED, "middle", _tank("1049"), None), (UNNAMED, "middle", _tank("12501"), None),
    (UNNAMED, "large", _tank("12500"), None), (UNNAMED, "large", _tank("12501"), 3), (UNNAMED, "large", _tank("22500"), 3),
    (UNNAMED, "large", _tank("22501"), 4),
    ("us-az/closure", "tank-dry", DRY | _tank("551"), 2), ("us-az/closure", "tank-dry", DRY | _tank("550"), None),
    ("us-az/closure", "tank-dry", DRY | _tank("549"), None), ("us-az/closure", "tank-dry", WET | _tank("551"), None),
    ("us-az/closure", "tank-in-place", WET | _tank("551", **PLACE), 2), ("us-az/closure", "tank-in-place", _tank("550", **PLACE), None),
    ("us-az/closure", "tank-dry", DRY | _tank("551", fill_above_centre=True), 3),
    ("us-in/closure", "borings", _tank(perimeter_ft="76", **PLACE), 4), ("us-in/closure", "borings", _tank(perimeter_ft="80", **PLACE), 4),
    ("us-in/closure", "borings", _tank(perimeter_ft="80.1", **PLACE), 5), ("us-in/closure", "borings", _tank(perimeter_ft="20", **PLACE), 4),
    ("us-in/closure", "borings", _tank(perimeter_ft="76"), None),
    ("us-in/closure", "borings", _tank(length_ft="30", diameter_ft="11", **PLACE), 5),
    ("us-mi/closure", "borings", _tank("8000", **PLACE), 2), ("us-mi/closure", "borings", _tank("8000"), None),
    ("us-ne/closure", "borings", _tank("8000", **PLACE), 2), ("us-ne/closure", "borings", _tank("8000"), None),
    ("us-or/petroleum", "site", DRY | _tank("8000"), 2),
    ("us-or/petroleum", "one-tank", DRY | _tank("8000"), 2), ("us-or/petroleum", "one-tank", WET | _tank("8000"), None),
    ("us-or/petroleum", "one-tank", DRY | _two("300"), None), ("us-or/petroleum", "several-tanks", DRY | _two("149"), 1),
    ("us-or/petroleum", "several-tanks", DRY | _two("150"), 1), ("us-or/petroleum", "several-tanks", DRY | _two("150.5"), 2),
    ("us-or/petroleum", "several-tanks", DRY | _two("480"), 4), ("us-or/petroleum", "several-tanks", WET | _two("480"), None),
    ("us-or/petroleum", "in-place-borings", DRY | _tank("8000", product="diesel", **PLACE), 4),
    ("us-or/petroleum", "in-place-borings", DRY | _tank("8000", product="used_oil", **PLACE), None),
    ("us-or/heating-oil", "removed", _tank("300"), 2), ("us-or/heating-oil", "removed", _tank("300", **PLACE), None),
    ("us-or/heating-oil", "in-place", _tank("300", **PLACE), 2), ("us-or/heating-oil", "in-place", _tank("300"), None),
    ("us-mn/stockpile", "composite", _heap("10"), 1),
    ("us-mt/closure", "large", _tank("601"), 2), ("us-mt/closure", "large", _tank("600"), None),
    ("us-mt/closure", "small", _tank("600"), 1), ("us-mt/closure", "small", _tank("599"), 1), ("us-mt/closure", "small", _tank("601"), None),
    ("us-mt/closure", "large", _tank("601", **PLACE), None),
    ("us-mt/closure", "piping", _run("20"), 1), ("us-mt/closure", "piping", _run("20.5"), 2), ("us-mt/closure", "piping", _run("19"), 1),
    ("us-mt/closure", "stockpile", SIGN | _heap("10"), 1), ("us-mt/closure", "stockpile", DRY | _heap("10"), None),
    ("us-mt/closure", "water", WET | _tank("601"), 1), ("us-mt/closure", "water", DRY | _tank("601"), None),
    (NJ, "tank", SIGN | _tank(length_ft="6"), 1), (NJ, "tank", SIGN | _tank(length_ft="5.9"), 1), (NJ, "tank", SIGN | _tank(length_ft="6.1"), 2),
    (NJ, "tank", DRY | _tank(length_ft="6"), None), (NJ, "sidewall", SIGN | _wall("30"), 1), (NJ, "sidewall", SIGN | _wall("1"), 1),
    (NJ, "sidewall", SIGN | _wall("0"), 1), (NJ, "sidewall", SIGN | _wall("30.1"), 2), (NJ, "piping", SIGN | _run("15"), 1),
    (NJ, "piping", SIGN | _run("0"), 1), (NJ, "piping", SIGN | _run("15.1"), 2), (NJ, "piping", DRY | _run("15"), None),
    (NJ, "water", _tank() | {"field": {"groundwater_met": True, "signs": ["sheen"]}}, 1), (NJ, "water", SIGN | _tank(), None),
    ("us-ca/removal-recalled", "tank", _tank("500"), 2), ("us-ca/removal-recalled", "area", _two("200"), 1),
    ("us-ca/removal-recalled", "area", _two("201"), 2), ("us-ca/removal-recalled", "area", _two("199"), 1),
    ("us-ca/removal-recalled", "piping", _run("20"), 1), ("us-ca/removal-recalled", "piping", _run("21"), 2),
    ("us-az/piping-recalled", "piping", _run("40"), 2), ("us-az/piping-recalled", "piping", _run("41"), 3),
    ("us-nj/piping-recalled", "piping", _run("15"), 1), ("us-nj/piping-recalled", "piping", _run("16"), 2),
    (IL, "floor-large", SIGN | _tank("1000"), 2), (IL, "floor-large", SIGN | _tank("999"), None), (IL, "floor-small", SIGN | _tank("999"), 1),
    (IL, "floor-small", SIGN | _tank("1000"), None), (IL, "sidewall", SIGN | _wall("20"), 1), (IL, "sidewall", SIGN | _wall("21"), 2),
    (IL, "piping", SIGN | _run("20"), 1), (IL, "piping", SIGN | _run("21"), 2),
    ("general/practice", "tank-small", _tank("999"), 1), ("general/practice", "tank-middle", _tank("1000"), 2),
    ("general/practice", "tank-middle", _tank("10000"), 2), ("general/practice", "tank-large", _tank("10001"), 3),
    ("general/practice", "in-place", _tank("10001", **PLACE), 2), ("general/practice", "piping", _run("18"), 1),
    ("general/practice", "dispenser", {"dispenser": [{"id": "D1"}]}, 1), ("general/practice", "sidewall", _wall("20"), 1),
    ("general/practice", "stockpile", _heap("120"), 6), ("general/practice", "water", WET | _tank("500"), 1),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "row", "parts", "required"), CASES)
def test_a_formula_at_its_threshold(
    asked: Callable[..., Any], site_of: Callable[..., Any], rule: str, row: str, parts: dict[str, Any], required: int | None
) -> None:
    found = asked(site_of(**parts), rule)
    assert (found[row].required if row in found else None) == required


BORINGS = {"shallow-borings", "deep-borings", "in-place-samples", "in-place-wet-samples"}
OTHERS = {"fill-port", "highest-reading"} | BORINGS
"""Rows that ask nothing without samples or readings; they have tests of their own below."""


def test_every_row_that_counts_has_its_cases(library: Library) -> None:
    rows = {
        (file.name, row.id)
        for file in library.everything("sampling")
        for row in file.rows
        if row.has_count or row.highest_reading
    }
    assert rows - {(rule, row) for rule, row, _, _ in CASES} == {(rule, row) for rule, row in rows if row in OTHERS}


@pytest.mark.parametrize(
    ("depth", "row", "each"), [("14.9", "shallow-borings", 2), ("15", "shallow-borings", 2), ("15.1", "deep-borings", 3)]
)
def test_samples_of_a_boring_by_its_depth(
    asked: Callable[..., Any], site_of: Callable[..., Any], soil: Callable[..., Any], depth: str, row: str, each: int
) -> None:
    """329 IAC 9-6-2.6(a)(3)(C), (D)."""
    site = site_of(**_tank(perimeter_ft="60", **PLACE), location=[{"id": "B1", "component": "T1", "depth_ft": depth}])
    found = asked(site, "us-in/closure", samples=[soil("B1", "7"), soil("B1", depth)])
    assert {name: found[name].required for name in ("shallow-borings", "deep-borings") if name in found} == {row: each}
    assert (found[row].taken, found[row].missing) == (2, each - 2)


@pytest.mark.parametrize(("water", "row", "each"), [(False, "in-place-samples", 1), (True, "in-place-wet-samples", 2)])
def test_samples_of_an_oregon_boring_by_water(
    asked: Callable[..., Any], site_of: Callable[..., Any], soil: Callable[..., Any], water: bool, row: str, each: int
) -> None:
    """OAR 340-170-0020."""
    site = site_of(
        **_tank("8000", product="gasoline", **PLACE), field={"groundwater_met": water},
        location=[{"id": "B1", "component": "T1"}, {"id": "B2", "component": "T1"}],
    )  # fmt: skip
    found = asked(site, "us-or/petroleum", samples=[soil("B1", "12"), soil("B2", "12")])
    assert (found[row].required, found[row].taken) == (2 * each, 2)


@pytest.mark.parametrize(("taken", "missing"), [("P-b", 0), ("P-a", 1)])
def test_the_highest_reading_of_a_run_goes_to_the_laboratory(
    asked: Callable[..., Any], site_of: Callable[..., Any], soil: Callable[..., Any], taken: str, missing: int
) -> None:
    """OAC 1301:7-9-12(I)."""
    site = site_of(
        **_run("30"), location=[{"id": "P-a", "component": "P1"}, {"id": "P-b", "component": "P1"}],
        reading=[{"location": "P-a", "value": "9.5"}, {"location": "P-b", "value": "10"}],
    )  # fmt: skip
    assert asked(site, samples=[soil(taken)])["highest-reading"].missing == missing
