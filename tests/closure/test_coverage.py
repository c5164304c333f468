"""Coverage beyond the formulas: composites, depth, unknown measures, waivers, ties, walls and the choice of rules."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from screening.closure.library import Library
from screening.closure.samples import FEET_IN
from screening.errors import Refused

Make = Callable[..., Any]
TANK = {"id": "T1", "capacity_gal": "8000"}


def _at(component: str, *names: str, **more: Any) -> list[dict[str, Any]]:
    return [{"id": name, "component": component, **more} for name in names]


def test_a_composite_where_the_rule_bars_it(site_of: Make, soil: Make, covered: Make) -> None:
    """OAR 340-122-0340(1): single locations, no composites."""
    site = site_of("us-or", tank=[TANK], location=[*_at("T1", "A"), *_at("T1", "B", composite_of=4)])
    found = covered(site, [soil("A"), soil("B")])
    one = next(item for item in found.requirements if item.row == "one-tank")
    assert (one.required, one.taken, one.missing) == (2, 1, 1)
    assert any("composite of 4, which the rule bars" in gap.text for gap in found.gaps)


@pytest.mark.parametrize(("parts", "taken"), [(1, 1), (3, 3), (5, 5), (8, 5)])
def test_trench_samples_may_be_mixed_up_to_five(site_of: Make, soil: Make, covered: Make, parts: int, taken: int) -> None:
    """ARM 17.56.703(1)(a)."""
    site = site_of("us-mt", piping=[{"id": "P1", "length_ft": "100"}], location=_at("P1", "A", composite_of=parts))
    (one,) = covered(site, [soil("A")]).requirements
    assert (one.required, one.taken) == (5, taken)


@pytest.mark.parametrize(("parts", "taken"), [(1, 0), (14, 0), (15, 1)])
def test_a_stockpile_composite_of_fifteen(site_of: Make, soil: Make, covered: Make, parts: int, taken: int) -> None:
    """Minn. R. 7037.3000 subp. 1."""
    site = site_of("us-mn", stockpile=[{"id": "S1", "volume_cubic_yards": "10"}], location=_at("S1", "A", composite_of=parts))
    (one,) = covered(site, [soil("A")]).requirements
    assert (one.required, one.taken) == (1, taken)


@pytest.mark.parametrize(("depth", "kind"), [("10.9", "too_shallow"), ("11", None), ("15", None), ("15.1", "too_deep")])
def test_depth_under_a_removed_tank(site_of: Make, soil: Make, covered: Make, depth: str, kind: str | None) -> None:
    """County form: native soil, at most 4 ft under the invert; above the base is not beneath the tank."""
    site = site_of("us-ca", tank=[{**TANK, "base_depth_ft": "11"}], location=_at("T1", "A", "B"))
    (one,) = covered(site, [soil("A", depth), soil("B", "12")]).requirements
    assert [fault.kind for fault in one.faults] == ([kind] if kind else [])


@pytest.mark.parametrize(("unit", "feet"), [("ft", "1"), ("m", "3.280839895"), ("cm", "0.032808399"), ("in", "0.083333333")])
def test_depths_in_feet(unit: str, feet: str) -> None:
    """The international foot, 0.3048 m exactly."""
    assert abs(FEET_IN[unit] - Decimal(feet)) < Decimal("1e-8")


def test_an_unknown_capacity_takes_the_row_that_asks_for_most(site_of: Make, covered: Make) -> None:
    found = covered(site_of("us-ca", tank=[{"id": "T1"}], field={"groundwater_met": False}), [])
    assert [one.required for one in found.requirements] == [3]
    assert any("capacity of T1 is not stated" in text for text in found.assumptions)


def test_an_unknown_measure_is_a_gap(site_of: Make, covered: Make) -> None:
    found = covered(site_of("us-ca", piping=[{"id": "P1"}]), [])
    (one,) = found.requirements
    assert (one.required, one.missing) == (None, None)
    assert "cannot be worked out" in found.gaps[0].text and "state the measures of P1" in found.gaps[0].action


def test_a_waiver_is_printed_and_closes_the_gap(site_of: Make, covered: Make) -> None:
    run = {"piping": [{"id": "P1", "length_ft": "45"}]}
    waiver = [{"component": "P1", "by": "case worker", "why": "replaced in 2019"}]
    assert covered(site_of("us-ca", **run), []).gaps
    found = covered(site_of("us-ca", **run, waiver=waiver), [])
    assert not found.gaps and found.requirements[0].waived == "waived by case worker: replaced in 2019"


def test_duplicates_and_water_are_no_further_soil_samples(site_of: Make, soil: Make, covered: Make) -> None:
    site = site_of("us-ca", tank=[TANK], location=_at("T1", "A", "B"))
    (one,) = covered(site, [soil("A"), soil("A", "13"), soil("B", medium="groundwater")]).requirements
    assert (one.required, one.taken, one.samples) == (2, 1, ("A",))


def test_a_site_that_states_no_component_is_asked_for_nothing(site_of: Make, soil: Make, covered: Make) -> None:
    found = covered(site_of("us-ca"), [soil("A")])
    assert (found.stated, found.requirements, found.gaps) == (False, (), ())
    assert "states no tank" in found.notes[0]


def test_a_tank_without_any_sample_on_a_site_with_tied_samples(site_of: Make, soil: Make, covered: Make) -> None:
    tanks = [TANK, {**TANK, "id": "T2"}]
    tied = covered(site_of(tank=tanks, location=_at("T1", "A")), [soil("A")])
    assert [gap.text for gap in tied.gaps] == ["no sample stands for tank T2"]
    loose = covered(site_of(tank=tanks), [soil("A")])
    assert loose.gaps == () and any("stand for no component of the site file: A" in note for note in loose.notes)


def test_elective_and_sampled_locations(site_of: Make, soil: Make, covered: Make) -> None:
    places = [*_at("T1", "A"), *_at("T1", "E", elective=True), *_at("T1", "W", sampled="2025-05-06"), *_at("T1", "P")]
    found = covered(site_of(tank=[TANK], location=places), [soil("A")])
    assert [gap.text for gap in found.gaps] == [
        "W was sampled on 2025-05-06 and has no result", "P is a planned location and has no result",
    ]  # fmt: skip
    assert any("elective samples" in note and "E" in note for note in found.notes)


def test_a_planned_sample_is_the_act_that_closes_the_gap(site_of: Make, soil: Make, covered: Make) -> None:
    found = covered(site_of("us-ca", tank=[TANK], location=_at("T1", "A", "B")), [soil("A")])
    assert {gap.action for gap in found.gaps} == {"take and analyse the planned B"}


def test_general_practice_decides_only_where_it_is_named(site_of: Make, covered: Make) -> None:
    site = site_of("us-vt", tank=[TANK])
    offered, named = covered(site, []), covered(site, [], "general/practice")
    assert [one.decides for one in offered.requirements] == [False] and not offered.gaps
    assert [one.decides for one in named.requirements] == [True] and len(named.gaps) == 1
    assert "does not mean that the rule has none" in offered.offered[0]


def test_recalled_rules_are_never_taken_unnamed(library: Library) -> None:
    for kind in ("sampling", "products", "signs"):
        for file in library.everything(kind):
            assert not file.default_for or not any(row.status == "memory" for row in file.rows), file.name


def test_an_empty_list_takes_none_and_says_so(site_of: Make, covered: Make) -> None:
    found = covered(site_of("us-ca", tank=[TANK], closure={"sampling": []}), [])
    assert not found.gaps and any("none, as the site file says" in note for note in found.notes)


def test_an_unknown_rule_file(library: Library, site_of: Make) -> None:
    with pytest.raises(Refused, match="'us-ca/san-joaquin' of sampling is unknown; known are us-ca/san-joaquin"):
        library.taken("sampling", site_of(closure={"sampling": ["us-ca/san-joaquin"]}))


def test_a_place_with_counts_for_some_parts_is_offered_practice_for_the_rest(site_of: Make, covered: Make) -> None:
    """Indiana's count was read for closure in place only."""
    found = covered(site_of("us-in", tank=[TANK], dispenser=[{"id": "D1"}]), [])
    assert [(one.component, one.required, one.decides) for one in found.requirements] == [("T1", 2, False), ("D1", 1, False)]
    assert any("us-in/closure: the numbers for a tank that is removed were not in the text read" in note for note in found.notes)


