"""How much of a substance water can hold, and how low methods reach: signs of a slipped unit, never a verdict."""

from __future__ import annotations

from decimal import Decimal
from functools import cache, lru_cache

from screening.vocabulary.analysis_groups import answered_by, root
from screening.vocabulary.tables import rows

THOUSAND = Decimal(1000)


@cache
def _solubility() -> dict[str, Decimal]:
    return {row["analyte"]: Decimal(row["milligrams_per_litre"]) * THOUSAND for row in rows("solubility.csv")}


def most_in_water(analyte: str) -> Decimal | None:
    """The water solubility in ug/L; None where it is not listed. The figures are recalled (see solubility.csv)."""
    return _solubility().get(analyte)


@cache
def _reach() -> dict[tuple[str, str], Decimal]:
    return {(row["group"], row["unit"]): Decimal(row["least"]) for row in rows("reach.csv")}


@lru_cache(maxsize=4096)
def least_reached(analyte: str, unit: str) -> Decimal | None:
    """A limit in a kept unit below which no routine method of the analyte's group goes; None where none is listed."""
    found = [_reach().get((root(min(way)), unit)) for way in answered_by(analyte, "")]
    known = [least for least in found if least is not None]
    return min(known) if known and len(known) == len(found) else None
