"""Volumes of a tank that lies on its side: whole, partly filled, and the fill that closure in place needs.

The partial volume of a horizontal cylinder with flat ends is the area of the circular segment times the length,
A = r^2 acos((r - h)/r) - (r - h) sqrt(2rh - h^2) (the formula behind tank charts; plane geometry). Binary floats are
used here: a volume of fill or residue is an estimate that decides no comparison with a level.
"""

from __future__ import annotations

import math
from decimal import Decimal

from screening.errors import Refused
from screening.site.parts import Tank
from screening.site.site_file import SiteFile

GALLONS_IN_CUBIC_FOOT = Decimal(1728) / Decimal(231)
"""Exact: a US gallon is 231 cubic inches, a cubic foot 1,728."""
CUBIC_FEET_IN_CUBIC_YARD = 27
NEAR = Decimal("0.1")
"""A stated capacity further than this share from the one of the dimensions is pointed out."""


def partial_cubic_feet(diameter_ft: Decimal, length_ft: Decimal, depth_ft: Decimal) -> float:
    """The volume below a level in a horizontal cylinder. Raises `Refused` for a level outside the tank."""
    if not 0 <= depth_ft <= diameter_ft:
        raise Refused(f"a level of {depth_ft} ft lies outside a tank of {diameter_ft} ft diameter; measure it from the bottom")
    radius, height = float(diameter_ft) / 2, float(depth_ft)
    if radius == 0:
        return 0.0
    inside = max(0.0, 2 * radius * height - height * height)
    segment = radius * radius * math.acos(max(-1.0, min(1.0, (radius - height) / radius))) - (radius - height) * math.sqrt(inside)
    return segment * float(length_ft)


def whole_cubic_feet(diameter_ft: Decimal, length_ft: Decimal) -> float:
    """The volume of the cylinder."""
    return math.pi * (float(diameter_ft) / 2) ** 2 * float(length_ft)


def gallons(cubic_feet: float) -> float:
    """Cubic feet in US gallons."""
    return cubic_feet * float(GALLONS_IN_CUBIC_FOOT)


def fill_cubic_yards(tank: Tank) -> float | None:
    """The fill that a tank closed in place takes: from its dimensions, else from its capacity; None where neither is stated.

    What lies in it as residue is not taken off: it must come out before the fill goes in.
    """
    if tank.diameter_ft is not None and tank.length_ft is not None:
        return whole_cubic_feet(tank.diameter_ft, tank.length_ft) / CUBIC_FEET_IN_CUBIC_YARD
    if tank.capacity_gal is not None:
        return float(tank.capacity_gal / GALLONS_IN_CUBIC_FOOT) / CUBIC_FEET_IN_CUBIC_YARD
    return None


def fill_notes(site: SiteFile) -> list[str]:
    """What the geometry of each tank says: capacity against dimensions, residue, and the fill of those left in place."""
    notes = []
    for tank in site.tank:
        if tank.diameter_ft is not None and tank.length_ft is not None:
            shell = gallons(whole_cubic_feet(tank.diameter_ft, tank.length_ft))
            if tank.capacity_gal and abs(Decimal(shell) - tank.capacity_gal) > NEAR * tank.capacity_gal:
                notes.append(
                    f"{tank.id}: a cylinder of {tank.diameter_ft} by {tank.length_ft} ft holds {shell:,.0f} gallons, the stated "
                    f"capacity is {tank.capacity_gal:,f}; check the dimensions"
                )
            if tank.residue_depth_in is not None:
                depth = tank.residue_depth_in / 12
                left = gallons(partial_cubic_feet(tank.diameter_ft, tank.length_ft, min(depth, tank.diameter_ft)))
                notes.append(
                    f"{tank.id}: {tank.residue_depth_in} in of residue are about {left:,.1f} gallons (level tank, flat ends)"
                )
        if tank.closure == "in_place":
            notes.append(_fill(tank))
    return notes


def _fill(tank: Tank) -> str:
    needed = fill_cubic_yards(tank)
    if needed is None:
        return f"{tank.id} stays in place: state its capacity or dimensions and the volume of fill can be worked out"
    of = "dimensions" if tank.diameter_ft is not None and tank.length_ft is not None else "capacity"
    told = f"{tank.id} stays in place: about {needed:.1f} cubic yards of fill by its {of}"
    if tank.fill_cubic_yards is not None:
        told += f"; {tank.fill_cubic_yards} stated" + (f" of {tank.fill_material}" if tank.fill_material else "")
        told += ", less than the tank holds" if float(tank.fill_cubic_yards) < needed * (1 - float(NEAR)) else ""
    return told