def test_walls_that_a_rule_counts_and_nobody_stated(site_of: Make, covered: Make) -> None:
    """N.J.A.C. 7:26F-3.4(a)2i(3)."""
    site = site_of("us-nj", tank=[{**TANK, "length_ft": "12"}], field={"signs": ["staining"]})
    found = covered(site, [], "us-nj/heating-oil-discharge")
    assert any("states no wall" in gap.text and "[[sidewall]]" in gap.action for gap in found.gaps)


@pytest.mark.parametrize(("closure", "required"), [("removed", 3), ("in_place", None)])
def test_piping_by_how_it_is_closed(site_of: Make, covered: Make, closure: str, required: int | None) -> None:
    """ARM 17.56.703(1)(a) counts for removal."""
    found = covered(site_of("us-mt", tank=[TANK], piping=[{"id": "P1", "length_ft": "45", "closure": closure}]), [])
    asked = [one.required for one in found.requirements if one.component == "P1" and one.decides]
    assert asked == ([required] if required else [])


@pytest.mark.parametrize(("component", "taken"), [("sidewall", 0), ("W1", 2)])
def test_wall_samples_count_for_their_own_pit(site_of: Make, soil: Make, covered: Make, component: str, taken: int) -> None:
    """Two pits with water: walls that do not say which pit count for none of them, and that is said."""
    site = site_of(
        "us-ca", tank=[{**TANK, "pit": "A"}, {**TANK, "id": "T2", "pit": "B"}], pit=[{"id": "A"}, {"id": "B"}],
        sidewall=[{"id": "W1", "pit": "A"}], location=_at(component, "N", "S"), field={"groundwater_met": True},
    )  # fmt: skip
    found = covered(site, [soil("N"), soil("S")])
    walls = {one.component: one.taken for one in found.requirements if one.row == "wet-one-walls"}
    assert walls == {"A": taken, "B": 0}
    assert any("N, S stand for a wall or a pit without saying which" in note for note in found.notes) == (component == "sidewall")
