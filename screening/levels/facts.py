"""The facts of a level table that hold for all its versions, read from its table.toml."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any, Literal, cast, get_args

from screening.files import parse_toml
from screening.levels import rules
from screening.levels.figures import Kind, Style
from screening.levels.rules import Background, Equivalents, PhaseIn, Ratio, Rounding, StandIn, Statistic, Tolerance
from screening.levels.shape import BrokenTable, Key, day, fit, number, texts
from screening.vocabulary.analytes import Identity, Vocabulary
from screening.vocabulary.units import Unit, read_unit

MEDIA = ("soil", "groundwater", "sediment", "surface_water", "other_water")
SIGNS = ("above", "at_or_above")
DEPTHS = ("depth_top", "depth_bottom", "depth")
"""Fields of a sample that may pick rows; 'depth' is the whole interval."""
PRESENCE = ("detected", "not_detected")
"""What a result says of an analyte whose amount does not matter."""
WORDS: Mapping[str, Kind] = {"NL": "no_level", "no level": "no_level", "TBD": "unavailable", "to be set": "unavailable"}
"""Texts in the place of a figure that every table may print; [words] explains more."""

_TOP = {
    "title": Key(str, True), "issuing_body": Key(str, True), "citation": Key(str, True), "media": Key(list, True),
    "stage": Key(str, True), "comparison": Key(str, True, SIGNS), "comparison_status": Key(str, True),
    "rounding": Key(str, False, get_args(Rounding)), "rounding_status": Key(str), "rounded": Key(list), "basis": Key(str, False, ("dry", "as_received")), "basis_status": Key(str),
    "notes": Key(list), "incomplete": Key(list), "unavailable": Key(list), "versions": Key(dict, True),
    "conditions": Key(dict), "sums": Key(list), "words": Key(dict), "names": Key(dict), "confirmed": Key(list),
    "number_style": Key(str, False, get_args(Style)), "phase_in": Key(dict), "statistics": Key(list), "backgrounds": Key(list),
    "equivalents": Key(list), "ratio": Key(dict), "tolerance": Key(dict), "stand_ins": Key(list),
    "unlisted": Key(str, False, ("no_level", "unavailable")), "version_by": Key(str), "version_by_status": Key(str),
}  # fmt: skip
_VERSION = {"effective": Key(str, True), "until": Key(date), "until_status": Key(str)}
_CONDITION = {
    "from": Key(str, True, ("site", "sample", "results")), "values": Key(list, True), "title": Key(str, True),
    "when_unknown": Key(str, False, ("strictest", "open")), "analyte": Key(str), "limit_at_most": Key(str),
    "default_wording": Key(str), "wordings": Key(dict), "source": Key(str), "field": Key(str), "unit": Key(str),
    "ranges": Key(dict), "apart": Key(bool), "together": Key(bool),
}  # fmt: skip
_WORDING = {"sum": Key(list), "of": Key(str), "share_below": Key(str), "source": Key(str, True)}
_RANGE = {"from": Key(str), "above": Key(str), "to": Key(str), "below": Key(str)}
_GAP = {"scope": Key(str, True), "text": Key(str, True)}
_SUM = {"analyte": Key(str, True), "members": Key(list, True), "note": Key(str)}
_CONFIRMED = {"analyte": Key(str, True), "medium": Key(str), "text": Key(str, True)}


@dataclass(frozen=True)
class Wording:
    """One wording of a condition that results decide; without a share test the analyte alone decides."""

    parts: tuple[str, ...]
    of: str
    share_below: Decimal | None
    source: str


@dataclass(frozen=True)
class Range:
    """Where one value of a measured condition begins and ends; an end that is None is open."""

    low: Decimal | None
    low_included: bool
    high: Decimal | None
    high_included: bool

    def holds(self, amount: Decimal) -> bool:
        """Whether the amount lies in the range."""
        after = self.low is None or amount > self.low or (self.low_included and amount == self.low)
        before = self.high is None or amount < self.high or (self.high_included and amount == self.high)
        return after and before

    def touches(self, low: Decimal, high: Decimal) -> bool:
        """Whether any amount from ``low`` to ``high`` lies in the range."""
        reaches = self.low is None or high > self.low or (self.low_included and high == self.low)
        begins = self.high is None or low < self.high or (self.high_included and low == self.high)
        return reaches and begins

    @property
    def empty(self) -> bool:
        """Whether no amount lies in it."""
        if self.low is None or self.high is None:
            return False
        return self.low > self.high or (self.low == self.high and not (self.low_included and self.high_included))


@dataclass(frozen=True)
class Condition:
    """A fact that picks rows: where it comes from, its values, and what holds where it is unknown.

    ``apart``: the levels of its values may lie far apart (pathways), so that their distance shows no slip of copying.
    ``together``: every value applies unless the site states which do; the strictest level governs.
    """

    key: str
    origin: Literal["site", "sample", "results"]
    values: tuple[str, ...]
    title: str
    when_unknown: Literal["strictest", "open"]
    analyte: str | None = None
    limit_at_most: Decimal | None = None
    limit_unit: str = ""
    default_wording: str = ""
    wordings: Mapping[str, Wording] = field(default_factory=dict)
    measured: str = ""
    unit: str = ""
    ranges: Mapping[str, Range] = field(default_factory=dict)
    apart: bool = False
    together: bool = False


@dataclass(frozen=True)
class Gap:
    """What of the rule was not available when the table was transcribed."""

    scope: str
    text: str


@dataclass(frozen=True)
class Confirmed:
    """A figure that looked wrong and was read again; ``medium`` is empty where all media are meant."""

    analyte: str
    medium: str
    text: str


@dataclass(frozen=True)
class LevelTable:
    """The facts of a table. ``digest`` changes with every fact but the list of versions.

    ``rounded`` are the analytes whose values are rounded, all where it is empty. ``unlisted`` says what a substance
    without a row means: no level, or (where only a part was read) a level that is not available.
    """

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
    names: Mapping[str, str]
    number_style: Style
    confirmed: tuple[Confirmed, ...]
    phase_in: PhaseIn | None
    statistics: tuple[Statistic, ...]
    backgrounds: tuple[Background, ...]
    equivalents: tuple[Equivalents, ...]
    ratio: Ratio | None
    rounding: Rounding
    rounded: tuple[str, ...]
    tolerance: Tolerance | None
    stand_ins: tuple[StandIn, ...]
    unlisted: Literal["no_level", "unavailable"]
    version_by: str
    digest: str


@lru_cache(maxsize=1)
def _vocabulary() -> Vocabulary:
    return Vocabulary.load()


@lru_cache(maxsize=10_000)  # a table names most of its substances once a medium
def _identified(name: str, cas: str) -> Identity:
    return _vocabulary().identify(name, cas)


def listed_name(name: str, cas: str, at: str) -> str:
    """The vocabulary's name of an analyte. Raises `BrokenTable`, with the nearest names, where there is none."""
    found = _identified(name, cas)
    if found.analyte is None:
        hint = f" (nearest: {found.proposal})" if found.proposal else ""
        raise BrokenTable(f"{at}: {found.problem}{hint}; use a listed name, or explain the name in [names]")
    return found.analyte


