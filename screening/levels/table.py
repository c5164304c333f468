"""The rows of one version of a level table, read exactly as printed."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from screening.levels.bars import Bar, bar
from screening.levels.facts import SIGNS, Condition, LevelTable, Wording, listed_name, parse_facts
from screening.levels.figures import Kind, read_figure
from screening.levels.rules import TRANSCRIPTIONS, Rounding
from screening.levels.shape import BrokenTable, day
from screening.vocabulary.units import SOLID_MEDIA, Unit, read_unit

__all__ = ["COLUMNS", "OPTIONAL", "Condition", "LevelRow", "LevelTable", "Version", "Wording", "parse_facts", "parse_version"]

COLUMNS = ("analyte", "cas", "medium", "level", "unit")
DIGITS = 38
"""The digits of an amount in the store, half of them on either side of the point."""
OPTIONAL = ("fraction", "criteria", "comparison", "basis", "note", "citation", "transcription", "source")


@dataclass(frozen=True)
class LevelRow:
    """One row of law. ``normal_value`` is in mg/kg or ug/L; ``printed`` keeps the figure as the rule prints it.

    ``criteria`` are the figures from which the rule says it made the level, 'name=figure' parted by semicolons.
    ``bar`` (normal unit) is where values begin to exceed, ``low_bar`` where they begin to lie in a range.
    """

    number: int
    analyte: str
    printed_analyte: str
    cas: str
    medium: str
    printed: str
    kind: Kind
    value: Decimal | None
    upper: Decimal | None
    unit: str
    normal_value: Decimal | None
    normal_upper: Decimal | None
    normal_unit: str
    conditions: Mapping[str, str]
    comparison: str
    basis: str
    fraction: str
    criteria: str
    note: str
    citation: str
    transcription: str
    source: str
    rounding: Rounding
    bar: Bar | None
    low_bar: Bar | None


@dataclass(frozen=True)
class Version:
    """The rows in force from ``effective`` to ``until`` (None: no end known), and the text they were read from.

    ``sha256`` covers the table's name and facts as well as the rows, but not the other versions.
    """

    table: str
    effective: date
    effective_text: str
    until: date | None
    sha256: str
    text: str
    rows: tuple[LevelRow, ...]

    def is_named_by(self, sha256: str) -> bool:
        """Whether a hash is that of this version; stores of the first program hashed the rows alone."""
        return sha256 in (self.sha256, hashlib.sha256(self.text.encode()).hexdigest())

    @property
    def recalled(self) -> bool:
        """Whether every row is from memory."""
        return all(row.transcription == "memory" for row in self.rows)


def parse_version(table: LevelTable, effective: str, text: str, file: str) -> Version:
    """The rows of one version. Raises `BrokenTable` naming file, row and column."""
    until = table.spans.get(effective, ("", None))
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    try:
        headings, given = reader.fieldnames or [], list(reader)
    except csv.Error as error:
        raise BrokenTable(f"{file}: cannot be read as csv ({error}); is a quotation mark left open?") from error
    for column in COLUMNS:
        if column not in headings:
            raise BrokenTable(f"{file}: column '{column}' is missing; a level csv has {', '.join(COLUMNS)} and more")
    keys = [name for name in headings if name and name not in COLUMNS and name not in OPTIONAL]
    for key in keys:
        if key not in table.conditions:
            raise BrokenTable(f"{file}: column '{key}' is no condition of table.toml; add [conditions.{key}] or rename it")
    rows = [_row(table, raw, number, keys, file) for number, raw in enumerate(given, start=2) if any(raw.values())]
    digest = hashlib.sha256("\0".join((table.name, effective, table.digest, text)).encode()).hexdigest()
    return Version(table.name, day(effective, file, "the version's day"), until[0], until[1], digest, text, tuple(rows))


def _row(table: LevelTable, raw: Mapping[str, str | None], number: int, keys: list[str], file: str) -> LevelRow:
    cell = {name: (raw.get(name) or "").strip() for name in (*COLUMNS, *OPTIONAL, *keys)}
    at = f"{file}, row {number}"
    if cell["medium"] not in table.media:
        raise BrokenTable(f"{at}, column medium: {cell['medium']!r} is none of the table's media {', '.join(table.media)}")
    figure = read_figure(cell["level"], table.words, table.number_style)
    if figure is None:
        raise BrokenTable(f"{at}, column level: {cell['level']!r} is no number, range or known word; explain it in [words]")
    if not all(map(_can_be_kept, (figure.value, figure.upper))):
        raise BrokenTable(
            f"{at}, column level: a number of more than {DIGITS} digits is no level that can be kept; is it one number?"
        )
    unit = read_unit(cell["unit"], cell["medium"])
    wanted = "mg/kg" if cell["medium"] in SOLID_MEDIA else "ug/L"
    if unit.problem or unit.unit != wanted:
        problem = unit.problem or f"{cell['unit']} is no concentration in {cell['medium'].replace('_', ' ')}"
        raise BrokenTable(f"{at}, column unit: {problem}; write {wanted} or the like")
    comparison = cell["comparison"] or table.comparison
    if comparison not in SIGNS:
        raise BrokenTable(f"{at}, column comparison: {comparison!r}; write above or at_or_above")
    if figure.below and comparison != "at_or_above":
        raise BrokenTable(f"{at}, column comparison: a level printed {cell['level']!r} is met below it; write at_or_above")
    transcription = cell["transcription"] or "memory"
    if transcription not in TRANSCRIPTIONS:
        raise BrokenTable(f"{at}, column transcription: {transcription!r}; write one of {', '.join(TRANSCRIPTIONS)}")
    conditions = {key: cell[key] for key in keys if cell[key]}
    for key, value in conditions.items():
        if value not in table.conditions[key].values:
            allowed = ", ".join(table.conditions[key].values)
            raise BrokenTable(f"{at}, column {key}: {value!r} is none of {allowed}")
    analyte = table.names.get(cell["analyte"]) or listed_name(cell["analyte"], cell["cas"], at)
    rounding = table.rounding if not table.rounded or analyte in table.rounded else "none"
    counts = comparison == "at_or_above"
    bars = [
        None if end is None else _normal(bar(end, counts, rounding), unit)
        for end in (figure.value if figure.upper is None else figure.upper, figure.value)
    ]
    return LevelRow(
        number, analyte, cell["analyte"], cell["cas"], cell["medium"], cell["level"],
        figure.kind, figure.value, figure.upper, cell["unit"],
        None if figure.value is None else unit.convert(figure.value),
        None if figure.upper is None else unit.convert(figure.upper), unit.unit, conditions, comparison,
        cell["basis"] or unit.basis or table.basis, cell["fraction"], cell["criteria"], cell["note"], cell["citation"],
        transcription, cell["source"], rounding, bars[0], bars[1],
    )  # fmt: skip


def _can_be_kept(end: Decimal | None) -> bool:
    return end is None or (len(end.as_tuple().digits) <= DIGITS and abs(end.adjusted()) <= DIGITS // 2)


def _normal(printed: Bar, unit: Unit) -> Bar:
    return Bar(unit.convert(printed.amount), printed.counts)
