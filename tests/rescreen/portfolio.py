"""A made-up portfolio: sites with few results near their levels, and a table of which a new version comes into force.

Everything is invented and drawn with a fixed seed. A site is 'moved-…' where its table has a new version, else 'still-…'.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

OLD, NEW = "2015-01-01", "2025-07-01"
"""First days of the two versions of the table 'xx/moved'; 'xx/still' has the first only."""

ABOVE, AT = "above", "at_or_above"


@dataclass(frozen=True)
class Level:
    """What a version prints for an analyte: figure, unit, sign."""

    figure: str
    unit: str
    sign: str = ABOVE


@dataclass(frozen=True)
class Row:
    """A row of law in both versions; None where a version does not list it. ``soil_class`` is '' for water."""

    analyte: str
    medium: str
    soil_class: str
    old: Level | None
    new: Level | None


def _water(analyte: str, old: Level | None, new: Level | None) -> Row:
    return Row(analyte, "groundwater", "", old, new)


def _soil(analyte: str, old: tuple[str | None, str | None], new: tuple[str | None, str | None], sign: str = ABOVE) -> list[Row]:
    return [
        Row(analyte, "soil", soil_class, one and Level(one, "mg/kg"), two and Level(two, "mg/kg", sign))
        for soil_class, one, two in zip(("1", "2"), old, new, strict=True)
    ]


LAW = [
    _water("Benzene", Level("5", "ug/L"), Level("5", "ug/L")),
    _water("Toluene", Level("1,000", "ug/L"), Level("100", "ug/L")),  # ten-fold exactly
    _water("Ethylbenzene", Level("700", "ug/L"), Level("70.1", "ug/L")),  # not quite ten-fold, prints as 9.99
    _water("Naphthalene", Level("1.4", "ug/L"), Level("14", "ug/L")),  # looser
    _water("Methyl tert-butyl ether", None, Level("20", "ug/L")),  # appears
    _water("Trichloroethene", Level("5.0", "ug/L"), None),  # vanishes
    _water("Vinyl chloride", Level("1", "ug/L"), Level("0.035", "ug/L")),
    _water("Chrysene", Level("0.02", "mg/L"), Level("20", "ug/L")),  # the same in another unit
    _water("Pyrene", Level("50", "ug/L"), Level("50", "ug/L", AT)),  # another sign
    *_soil("Benzene", ("0.246", "0.437"), ("0.150", "0.437")),
    *_soil("Toluene", ("49.1", "82.0"), ("4.91", "820")),
    *_soil("Ethylbenzene", ("45.5", "80.1"), (None, "80.1")),  # vanishes for class 1
    *_soil("Naphthalene", (None, "39.8"), ("39.8", "3.98")),  # appears for class 1
    *_soil("Pyrene", ("150", "300"), ("150", "300"), AT),
]
UNLISTED = {"groundwater": "Fluorene", "soil": "Fluorene"}


@dataclass(frozen=True)
class Result:
    """One reported result; ``text`` is '0.40' or '<0.20'."""

    site: str
    sample: str
    medium: str
    analyte: str
    text: str
    unit: str


@dataclass(frozen=True)
class Portfolio:
    """Sites with their soil class, and all results."""

    classes: dict[str, str]
    results: list[Result]

    def of(self, site: str) -> list[Result]:
        """The results of a site."""
        return [one for one in self.results if one.site == site]


def make(moved: int, still: int, seed: int = 20250701) -> Portfolio:
    """So many sites of each sort. The sites of the still table are alike but for their names."""
    draw = random.Random(seed)
    classes = {f"moved-{number:03}": draw.choice("12") for number in range(moved)}
    results = [result for site, soil_class in classes.items() for result in _site(draw, site, soil_class)]
    for number in range(still):
        site = f"still-{number:03}"
        classes[site] = "1"
        results += [
            Result(site, f"{site}-W", "groundwater", "Benzene", "4.9", "ug/L"),
            Result(site, f"{site}-W", "groundwater", "Toluene", "0.31", "mg/L"),
            Result(site, f"{site}-S", "soil", "Benzene", "<0.3", "mg/kg"),
        ]
    return Portfolio(classes, results)


def _site(draw: random.Random, site: str, soil_class: str) -> Iterator[Result]:
    rows = [row for row in LAW if row.soil_class in ("", soil_class)]
    for row in draw.sample(rows, draw.randint(3, 6)):
        sample = f"{site}-{'W' if row.medium == 'groundwater' else 'S'}"
        text, unit = _reported(draw, row)
        yield Result(site, sample, row.medium, row.analyte, text, unit)
    medium = draw.choice(sorted(UNLISTED))
    yield Result(site, f"{site}-{'W' if medium == 'groundwater' else 'S'}", medium, UNLISTED[medium], "0.5", _normal(medium))


def _normal(medium: str) -> str:
    return "ug/L" if medium == "groundwater" else "mg/kg"


def _reported(draw: random.Random, row: Row) -> tuple[str, str]:
    """A value or limit at, just under or just over one of the levels, or anywhere between; sometimes in another unit."""
    ends = [_plain(level) for level in (row.old, row.new) if level]
    times = Decimal(draw.choice(["0.5", "0.99", "1", "1.01", "1.5", "3"]))
    amount = draw.choice([*(end * times for end in ends), (min(ends) + max(ends)) / 2])
    amount = Decimal(f"{amount:.4g}")
    missed = draw.random() < 0.3
    if missed and any(amount == end for end in ends):
        amount *= Decimal("0.9")  # a limit that equals a level is another question than the one put here
    unit, factor = draw.choice([(_normal(row.medium), 1), ({"groundwater": "mg/L", "soil": "ug/kg"}[row.medium], 0)])
    if not factor:
        amount = amount / 1000 if row.medium == "groundwater" else amount * 1000
    return f"{'<' if missed else ''}{amount.normalize():f}", unit


def _plain(level: Level) -> Decimal:
    """A level in ug/L or mg/kg."""
    number = Decimal(level.figure.replace(",", ""))
    return number * 1000 if level.unit == "mg/L" else number