def parse_facts(name: str, text: str, file: str) -> LevelTable:
    """The facts of a table.toml. Raises `BrokenTable` naming file and key."""
    try:
        found = fit(parse_toml(text), _TOP, file)
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
    return LevelTable(
        name=name, title=found["title"], issuing_body=found["issuing_body"], citation=found["citation"], media=media,
        stage=found["stage"], comparison=found["comparison"], comparison_status=found["comparison_status"],
        basis=found.get("basis", "dry"), notes=texts(found.get("notes", []), file, "notes"),
        incomplete=tuple(Gap(**gap) for gap in _each(found, "incomplete", _GAP, file)),
        unavailable=_listed(found.get("unavailable", []), file, "unavailable"),
        conditions={key: _condition(key, facts, file) for key, facts in found.get("conditions", {}).items()},
        sums=tuple(
            (listed_name(one["analyte"], "", file), _listed(one["members"], file, "members"))
            for one in _each(found, "sums", _SUM, file)
        ),
        words={**WORDS, **_words(found.get("words", {}), file)}, spans=spans,
        names={printed: listed_name(meant, "", f"{file}, [names]") for printed, meant in found.get("names", {}).items()},
        number_style=cast(Style, found.get("number_style", "1,234.5")),
        confirmed=tuple(
            Confirmed(listed_name(one["analyte"], "", file), one.get("medium", ""), one["text"])
            for one in _each(found, "confirmed", _CONFIRMED, file)
        ),
        phase_in=rules.read_phase_in(found.get("phase_in"), file),
        statistics=rules.read_statistics(found.get("statistics", []), file),
        backgrounds=rules.read_backgrounds(found.get("backgrounds", []), file),
        equivalents=rules.read_equivalents(found.get("equivalents", []), file, lambda printed, at: listed_name(printed, "", at)),
        ratio=rules.read_ratio(found.get("ratio"), file),
        rounding=cast(Rounding, found.get("rounding", "none")),
        rounded=_listed(found.get("rounded", []), file, "rounded"), tolerance=rules.read_tolerance(found.get("tolerance"), file),
        stand_ins=rules.read_stand_ins(found.get("stand_ins", []), file),
        unlisted=cast(Literal["no_level", "unavailable"], found.get("unlisted", "no_level")),
        version_by=found.get("version_by", ""), digest=_digest(found),
    )  # fmt: skip


