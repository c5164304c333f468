"""Volumes of a horizontal cylinder: the tank-chart formula against closed cases and an integration that shares nothing with it."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from screening.closure.geometry import fill_cubic_yards, fill_notes, gallons, partial_cubic_feet, whole_cubic_feet
from screening.errors import Refused

D, L = Decimal("8"), Decimal("21.3")


def _by_slices(diameter: float, length: float, height: float, slices: int = 20000) -> float:
    """The volume as a sum of thin level slices, each as wide as the circle is there (midpoint rule)."""
    step = height / slices
    half = diameter / 2
    return sum(2 * math.sqrt(max(0.0, half**2 - ((at + 0.5) * step - half) ** 2)) for at in range(slices)) * step * length


@pytest.mark.parametrize("height", ["0.05", "0.5", "1", "2", "3.999", "4", "4.001", "6", "7.5", "7.99", "8"])
def test_formula_against_integration(height: str) -> None:
    assert partial_cubic_feet(D, L, Decimal(height)) == pytest.approx(_by_slices(8, 21.3, float(height)), rel=2e-5)


@pytest.mark.parametrize("height", ["0", "1", "2.5", "4"])
def test_what_is_below_a_level_and_above_it_makes_the_whole(height: str) -> None:
    below, above = partial_cubic_feet(D, L, Decimal(height)), partial_cubic_feet(D, L, D - Decimal(height))
    assert below + above == pytest.approx(whole_cubic_feet(D, L))


def test_closed_cases() -> None:
    """Half a tank, and the segment a quarter of the diameter deep: r^2 (pi/3 - sqrt(3)/4), plane geometry."""
    assert partial_cubic_feet(D, L, Decimal(0)) == 0
    assert partial_cubic_feet(D, L, Decimal(4)) == pytest.approx(whole_cubic_feet(D, L) / 2)
    assert partial_cubic_feet(D, Decimal(1), Decimal(2)) == pytest.approx(16 * (math.pi / 3 - math.sqrt(3) / 4))
    assert partial_cubic_feet(D, L, D) == pytest.approx(math.pi * 16 * 21.3)


def test_a_gallon_is_231_cubic_inches() -> None:
    assert gallons(231) == pytest.approx(1728)
    assert gallons(whole_cubic_feet(D, L)) == pytest.approx(8009, abs=1)


@pytest.mark.parametrize("height", ["-0.1", "8.1"])
def test_a_level_outside_the_tank(height: str) -> None:
    with pytest.raises(Refused, match="lies outside a tank"):
        partial_cubic_feet(D, L, Decimal(height))


def test_fill_of_a_tank_left_in_place(site_of: Callable[..., Any]) -> None:
    """8,000 gallons are 8000 * 231 / 1728 / 27 = 39.6 cubic yards."""
    site = site_of(tank=[{"id": "T1", "capacity_gal": "8000", "closure": "in_place"}])
    assert fill_cubic_yards(site.tank[0]) == pytest.approx(39.609, abs=0.001)
    assert any("39.6 cubic yards" in note for note in fill_notes(site))
    little = site_of(
        tank=[
            {
                "id": "T1",
                "diameter_ft": "8",
                "length_ft": "21.3",
                "closure": "in_place",
                "fill_cubic_yards": "30",
                "capacity_gal": "6000",
                "residue_depth_in": "6",
            }
        ]
    )
    notes = " ".join(fill_notes(little))
    assert "less than the tank holds" in notes and "check the dimensions" in notes
    left = gallons(_by_slices(8, 21.3, 0.5))
    assert f"about {left:,.1f} gallons" in notes
    assert "can be worked out" in fill_notes(site_of(tank=[{"id": "T1", "closure": "in_place"}]))[0]
