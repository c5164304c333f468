"""One level table: the facts of its table.toml and the rows of each version, read exactly as printed."""

from __future__ import annotations

import csv
import hashlib
import io
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any, Literal

from screening.levels.figures import Kind, read_figure
from screening.levels.shape import BrokenTable, Key, day, fit, texts
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.units import read_unit

COLUMNS = ("analyte", "cas", "medium", "level", "unit")
OPTIONAL = ("fraction", "comparison", "basis", "note", "citation", "transcription", "source")
MEDIA = ("soil", "groundwater", "sediment", "surface_water", "other_water")
TRANSCRIPTIONS = ("read", "read_twice", "secondhand", "memory")
SIGNS = ("above", "at_or_above")
WORDS: Mapping[str, Kind] = {"NL": "no_level", "no level": "no_level", "TBD": "unavailable", "to be set": "unavailable"}

_TOP = {
    "title": Key(str, True), "issuing_body": Key(str, True), "citation": Key(str, True), "media": Key(list, True),
    "stage": Key(str, True), "comparison": Key(str, True, SIGNS), "comparison_status": Key(str, True),
    "rounding": Key(str, False, ("none",)), "basis": Key(str, False, ("dry", "as_received")), "basis_status": Key(str),
    "notes": Key(list), "incomplete": Key(list), "unavailable": Key(list), "versions": Key(dict, True),
    "conditions": Key(dict), "sums": Key(list), "words": Key(dict),
}  # fmt: skip
_VERSION = {"effective": Key(str, True), "until": Key(date), "until_status": Key(str)}
_CONDITION = {
    "from": Key(str, True, ("site", "sample", "results")), "values": Key(list, True), "title": Key(str, True),
    "when_unknown": Key(str, False, ("strictest", "open")), "analyte": Key(str), "limit_at_most": Key(str),
    "default_wording": Key(str), "wordings": Key(dict), "source": Key(str),
}  # fmt: skip
_WORDING = {"sum": Key(list), "of": Key(str), "share_below": Key(str), "source": Key(str, True)}
_GAP = {"scope": Key(str, True), "text": Key(str, True)}
_SUM = {"analyte": Key(str, True), "members": Key(list, True), "note": Key(str)}


@dataclass(frozen=True)
class Wording:
    """One wording of a condition that results decide; without a share test the analyte alone decides."""

    parts: tuple[str, ...]
    of: str
    share_below: Decimal | None
    source: str


@dataclass(frozen=True)
class Condition:
    """A fact that picks rows: where it comes from, its values, and what holds where it is unknown."""

    key: str
    origin: Literal["site", "sample", "results"]
    values: tuple[str, ...]
    title: str
    when_unknown: Literal["strictest", "open"]
    analyte: str | None = None
    limit_at_most: Decimal | None = None
    default_wording: str = ""
    wordings: Mapping[str, Wording] = field(default_factory=dict)


@dataclass(frozen=True)
class Gap:
    """What of the rule was not available when the table was transcribed."""

    scope: str
    text: str


@dataclass(frozen=True)
class LevelRow:
    """One row of law. ``normal_value`` is in mg/kg or ug/L; ``printed`` keeps the figure as the rule prints it."""

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
    note: str
    citation: str
    transcription: str
    source: str


@dataclass(frozen=True)
class Version:
    """The rows in force from ``effective`` to ``until`` (None: no end known), and the text they were read from."""

    table: str
    effective: date
    effective_text: str
    until: date | None
    sha256: str
    text: str
    rows: tuple[LevelRow, ...]


@dataclass(frozen=True)
class LevelTable:
    """The facts of a table that hold for all its versions."""

    name: str
    title: str
    issuing_body: str
    citation: str
    media: tuple[str, ...]
    stage: str
    comparison: str
    comparison_status: str
    basis: str
    notes: tuple[str, ...]
    incomplete: tuple[Gap, ...]
    unavailable: tuple[str, ...]
    conditions: Mapping[str, Condition]
    sums: tuple[tuple[str, tuple[str, ...]], ...]
    words: Mapping[str, Kind]
    spans: Mapping[str, tuple[str, date | None]]


def parse_facts(name: str, text: str, file: str) -> LevelTable:
    """The facts of a table.toml. Raises `BrokenTable` naming file and key."""
    try:
        found = fit(tomllib.loads(text, parse_float=Decimal), _TOP, file)
    except tomllib.TOMLDecodeError as error:
        raise BrokenTable(f"{file}: is no TOML ({error}); mend the line") from error
    media = texts(found["media"], file, "media")
    for medium in media:
        if medium not in MEDIA:
            raise BrokenTable(f"{file}: medium {medium!r} is unknown; write one of {', '.join(MEDIA)}")
    spans = {}
    for effective, facts in found["versions"].items():
        day(effective, file, "a version's day")
        fit(facts, _VERSION, file, f"versions.{effective}")
        spans[effective] = (facts["effective"], facts.get("until"))
    gaps = [fit(gap, _GAP, file, "incomplete") for gap in found.get("incomplete", [])]
    sums = [fit(one, _SUM, file, "sums") for one in found.get("sums", [])]
    return LevelTable(
        name=name, title=found["title"], issuing_body=found["issuing_body"], citation=found["citation"], media=media,
        stage=found["stage"], comparison=found["comparison"], comparison_status=found["comparison_status"],
        basis=found.get("basis", "dry"), notes=texts(found.get("notes", []), file, "notes"),
        incomplete=tuple(Gap(**gap) for gap in gaps),
        unavailable=tuple(_named(one, "", file) for one in texts(found.get("unavailable", []), file, "unavailable")),
        conditions={key: _condition(key, facts, file) for key, facts in found.get("conditions", {}).items()},
        sums=tuple((_named(one["analyte"], "", file), tuple(_named(part, "", file) for part in one["members"])) for one in sums),
        words={**WORDS, **found.get("words", {})}, spans=spans,
    )  # fmt: skip


