"""What a site file's values may be, and the parts that stand in the ground: tanks, piping, dispensers, pits, stockpiles."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field


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


Number = Annotated[Decimal, BeforeValidator(_number)]
Measure = Annotated[Decimal, BeforeValidator(_number), AfterValidator(_not_below_zero)]
"""A length, area, volume or share: never below zero."""
Word = Annotated[str, BeforeValidator(_word)]
Moment = dt.datetime | dt.date


class Part(BaseModel):
    """A part of the site file; an unknown key is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Tank(Part):
    """A tank; ``previous_products`` are what it held before ``product``."""

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


class Piping(Part):
    """A piping run."""

    id: Word
    length_ft: Measure | None = None
    product: str = ""
    closure: Literal["removed", "in_place"] = "removed"


class Dispenser(Part):
    """A dispenser."""

    id: Word
    product: str = ""


class Pit(Part):
    """An excavation; tanks name it with their key ``pit``."""

    id: Word
    area_sqft: Measure | None = None
    water: bool | None = None


class Sidewall(Part):
    """One wall of an excavation."""

    id: Word
    length_ft: Measure | None = None
    pit: Word = ""


class Stockpile(Part):
    """Soil taken out and heaped on the site."""

    id: Word
    volume_cubic_yards: Measure | None = None


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
    composite_of: Annotated[int, Field(ge=1)] = 1
    elective: bool = False
    sampled: Moment | None = None


class CustodySample(Part):
    """One sample of a custody record, and the analyses asked for it."""

    sample: Annotated[Word, Field(min_length=1)]
    analyses: Annotated[tuple[str, ...], Field(min_length=1)]
    collected: Moment | None = None
    depth: Word = ""
    medium: str = ""
