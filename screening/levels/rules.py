"""What a rule adds to its figures: phase-in, statistics, equivalents, tolerance, limits that may stand in for a level."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Literal, cast, get_args

from screening.levels.shape import BrokenTable, Key, fit, number, texts

TRANSCRIPTIONS = ("read", "read_twice", "secondhand", "memory")
Rounding = Literal["none", "last_place_half_up", "last_place_half_even", "figures_half_up", "figures_half_even"]
Nondetects = Literal["bounds", "zero", "half", "full"]
Limit = Literal["quantitation_limit", "detection_limit", "background"]
STATISTICS = ("upper_confidence_limit", "three_part", "three_quarters_and_ten_times", "mean", "spatial_mean")

_CITED = {"text": Key(str, True), "citation": Key(str, True), "transcription": Key(str, True, TRANSCRIPTIONS)}
_PHASE_IN = {**_CITED, "until": Key(date), "not_if_lowered_by": Key(str), "versions": Key(list)}
_STATISTIC = {**_CITED, "name": Key(str, True, STATISTICS), "media": Key(list), "minimum": Key(str)}
_BACKGROUND = {
    **_CITED, "kind": Key(str, True, ("natural", "area")), "lognormal_percentile": Key(str, True),
    "normal_percentile": Key(str, True), "times_median": Key(str, True), "minimum": Key(str, True), "media": Key(list),
}  # fmt: skip
_EQUIVALENT = {**_CITED, "name": Key(str, True), "factors": Key(dict, True), "nondetects": Key(str, False, get_args(Nondetects))}
_TOLERANCE = {**_CITED, "over": Key(str, True), "samples": Key(str, True), "media": Key(list)}
_STAND_IN = {
    **_CITED, "limit": Key(str, True, get_args(Limit)), "comparison": Key(str, False, ("above", "at_or_above")),
    "times_detection_limit": Key(str), "needs": Key(str), "nondetects_only": Key(bool),
    "media": Key(list),
}  # fmt: skip
_RATIO = {
    "condition": Key(str, True), "lower": Key(str, True), "upper": Key(str, True), "shares": Key(list, True),
    "source": Key(str, True),
}  # fmt: skip

Named = Callable[[str, str], str]
"""The vocabulary's name of an analyte printed at a place of a file; refuses unknown ones."""


@dataclass(frozen=True)
class PhaseIn:
    """How long the version before may still be used after a new one, and for which levels not.

    ``until`` is the last day; a level lowered to ``1 / not_if_lowered_by`` of the old one or less counts at once.
    ``versions`` are the days of the versions that are phased in; empty means the last.
    """

    text: str
    citation: str
    transcription: str
    until: date | None = None
    not_if_lowered_by: Decimal | None = None
    versions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Statistic:
    """A statistical way of comparing that the rule allows, in our own words; ``minimum`` is a number of samples."""

    name: str
    text: str
    citation: str
    transcription: str
    media: tuple[str, ...] = ()
    minimum: int | None = None


@dataclass(frozen=True)
class Background:
    """How a background amount is made of samples: a percentile (0 to 1) of the fitted distribution, at most so many medians."""

    kind: str
    lognormal_percentile: Decimal
    normal_percentile: Decimal
    times_median: Decimal
    minimum: int
    text: str
    citation: str
    transcription: str
    media: tuple[str, ...] = ()


@dataclass(frozen=True)
class Equivalents:
    """Factors by which analytes are weighed before they are added and held against the level of ``name``.

    ``nondetects``: how the rule counts a non-detect (at zero, half or the full limit); 'bounds' where it does not say.
    """

    name: str
    text: str
    citation: str
    transcription: str
    factors: Mapping[str, Decimal]
    nondetects: Nondetects = "bounds"

    @property
    def summed(self) -> str:
        """The name of the weighed sum, which is not that of the analyte whose level it is held against."""
        return f"{self.name} equivalents"


@dataclass(frozen=True)
class Tolerance:
    """A result over its level by less than the share ``over`` is decided by the mean of ``samples`` of one place."""

    over: Decimal
    samples: int
    text: str
    citation: str
    transcription: str
    media: tuple[str, ...] = ()

    def serves(self, medium: str) -> bool:
        """Whether the rule is one for that medium."""
        return not self.media or medium in self.media


@dataclass(frozen=True)
class StandIn:
    """A limit that takes the place of a lower level.

    ``comparison`` is the sign against that limit (empty: the row's own). A quantitation limit counts only where it is
    at most ``times_detection_limit`` detection limits. ``needs`` is a condition of the site that must be 'met'. No
    limit that a dilution raised stands in.
    """

    limit: Limit
    comparison: str
    text: str
    citation: str
    transcription: str
    times_detection_limit: Decimal | None = None
    needs: str = ""
    nondetects_only: bool = False
    media: tuple[str, ...] = ()

    def serves(self, medium: str) -> bool:
        """Whether the rule is one for that medium."""
        return not self.media or medium in self.media