def _condition(key: str, facts: Any, file: str) -> Condition:
    where = f"conditions.{key}"
    fit(facts, _CONDITION, file, where)
    limit = facts.get("limit_at_most")
    amount = None
    if limit is not None:
        number, _, unit = limit.partition(" ")
        amount = read_unit(unit, "groundwater").convert(Decimal(number))
    wordings = {}
    for name, one in facts.get("wordings", {}).items():
        fit(one, _WORDING, file, f"{where}.wordings.{name}")
        wordings[name] = Wording(
            tuple(_named(part, "", file) for part in one.get("sum", [])),
            _named(one["of"], "", file) if "of" in one else "",
            Decimal(one["share_below"]) if "share_below" in one else None,
            one["source"],
        )
    return Condition(
        key, facts["from"], texts(facts["values"], file, f"{where}.values"), facts["title"],
        facts.get("when_unknown", "strictest" if facts["from"] == "site" else "open"),
        _named(facts["analyte"], "", file) if "analyte" in facts else None, amount, facts.get("default_wording", ""), wordings,
    )  # fmt: skip


@lru_cache(maxsize=1)
def _vocabulary() -> Vocabulary:
    return Vocabulary.load()


def _named(name: str, cas: str, file: str, row: int | None = None) -> str:
    found = _vocabulary().identify(name, cas)
    if found.analyte is None:
        at = f"{file}, row {row}" if row else file
        hint = f" (nearest: {found.proposal})" if found.proposal else ""
        raise BrokenTable(f"{at}: {found.problem}{hint}; use a listed name")
    return found.analyte


def parse_version(table: LevelTable, effective: str, text: str, file: str) -> Version:
    """The rows of one version. Raises `BrokenTable` naming file, row and column."""
    until = table.spans.get(effective, ("", None))
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    headings = reader.fieldnames or []
    for column in COLUMNS:
        if column not in headings:
            raise BrokenTable(f"{file}: column '{column}' is missing; a level csv has {', '.join(COLUMNS)} and more")
    keys = [name for name in headings if name and name not in COLUMNS and name not in OPTIONAL]
    for key in keys:
        if key not in table.conditions:
            raise BrokenTable(f"{file}: column '{key}' is no condition of table.toml; add [conditions.{key}] or rename it")
    rows = [_row(table, raw, number, keys, file) for number, raw in enumerate(reader, start=2) if any(raw.values())]
    return Version(
        table.name, day(effective, file, "the version's day"), until[0], until[1],
        hashlib.sha256(text.encode()).hexdigest(), text, tuple(rows),
    )  # fmt: skip


def _row(table: LevelTable, raw: Mapping[str, str | None], number: int, keys: list[str], file: str) -> LevelRow:
    cell = {name: (raw.get(name) or "").strip() for name in (*COLUMNS, *OPTIONAL, *keys)}
    at = f"{file}, row {number}"
    if cell["medium"] not in table.media:
        raise BrokenTable(f"{at}, column medium: {cell['medium']!r} is none of the table's media {', '.join(table.media)}")
    figure = read_figure(cell["level"], table.words)
    if figure is None:
        raise BrokenTable(f"{at}, column level: {cell['level']!r} is no number, range or known word; explain it in [words]")
    unit = read_unit(cell["unit"], cell["medium"])
    if unit.problem or unit.unit not in ("mg/kg", "ug/L"):
        raise BrokenTable(
            f"{at}, column unit: {unit.problem or cell['unit'] + ' is no concentration'}; write mg/kg, ug/L or the like"
        )
    comparison = cell["comparison"] or table.comparison
    if comparison not in SIGNS:
        raise BrokenTable(f"{at}, column comparison: {comparison!r}; write above or at_or_above")
    transcription = cell["transcription"] or "memory"
    if transcription not in TRANSCRIPTIONS:
        raise BrokenTable(f"{at}, column transcription: {transcription!r}; write one of {', '.join(TRANSCRIPTIONS)}")
    conditions = {key: cell[key] for key in keys if cell[key]}
    for key, value in conditions.items():
        if value not in table.conditions[key].values:
            allowed = ", ".join(table.conditions[key].values)
            raise BrokenTable(f"{at}, column {key}: {value!r} is none of {allowed}")
    return LevelRow(
        number, _named(cell["analyte"], cell["cas"], file, number), cell["analyte"], cell["cas"], cell["medium"],
        cell["level"], figure.kind, figure.value, figure.upper, cell["unit"],
        None if figure.value is None else unit.convert(figure.value),
        None if figure.upper is None else unit.convert(figure.upper), unit.unit, conditions, comparison,
        cell["basis"] or unit.basis or table.basis, cell["fraction"], cell["note"], cell["citation"], transcription,
        cell["source"],
    )  # fmt: skip