def _digest(found: Mapping[str, Any]) -> str:
    kept = {key: value for key, value in found.items() if key != "versions"}
    return hashlib.sha256(json.dumps(kept, sort_keys=True, ensure_ascii=False, default=str).encode()).hexdigest()


def _each(found: Mapping[str, Any], name: str, keys: Mapping[str, Key], file: str) -> list[dict[str, Any]]:
    return [fit(one, keys, file, name) for one in found.get(name, [])]


def _listed(found: Any, file: str, name: str) -> tuple[str, ...]:
    return tuple(listed_name(one, "", f"{file}, {name}") for one in texts(found, file, name))


def _words(found: Mapping[str, Any], file: str) -> Mapping[str, Kind]:
    for printed, kind in found.items():
        if kind not in ("no_level", "unavailable", "words"):
            raise BrokenTable(f"{file}: word {printed!r} in [words] is {kind!r}; write no_level, unavailable or words")
    return found


def _condition(key: str, facts: Any, file: str) -> Condition:
    where = f"conditions.{key}"
    fit(facts, _CONDITION, file, where)
    values = texts(facts["values"], file, f"{where}.values")
    at = f"{file}: [{where}]"
    amount, limit_unit = None, ""
    if "limit_at_most" in facts:
        greatest, _, of_limit = facts["limit_at_most"].partition(" ")
        read = _unit(of_limit, f"{at} limit_at_most")
        amount, limit_unit = read.convert(number(greatest, f"{at} limit_at_most")), read.unit or ""
    wordings = {}
    for name, one in facts.get("wordings", {}).items():
        fit(one, _WORDING, file, f"{where}.wordings.{name}")
        wordings[name] = Wording(
            _listed(one.get("sum", []), file, f"{where}.wordings.{name}"),
            listed_name(one["of"], "", file) if "of" in one else "",
            Decimal(one["share_below"]) if "share_below" in one else None,
            one["source"],
        )
    ranges = {}
    for value, ends in facts.get("ranges", {}).items():
        if value not in values:
            raise BrokenTable(f"{file}: range {value!r} in [{where}] is none of its values {', '.join(values)}")
        ranges[value] = _range(fit(ends, _RANGE, file, f"{where}.ranges.{value}"), f"{at} range {value!r}")
    measured, unit = facts.get("field", ""), facts.get("unit", "")
    if measured and (measured not in DEPTHS or unit not in ("ft", "m")):
        raise BrokenTable(f"{at} takes field {measured!r} in {unit!r}; write one of {', '.join(DEPTHS)} in ft or m")
    lacking = [value for value in values if value not in ranges]
    if (measured or ranges) and lacking:
        raise BrokenTable(f"{at} has no range for {', '.join(lacking)}; what lies there would have no level")
    if facts["from"] == "results" and not ranges and not {*values} <= {*PRESENCE}:
        raise BrokenTable(f"{at}: results say {' or '.join(PRESENCE)}, not {', '.join(values)}; or give it [{where}.ranges]")
    if facts["from"] == "results" and unit:
        read = _unit(unit, f"{at} unit")
        unit, ranges = read.unit or "", {value: _in_unit(span, read) for value, span in ranges.items()}
    return Condition(
        key, facts["from"], values, facts["title"],
        facts.get("when_unknown", "strictest" if facts["from"] == "site" else "open"),
        listed_name(facts["analyte"], "", file) if "analyte" in facts else None, amount, limit_unit,
        facts.get("default_wording", ""), wordings, measured, unit, ranges,
        facts.get("apart", False), facts.get("together", False),
    )  # fmt: skip


def _range(ends: Mapping[str, str], at: str) -> Range:
    for one, other in (("from", "above"), ("to", "below")):
        if one in ends and other in ends:
            raise BrokenTable(f"{at} has both {one!r} and {other!r}; write one of them")
    low, high = ends.get("from", ends.get("above")), ends.get("to", ends.get("below"))
    span = Range(
        None if low is None else number(low, at), "from" in ends, None if high is None else number(high, at), "to" in ends
    )
    if span.empty:
        raise BrokenTable(f"{at} from {low} to {high} holds nothing; are its ends exchanged?")
    return span


def _in_unit(span: Range, unit: Unit) -> Range:
    low, high = (None if end is None else unit.convert(end) for end in (span.low, span.high))
    return Range(low, span.low_included, high, span.high_included)


def _unit(text: str, at: str) -> Unit:
    """A unit that means the same in every medium."""
    read = read_unit(text, None)
    if read.unit is None:
        raise BrokenTable(f"{at}: {read.problem}; write mg/kg, ug/L or the like")
    return read