@dataclass(frozen=True)
class Ratio:
    """The shares that the rule sets between the levels of two values of a condition; used to check the figures."""

    condition: str
    lower: str
    upper: str
    shares: tuple[Decimal, ...]


def read_phase_in(found: Any, file: str) -> PhaseIn | None:
    """The section [phase_in]. Raises `BrokenTable`."""
    if found is None:
        return None
    fit(found, _PHASE_IN, file, "phase_in")
    times = found.get("not_if_lowered_by")
    return PhaseIn(
        found["text"], found["citation"], found["transcription"], found.get("until"),
        None if times is None else number(times, f"{file}: phase_in.not_if_lowered_by"),
        texts(found.get("versions", []), file, "phase_in.versions"),
    )  # fmt: skip


def read_statistics(found: Any, file: str) -> tuple[Statistic, ...]:
    """The sections [[statistics]]. Raises `BrokenTable`."""
    made = []
    for one in found:
        fit(one, _STATISTIC, file, "statistics")
        minimum = int(number(one["minimum"], f"{file}: statistics.minimum")) if "minimum" in one else None
        media = texts(one.get("media", []), file, "statistics.media")
        made.append(Statistic(one["name"], one["text"], one["citation"], one["transcription"], media, minimum))
    return tuple(made)


def read_backgrounds(found: Any, file: str) -> tuple[Background, ...]:
    """The sections [[backgrounds]]. Raises `BrokenTable`."""
    made = []
    for one in found:
        fit(one, _BACKGROUND, file, "backgrounds")
        numbers = {
            key: number(one[key], f"{file}: backgrounds.{key}")
            for key in ("lognormal_percentile", "normal_percentile", "times_median")
        }
        if not all(0 < numbers[key] < 1 for key in ("lognormal_percentile", "normal_percentile")):
            raise BrokenTable(f"{file}: backgrounds: write a percentile as a share, as '0.9'")
        made.append(
            Background(
                one["kind"], **numbers, minimum=int(number(one["minimum"], f"{file}: backgrounds.minimum")), text=one["text"],
                citation=one["citation"], transcription=one["transcription"],
                media=texts(one.get("media", []), file, "backgrounds.media"),
            )
        )  # fmt: skip
    return tuple(made)


def read_equivalents(found: Any, file: str, named: Named) -> tuple[Equivalents, ...]:
    """The sections [[equivalents]]. Raises `BrokenTable`."""
    made = []
    for one in found:
        fit(one, _EQUIVALENT, file, "equivalents")
        at = f"{file}, equivalents"
        factors = {
            named(part, at): number(text, f"{file}: equivalents.factors of {part}") for part, text in one["factors"].items()
        }
        if any(factor <= 0 for factor in factors.values()):
            raise BrokenTable(f"{at}: a factor must be above 0; leave out what does not count")
        made.append(
            Equivalents(
                named(one["name"], at), one["text"], one["citation"], one["transcription"], factors,
                cast(Nondetects, one.get("nondetects", "bounds")),
            )
        )  # fmt: skip
    return tuple(made)


def read_tolerance(found: Any, file: str) -> Tolerance | None:
    """The section [tolerance]. Raises `BrokenTable`."""
    if found is None:
        return None
    fit(found, _TOLERANCE, file, "tolerance")
    over, samples = number(found["over"], f"{file}: tolerance.over"), number(found["samples"], f"{file}: tolerance.samples")
    if over <= 0 or samples < 2 or samples != int(samples):
        raise BrokenTable(f"{file}: tolerance: write a share above 0 and a whole number of samples, two at least")
    return Tolerance(
        over, int(samples), found["text"], found["citation"], found["transcription"], texts(found.get("media", []), file, "tolerance.media"),
    )  # fmt: skip


def read_stand_ins(found: Any, file: str) -> tuple[StandIn, ...]:
    """The sections [[stand_ins]]. Raises `BrokenTable`."""
    made = []
    for one in found:
        fit(one, _STAND_IN, file, "stand_ins")
        times = one.get("times_detection_limit")
        made.append(
            StandIn(
                cast(Limit, one["limit"]), one.get("comparison", ""), one["text"], one["citation"], one["transcription"],
                None if times is None else number(times, f"{file}: stand_ins.times_detection_limit"), one.get("needs", ""),
                one.get("nondetects_only", False), texts(one.get("media", []), file, "stand_ins.media"),
            )
        )  # fmt: skip
    return tuple(made)


def read_ratio(found: Any, file: str) -> Ratio | None:
    """The section [ratio]. Raises `BrokenTable`."""
    if found is None:
        return None
    fit(found, _RATIO, file, "ratio")
    shares = tuple(number(share, f"{file}: ratio.shares") for share in texts(found["shares"], file, "ratio.shares"))
    return Ratio(found["condition"], found["lower"], found["upper"], shares)
