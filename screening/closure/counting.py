"""How many samples a row asks for, and which of a component's places count for it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal

from screening.closure.findings import Fault
from screening.closure.rules import SamplingRow
from screening.closure.samples import SOIL, Place
from screening.site.parts import Tank

WALL_POSITIONS, BELOW_POSITIONS = ("wall", "interface"), ("below", "end", "middle", "fill_end")


def number_asked(row: SamplingRow, measure: Decimal | None) -> int | None:
    """max(least, number + ceil((measure - beyond) / each) * plus); None where the measure is not known."""
    number = row.number or 0
    if row.each is not None:
        if measure is None:
            return None
        steps = max(Decimal(0), measure - row.beyond) / row.each
        number += int(steps.to_integral_value(ROUND_CEILING)) * row.plus
    return max(row.least, number)


def perimeter(tank: Tank) -> tuple[Decimal | None, str]:
    """The way around a tank: as stated, else of the rectangle of its length and diameter."""
    if tank.perimeter_ft is not None:
        return tank.perimeter_ft, ""
    if tank.length_ft is not None and tank.diameter_ft is not None:
        around = 2 * (tank.length_ft + tank.diameter_ft)
        return around, f"the way around {tank.id} is taken as that of a rectangle of its length and diameter, {around} ft"
    return None, ""


def counted(row: SamplingRow, places: Sequence[Place]) -> tuple[int, list[Fault]]:
    """How many places with soil results count for a row, composites weighed as the rule says."""
    total, faults = 0, []
    for place in places:
        if not place.of(SOIL):
            continue
        mixed = place.location.composite_of
        name = place.location.id
        if row.composite == "barred" and mixed > 1:
            faults.append(
                Fault(
                    "composite",
                    name,
                    f"{name} is a composite of {mixed}, which the rule bars",
                    f"take single samples instead of the composite {name}",
                )
            )
        elif row.composite == "required" and mixed < (row.composite_of or 2):
            least = row.composite_of or 2
            faults.append(
                Fault(
                    "composite", name, f"{name} is a composite of {mixed}; the rule asks for one of {least} parts" if mixed > 1
                    else f"{name} is a single sample; the rule asks for a composite of {least} parts",
                    f"take a composite of {least} parts in place of {name}",
                )
            )  # fmt: skip
        elif row.composite_of and not row.composite:
            total += min(mixed, row.composite_of)
        elif row.component == "stockpile" or row.counts == "stockpile_samples":
            total += len(place.of(SOIL))
        else:
            total += 1
    return total, faults


def depth_and_distance(row: SamplingRow, tank: Tank, place: Place) -> list[Fault]:
    """Too shallow, too deep, too far; or not shown, where the rule makes depth or distance decide."""
    name, depth, base, away = place.location.id, place.depth_ft, tank.base_depth_ft, place.location.distance_ft
    least = row.below_base_ft
    if least is None and row.place != "wall" and tank.closure == "removed":
        least = Decimal(0)
    faults = []
    if depth is not None and base is not None:
        if least is not None and depth < base + least:
            needed = _feet(base + least)
            faults.append(
                Fault("too_shallow", name, f"{name} is too shallow: {_feet(depth)} ft, needs {needed} ft",
                      f"sample again at {name}, at least {needed} ft deep")
            )  # fmt: skip
        if row.at_most_below_base_ft is not None and depth > base + row.at_most_below_base_ft:
            most = _feet(base + row.at_most_below_base_ft)
            faults.append(
                Fault("too_deep", name, f"{name} is too deep: {_feet(depth)} ft, at most {most} ft",
                      f"sample again at {name}, at most {most} ft deep")
            )  # fmt: skip
    elif row.must_show_place and (least is not None or row.at_most_below_base_ft is not None):
        lacking = "its depth" if depth is None else f"the base depth of {tank.id}"
        faults.append(
            Fault("not_shown", name, f"whether {name} is deep enough cannot be shown: {lacking} is not stated",
                  f"state {lacking if depth is not None else f'the depth of {name}'} in the site file")
        )  # fmt: skip
    if row.within_ft is not None and away is not None and away > row.within_ft:
        faults.append(
            Fault("too_far", name, f"{name} is too far: {_feet(away)} ft from the tank, at most {_feet(row.within_ft)} ft",
                  f"sample again within {_feet(row.within_ft)} ft of {tank.id} in place of {name}")
        )  # fmt: skip
    elif row.within_ft is not None and away is None and row.must_show_place:
        faults.append(
            Fault("not_shown", name, f"whether {name} is near enough cannot be shown: its distance from {tank.id} is not stated",
                  f"state the distance of {name} in the site file")
        )  # fmt: skip
    return faults


def _feet(number: Decimal) -> str:
    text = f"{number:f}"
    return text if "." in text else f"{text}.0"
