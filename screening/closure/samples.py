"""What was sampled: the field samples of the temporary table ``known``, each with its place, depth and analytes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.site.parts import Location
from screening.site.site_file import SiteFile

if TYPE_CHECKING:
    import duckdb

FEET_IN: dict[str, Decimal] = {"ft": Decimal(1), "": Decimal(1), "in": Decimal(1) / 12, "m": Decimal(1) / Decimal("0.3048"),
                               "cm": Decimal(1) / Decimal("30.48")}  # fmt: skip
"""Feet in one unit of depth: the international foot, 0.3048 m; a depth without a unit is taken in feet."""
SOIL, WATER = ("soil", "sediment"), ("groundwater",)
FIELD_SAMPLES = """
SELECT location, sample_id, medium, depth_top, depth_bottom, depth_unit, {analysed}
FROM known
WHERE sample_kind = 'field' AND class = 'result' AND state != 'not_analysed'
GROUP BY ALL
ORDER BY ALL
"""


@dataclass
class Sampled:
    """One field sample of one medium at one depth, and what it was analysed for."""

    location: str
    sample: str
    medium: str
    depth_ft: Decimal | None
    rows: set[tuple[str, str]] = field(default_factory=set)

    @property
    def analytes(self) -> set[str]:
        """The names of what it was analysed for."""
        return {analyte for analyte, _ in self.rows}


def sampled(connection: duckdb.DuckDBPyConnection, *, with_analytes: bool) -> list[Sampled]:
    """The field samples of the temporary table ``known`` (duplicates and quality control left out).

    Without ``with_analytes`` one row a sample is fetched, however many results it has.
    """
    asked = FIELD_SAMPLES.format(analysed="analyte, method" if with_analytes else "'', ''")
    found: dict[tuple[str, str, str, Decimal | None], Sampled] = {}
    for location, sample, medium, top, bottom, unit, analyte, method in connection.execute(asked).fetchall():
        deepest = bottom if bottom is not None else top
        depth = deepest * FEET_IN[unit] if deepest is not None and unit in FEET_IN else None
        item = found.setdefault((location, sample, medium, depth), Sampled(location, sample, medium, depth))
        item.rows.add((analyte, method))
    return list(found.values())


@dataclass(frozen=True)
class Place:
    """A location of the site file with the samples that came from it."""

    location: Location
    samples: tuple[Sampled, ...]

    def of(self, media: Sequence[str]) -> list[Sampled]:
        """Its samples of some media."""
        return [item for item in self.samples if item.medium in media]

    @property
    def depth_ft(self) -> Decimal | None:
        """The depth stated in the site file, else the deepest sample's."""
        if self.location.depth_ft is not None:
            return self.location.depth_ft
        return max((item.depth_ft for item in self.samples if item.depth_ft is not None), default=None)


def places(site: SiteFile, samples: Sequence[Sampled]) -> list[Place]:
    """Each location with its samples; a sample belongs where its location or its own number is the location's id."""
    named: dict[str, list[Sampled]] = {}
    for item in samples:
        for name in {item.location, item.sample}:
            named.setdefault(name, []).append(item)
    return [Place(one, tuple(named.get(one.id, ()))) for one in site.location]
