"""Analytes by product at each sample, and what field signs mean by the rule of the place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from screening.closure.library import Library
from screening.closure.required_analytes import analytes_missing, answered, gaps_of
from screening.closure.samples import places
from screening.closure.signs import read_signs

Make = Callable[..., Any]
BTEX = ("Benzene", "Toluene", "Ethylbenzene", "Total xylenes")


def _missing(library: Library, site: Any, samples: list[Any], waiting: tuple[tuple[str, str], ...] = ()) -> list[Any]:
    return analytes_missing(site, samples, library, library.taken("products", site), waiting)[0]


@pytest.mark.parametrize(("item", "delivered", "whole"), [
    ("Benzene", ["Benzene"], True), ("Benzene", ["Toluene"], False), ("Total xylenes", ["m,p-Xylene", "o-Xylene"], True),
    ("Total xylenes", ["o-Xylene"], False), ("PCB", ["Aroclor 1254"], True), ("PAH", ["Chrysene"], True), ("PAH", ["Benzene"], False),
    ("GRO", ["TPH C6-C12"], True), ("DRO", ["TPH C6-C12"], False), ("DRO", ["TPH C10-C20"], True), ("TPH", ["Gasoline range organics"], True),
    ("Hexavalent chromium", ["Chromium"], False), ("VOC", ["Benzene"], True), ("Dioxins and furans", ["Benzene"], False),
])  # fmt: skip
def test_what_answers_a_demand(item: str, delivered: list[str], whole: bool) -> None:
    assert answered(item, {(name, "") for name in delivered}) is whole


def test_iowa_asks_for_four_at_every_sample(library: Library, site_of: Make, soil: Make) -> None:
    """567 IAC 135.15(3): benzene, toluene, ethylbenzene, xylenes, always."""
    site = site_of(
        "us-ia",
        tank=[{"id": "T1", "product": "gasoline"}],
        location=[{"id": "A", "component": "T1"}, {"id": "B", "component": "T1"}],
    )
    found = _missing(library, site, [soil("A", None, *BTEX), soil("B", None, *BTEX[:3])])
    assert [(one.sample, one.component, one.analyte, one.decides, one.transcription) for one in found] == [
        ("B", "T1", "Total xylenes", True, "read")
    ]
    (gap,) = gaps_of(found)
    assert "567 IAC 135.15(3)" in gap.text and "have B analysed for Total xylenes" in gap.action


def test_a_row_held_back_is_not_told_twice(library: Library, site_of: Make, soil: Make) -> None:
    site = site_of("us-ia", tank=[{"id": "T1", "product": "gasoline"}])
    assert not _missing(library, site, [soil("B", None, *BTEX[:3])], (("B", "Xylenes, total"),))


def test_washington_asks_where_a_release_is_suspected(library: Library, site_of: Make, soil: Make) -> None:
    tank = {"tank": [{"id": "T1", "product": "gasoline"}]}
    calm = _missing(library, site_of("us-wa", **tank), [soil("A")])
    seen = _missing(library, site_of("us-wa", **tank, field={"signs": ["staining"]}), [soil("A")])
    assert {one.analyte for one in calm} == {one.analyte for one in seen} >= {"Toluene", "Lead", "TPH", "1,2-Dibromoethane"}
    assert not any(one.decides for one in calm) and all(one.decides for one in seen)


def test_oregon_asks_to_consider(library: Library, site_of: Make, soil: Make) -> None:
    found = _missing(library, site_of("us-or", tank=[{"id": "T1", "product": "gasoline"}]), [soil("A", None, *BTEX)])
    assert found and not any(one.decides for one in found) and all("asks to consider" in one.because for one in found)


def test_each_component_by_what_it_held(library: Library, site_of: Make, soil: Make) -> None:
    """General practice: PCBs under the used-oil tank, none under the gasoline tank; the pit by what all tanks held."""
    site = site_of(
        tank=[{"id": "T1", "product": "gasoline"}, {"id": "T2", "product": "diesel", "previous_products": ["used_oil"]}],
        dispenser=[{"id": "D1", "product": "gasoline"}],
        location=[{"id": "A", "component": "T1"}, {"id": "B", "component": "T2"}, {"id": "C", "component": "pit"}, {"id": "D", "component": "D1"}],
    )  # fmt: skip
    found = _missing(library, site, [soil(name) for name in "ABCD"])
    assert {one.sample for one in found if one.analyte == "PCB"} == {"B", "C"}
    assert {one.sample for one in found if one.analyte == "DRO"} == {"B", "C"}


def test_a_waived_analyte(library: Library, site_of: Make, soil: Make) -> None:
    waiver = [{"analyte": "xylenes", "by": "agency", "why": "not stored"}]
    found = _missing(library, site_of("us-ia", tank=[{"id": "T1"}], waiver=waiver), [soil("A", None, *BTEX[:3])])
    assert found[0].waived == "waived by agency: not stored" and not gaps_of(found)


def _seen(library: Library, site: Any, samples: list[Any]) -> list[Any]:
    return read_signs(site, library.taken("signs", site), places(site, samples))


@pytest.mark.parametrize(("place", "sign", "triggers"), [
    ("us-oh", "free_product", True), ("us-oh", "sheen", True), ("us-oh", "odour", False), ("us-oh", "staining", False),
    ("us-mi", "odour", True), ("us-mi", "staining", False), ("us-az", "odour", False), ("ca-ab", "sheen", True), ("ca-ab", "odour", False),
])  # fmt: skip
def test_a_sign_by_the_rule_of_the_place(library: Library, site_of: Make, place: str, sign: str, triggers: bool) -> None:
    """40 CFR 280.72(b); Mich. Admin. Code R 29.2155(b): product smelled in the excavation is a confirmed release."""
    (one,) = _seen(library, site_of(place, field={"signs": [sign]}), [])
    assert one.triggers is triggers and (one.gap is None) is triggers


def test_a_sample_of_the_place_answers_a_suspicion(library: Library, site_of: Make, soil: Make) -> None:
    site = site_of(location=[{"id": "A"}], sign=[{"kind": "staining", "location": "A"}], field={"signs": ["staining"]})
    assert "have the samples of A analysed" in _seen(library, site, [])[0].gap.action
    (one,) = _seen(library, site, [soil("A")])
    assert one.gap is None and "A was sampled there" in one.text


def test_holes_are_answered_by_samples_below_the_tank(library: Library, site_of: Make, soil: Make) -> None:
    site = site_of(tank=[{"id": "T1"}], location=[{"id": "A", "component": "T1"}], field={"signs": ["holes"]})
    assert _seen(library, site, [])[0].gap is not None and _seen(library, site, [soil("A")])[0].gap is None


def test_a_reading_alone_is_a_suspicion_in_michigan(library: Library, site_of: Make) -> None:
    site = site_of("us-mi", location=[{"id": "A"}], reading=[{"location": "A", "value": "12"}])
    (one,) = _seen(library, site, [])
    assert not one.triggers and "suspected release" in one.text


def test_a_confirmed_release_and_an_unexplained_discovery(library: Library, site_of: Make) -> None:
    (confirmed,) = _seen(library, site_of(events={"confirmed": "2025-05-28"}), [])
    (discovery,) = _seen(library, site_of(events={"discovery": "2025-05-28"}), [])
    assert confirmed.triggers and not discovery.triggers and discovery.gap is not None
