"""What a site file's values may be, and the parts that stand in the ground: tanks, piping, dispensers, pits, stockpiles."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Annotated, Literal

from screening.typed import After, Before, Record, Within


def _number(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise ValueError("must be a number")
    try:
        return Decimal(value)
    except ArithmeticError as error:
        raise ValueError("must be a number") from error


def _not_below_zero(value: Decimal) -> Decimal:
    if not value.is_finite() or value < 0:
        raise ValueError("must be a number that is not below zero")
    return value


def _word(value: object) -> object:
    return str(value) if isinstance(value, int | Decimal) and not isinstance(value, bool) else value


def _course(value: object) -> object:
    points = value if isinstance(value, list | tuple) else ()
    if len(points) < 2 or not all(isinstance(point, list | tuple) and len(point) == 2 for point in points):
        raise ValueError("must be two points [x, y] or more")
    return value


Number = Annotated[Decimal, Before(_number)]
Measure = Annotated[Decimal, Before(_number), After(_not_below_zero)]
"""A length, area, volume or share: never below zero."""
Way = Annotated[tuple[tuple[Number, Number], ...], Before(_course)]
"""Points [x, y] of a line or an outline on the site's grid, for the plan."""
Word = Annotated[str, Before(_word)]
Moment = dt.datetime | dt.date


class Part(Record):
    """A part of the site file; an unknown key is an error."""


class Centred(Part):
    """A part whose middle may be given on the site's grid, for the plan."""

    x: Number | None = None
    y: Number | None = None

    def check(self) -> None:
        """Raise ValueError for half a place."""
        if (self.x is None) != (self.y is None):
            raise ValueError("x and y of its middle go together: give both or none")


class Tank(Centred):
    """A tank; ``previous_products`` are what it held before ``product``; ``bearing_deg`` is where its length points."""

    id: Word
    capacity_gal: Measure | None = None
    product: str = "unknown"
    previous_products: tuple[str, ...] = ()
    closure: Literal["removed", "in_place"] = "removed"
    length_ft: Measure | None = None
    diameter_ft: Measure | None = None
    perimeter_ft: Measure | None = None
    base_depth_ft: Measure | None = None
    pit: Word = ""
    slab: bool | None = None
    fill_above_centre: bool | None = None
    residue_depth_in: Measure | None = None
    fill_material: str = ""
    fill_cubic_yards: Measure | None = None
    bearing_deg: Number | None = None


class Piping(Part):
    """A piping run."""

    id: Word
    length_ft: Measure | None = None
    product: str = ""
    closure: Literal["removed", "in_place"] = "removed"
    route: Way | None = None


class Dispenser(Centred):
    """A dispenser."""

    id: Word
    product: str = ""


class Pit(Part):
    """An excavation; tanks name it with their key ``pit``."""

    id: Word
    area_sqft: Measure | None = None
    water: bool | None = None
    outline: Way | None = None


class Sidewall(Part):
    """One wall of an excavation."""

    id: Word
    length_ft: Measure | None = None
    pit: Word = ""


class Stockpile(Part):
    """Soil taken out and heaped on the site."""

    id: Word
    volume_cubic_yards: Measure | None = None
    outline: Way | None = None


class Feature(Part):
    """Something of the site that the plan shows for orientation: a closed outline, or a line."""

    kind: Literal["building", "excavation", "canopy", "property_line", "road", "utility", "fence", "surface_water", "other"]
    way: Way
    name: str = ""


class Location(Part):
    """A place of sampling. x and y are on a local grid or in the system that [site] coordinates names."""

    id: Word
    component: Word = ""
    position: Literal["", "below", "end", "middle", "fill_end", "wall", "interface"] = ""
    x: Number | None = None
    y: Number | None = None
    longitude: Number | None = None
    latitude: Number | None = None
    depth_ft: Measure | None = None
    distance_ft: Measure | None = None
    composite_of: Annotated[int, Within(least=1)] = 1
    elective: bool = False
    sampled: Moment | None = None


class CustodySample(Part):
    """One sample of a custody record, and the analyses asked for it."""

    sample: Annotated[Word, Within(fewest=1)]
    analyses: Annotated[tuple[str, ...], Within(fewest=1)]
    collected: Moment | None = None
    depth: Word = ""
    medium: str = ""
