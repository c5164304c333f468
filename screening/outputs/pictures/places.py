"""The places of a run and what each sampled point there has shown, as every picture counts them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from screening.decision.contents import Contents
from screening.decision.words import amount_text, depth_text
from screening.outputs.pictures.letters import GLUE
from screening.outputs.pictures.signs import RANK
from screening.site.parts import Location

Told = Mapping[str, Any]
WATERS = ("groundwater", "surface_water", "other_water")


@dataclass(frozen=True)
class Point:
    """One depth and medium at a place: its samples (duplicates too), their outcomes, the gravest sign.

    Rounds of a well are one point; so a point that exceeds may hold samples that do not.
    """

    medium: str
    depth: str
    samples: tuple[str, ...]
    outcomes: tuple[Told, ...]
    held: int
    sign: str

    def of(self, outcome: str) -> list[Told]:
        """Its outcomes of one kind, the highest ratio first."""
        found = [item for item in self.outcomes if item["outcome"] == outcome]
        return sorted(found, key=lambda item: (-Decimal(item["ratio"] or 0), item["analyte"], item["sample_id"]))

    @property
    def worst(self) -> Told | None:
        """The result that exceeds with the highest ratio to its level, else the one that is open."""
        return next(iter(self.of("exceeds") or self.of("open")), None)

    @property
    def unlisted(self) -> int:
        """How many of its detected results have no level."""
        return sum(item["outcome"] == "no_level" and item["detected"] for item in self.outcomes)

    @property
    def exceeding(self) -> tuple[str, ...]:
        """The samples of which a result exceeds."""
        return tuple(dict.fromkeys(item["sample_id"] for item in self.outcomes if item["outcome"] == "exceeds"))


@dataclass(frozen=True)
class Spot:
    """A place of sampling with its points, shallow ones first; ``location`` is None where the site file lacks it.

    ``lacking`` are analytes that a rule asks for there and no result tells of; ``taken_out`` is soil that does not remain.
    """

    id: str
    location: Location | None
    points: tuple[Point, ...]
    lacking: tuple[str, ...] = ()
    taken_out: bool = False

    @property
    def sign(self) -> str:
        """The gravest sign of its points."""
        return min((point.sign for point in self.points), key=RANK.__getitem__, default="missing")

    @property
    def days(self) -> tuple[str, ...]:
        """The days on which it was sampled, in order."""
        found = {item["sampled_at"][:10] for point in self.points for item in point.outcomes if item["sampled_at"]}
        return tuple(sorted(found))


@lru_cache(maxsize=2)
def spots(contents: Contents) -> list[Spot]:
    """Every place of the run's outcomes, held rows and site file, by id.

    A place of the site file that was planned and has no result is there without points, an elective one is left out.
    """
    answer, site = contents.answer, contents.site
    named = {one.id: one for one in site.location}
    where = _whereabouts(contents)
    found: dict[str, list[Told]] = {}
    for item in answer["outcomes"]:
        name = item["location"] if item["location"] in named or item["sample_id"] not in named else item["sample_id"]
        found.setdefault(name, []).append(item)
    held: dict[str, list[str]] = {}
    for row in answer["held_back"]:
        if row["sample_id"]:
            held.setdefault(where.get(row["sample_id"], row["sample_id"]), []).append(row["sample_id"])
    wanted = [one.id for one in site.location if not one.elective]
    coverage = answer.get("coverage", {})
    lacking: dict[str, list[str]] = {}
    for gap in coverage.get("analytes_missing", ()):
        if gap["decides"] and not gap["waived"]:
            lacking.setdefault(gap["location"] or gap["sample"], []).append(gap["analyte"])
    out = set(coverage.get("out_of_the_ground", ()))
    return [
        Spot(
            name, named.get(name), _points(found.get(name, ()), held.get(name, ())), tuple(dict.fromkeys(lacking.get(name, ()))),
            bool(out.intersection(item["sample_id"] for item in found.get(name, ()))),
        )
        for name in sorted({*found, *held, *wanted})
    ]  # fmt: skip


def _whereabouts(contents: Contents) -> dict[str, str]:
    """Where a sample was taken, by its number: from the results, and the site file's locations named like it."""
    known = {item["sample_id"]: item["location"] for item in contents.results if item["sample_id"] and item["location"]}
    return known | {one.id: one.id for one in contents.site.location}


def _points(outcomes: Iterable[Told], held: Sequence[str]) -> tuple[Point, ...]:
    grouped: dict[tuple[str, str], list[Told]] = {}
    for item in outcomes:
        grouped.setdefault((item["medium"], depth_text(item)), []).append(item)
    waiting = list(held)
    points = []
    for (medium, depth), items in grouped.items():
        samples = tuple(dict.fromkeys(item["sample_id"] for item in items))
        own = [name for name in waiting if name in samples]
        waiting = [name for name in waiting if name not in samples]
        points.append(Point(medium, depth, samples, tuple(items), len(own), _sign(items, bool(own))))
    if waiting:
        points.append(Point("", "", tuple(dict.fromkeys(waiting)), (), len(waiting), "held"))
    return tuple(sorted(points, key=_order))


def _sign(items: Sequence[Told], held: bool) -> str:
    kinds = {item["outcome"] for item in items}
    return next((name for name in RANK if name in kinds or (name == "held" and held)), "no_level")


def _order(point: Point) -> tuple[bool, Decimal, str, str]:
    top = next((item["depth_top"] for item in point.outcomes), None)
    return point.medium in WATERS, Decimal(top) if top is not None else Decimal(-1), point.medium, point.depth


def results_words(point: Point) -> list[str]:
    """What a label says of a point that exceeds, is open or held: the count, then the worst result."""
    over, unsure = point.of("exceeds"), point.of("open")
    counts = [f"{len(over)} of {len(point.outcomes)} exceed" if over else "", f"{len(unsure)} open" if unsure else ""]
    counts.append(f"{point.held} held back" if point.held else "")
    place = ", ".join(filter(None, (point.depth, point.medium.replace("_", " ") if point.medium in WATERS else "")))
    told = ", ".join(filter(None, counts))
    if not told:
        return []
    lines = [f"{place}: {told}" if place else told]
    return lines + ([worst_words(point.worst)] if point.worst else [])


def worst_words(item: Told) -> str:
    """One result with its ratio to the level, or the level where no ratio is known; the parts are glued each for itself."""
    level = (
        f"{item['ratio']} × level" if item["ratio"] else f"level {item['level']} {item['level_unit']}" if item["level"] else ""
    )
    amount = f"{amount_text(item, flag=True)}{',' if level else ''}"
    return " ".join(part.replace(" ", GLUE) for part in (item["analyte"], amount, level) if part)
