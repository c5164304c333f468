"""The choices one deliverable is written by, drawn once and kept for the whole file."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import TypeVar

from cells import Cell, Writer
from facts import ANALYTES, LEVEL, UNIT, Reading, Truth, readings
from words import UNIT_WORDS, Dialect

TIMES = {"mg/kg": 1, "ug/kg": 1000, "ug/L": 1, "mg/L": Decimal("0.001")}
DAY = date(2024, 5, 14)
T = TypeVar("T")


@dataclass
class Plan:
    """Everything drawn for one file; `truth` grows as shapes write readings."""

    rng: random.Random
    dialect: Dialect
    spanish: bool
    shape: str
    unit_place: str
    noise: frozenset[str]
    writer: Writer
    book: bool
    latin: bool
    real_dates: bool
    uniform: bool
    one_row: bool
    shout: bool
    well_only: bool
    mixed_units: bool
    wide_limit: str | None
    lower: bool
    matrix_row: bool
    dry_in_file: bool
    estimates: bool
    decimals_needed: bool
    truth: list[Truth] = field(default_factory=list)
    settings: list[str] = field(default_factory=list)
    _kept: dict[str, object] = field(default_factory=dict)

    def once(self, key: str, options: tuple[T, ...]) -> T:
        """One of the options, the same whenever the file asks again."""
        if key not in self._kept:
            self._kept[key] = self.rng.choice(options)
        return self._kept[key]  # type: ignore[return-value]

    def heading(self, kind: str) -> str:
        """The heading word of a column, in the file's one manner of writing headings."""
        text = self.once(kind, getattr(self.dialect, kind))
        if isinstance(text, tuple):
            text = text[0]
        return self.manner(text)

    def manner(self, text: str) -> str:
        """A heading in the file's one manner of writing headings."""
        text = text.upper() if self.shout else text
        return text.replace(" ", "\n") if self.book and "wrapped headings" in self.noise else text

    def sample_heading(self, medium: str) -> str:
        """The heading over the samples; a groundwater table may only say which well."""
        return self.heading("well" if self.well_only and medium == "groundwater" else "sample")

    @property
    def limit_field(self) -> str:
        """The field of the normal form the limit column stands for."""
        return self.once("limit", self.dialect.limit)[1]

    def name(self, analyte: str) -> str:
        """The file's name for an analyte."""
        return self.once("name " + analyte, self.dialect.called(analyte))

    def unit(self, medium: str, analyte: str | None = None) -> tuple[str, Decimal]:
        """The unit as the file spells it, and what a figure in the normal unit is multiplied by."""
        base = UNIT[medium]
        other = base if self.decimals_needed and medium == "soil" else {"mg/kg": "ug/kg", "ug/L": "mg/L"}[base]
        unit = self.once("unit " + medium, (base, base, base, other))
        if self.mixed_units and analyte == "Gasoline range organics" and medium == "groundwater":
            unit = "mg/L" if unit == "ug/L" else "ug/L"
        spellings = [unit]
        if unit.startswith("u"):
            spellings += ["µ" + unit[1:]] * 3 + ([] if self.latin else ["μ" + unit[1:]])
        if unit.endswith("/L"):
            spellings += [text[:-1] + "l" for text in spellings]
        if unit == "mg/kg":
            spellings += ["mg/Kg", "MG/KG"]
        spelling = self.once("spelling " + unit, tuple(spellings))
        if self.dry_in_file and medium == "soil" and self.unit_place == "own column" and "basis column" not in self.noise:
            spelling += self.once("dry", (" dry", "-dry", " dw"))
        return spelling, Decimal(TIMES[unit])

    def statement(self, medium: str) -> str:
        """One line that states the unit of the whole table."""
        spelling, times = self.unit(medium)
        plain = next(unit for unit in TIMES if TIMES[unit] == times and unit.endswith(UNIT[medium][-2:]))
        return self.once("stated", self.dialect.stated).format(unit=spelling, words=UNIT_WORDS[plain][self.spanish])

    def title(self, medium: str) -> str:
        """The title of a table of one medium."""
        return self.once("title " + medium, self.dialect.titles[medium])

    def matrix(self, medium: str) -> str:
        """The file's word for the medium; a bare "water" is settled beside the file."""
        word = self.once("matrix " + medium, self.dialect.matrices[medium])
        setting = f"medium:{word}={medium}"
        if word in ("Water", "Aqueous") and setting not in self.settings:
            self.settings.append(setting)
        return word

    def day(self) -> Cell:
        """The day of sampling, as a date cell or in the author's manner."""
        return DAY if self.real_dates else DAY.strftime(self.dialect.dates)

    def level(self, medium: str, analyte: str) -> Cell:
        """The level printed beside the results."""
        if analyte == self.once("no level", ANALYTES):
            return self.once("none", ("NE", "--", "n/a"))
        return self.writer.number_cell(Decimal(LEVEL[medium][ANALYTES.index(analyte)]) * self.unit(medium, analyte)[1])


@dataclass
class Block:
    """One table: a medium, its samples and analytes, and what each cell says."""

    plan: Plan
    medium: str
    places: tuple[int, ...] = (0, 1, 2, 3, 4, 5)

    def __post_init__(self) -> None:
        everything = readings(self.medium, self.plan.uniform)
        self.readings: dict[tuple[int, str], Reading] = {}
        for one in everything:
            if one.sample in self.places:
                hidden = one.estimated and not self.plan.estimates
                self.readings[one.sample, one.analyte] = replace(one, value=None, estimated=False) if hidden else one
        self.gaps = set(self.plan.rng.sample(sorted(self.readings), 2)) if "gaps" in self.plan.noise else set()

    def sample(self, place: int) -> str:
        """The sample's number in this file."""
        names = self.plan.dialect.soils if self.medium == "soil" else self.plan.dialect.waters
        return names[place]

    def _scaled(self, reading: Reading, number: Decimal) -> Decimal:
        return number * self.plan.unit(self.medium, reading.analyte)[1]

    def write(self, place: int, analyte: str, flagged: bool, limits: bool) -> tuple[Cell, str, list[Cell]]:
        """Value, flag and limit cells of one reading; what they state is added to the truth."""
        plan, reading = self.plan, self.readings[place, analyte]
        columns = [reading.reporting, reading.detection] if plan.lower else [reading.reporting]
        if (place, analyte) in self.gaps:
            return plan.once("gap", ("", "NA", "--", "NS")), "", ["" for _ in columns] if limits else []
        stated: tuple[tuple[str, Decimal], ...] = ()
        if limits:
            fields = (plan.limit_field, "detection_limit")
            stated = tuple(zip(fields, columns, strict=False))
        detected = reading.value is not None
        estimated = reading.estimated
        number = reading.value if reading.value is not None else reading.reporting
        plan.truth.append(Truth(self.sample(place), analyte, self.medium, detected, number, estimated, stated))
        scaled = self._scaled(reading, number)
        value, flag = plan.writer.detect(scaled, estimated, flagged) if detected else plan.writer.absent(scaled, flagged)
        return value, flag, [plan.writer.number_cell(self._scaled(reading, one)) for one in columns] if limits else []
