"""The samples of an analyte that one level is held against, taken from the answer of a run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from screening.screen.statistics.observed import Observed
from screening.screen.statistics.shares import Bounds

BY = ("medium", "location")


@dataclass(frozen=True)
class One:
    """One field sample: bounds of the amount, and whether it counts as a non-detect in the statistics."""

    sample_id: str
    location: str
    sampled_at: str | None
    bounds: Bounds
    censored: bool
    between: bool

    @property
    def counts(self) -> bool:
        """Whether an upper bound is known, without which no statistic can be made."""
        return self.bounds.upper is not None


@dataclass(frozen=True)
class Group:
    """Samples of one medium (and place, where asked) held against one level; amounts in ``unit``.

    ``level`` is None where the table lists no number. ``outcomes`` counts the answers sample by sample, duplicates
    included; ``duplicates`` are field duplicates, which are no samples of their own.
    """

    table: str
    version: str
    medium: str
    fraction: str
    place: str
    level: Decimal | None
    printed: str
    sign: str
    unit: str
    citation: str
    transcription: str
    samples: tuple[One, ...]
    duplicates: tuple[One, ...]
    outcomes: Mapping[str, int] = field(default_factory=dict)

    @property
    def observed(self) -> Observed:
        """The samples whose upper bound is known. Raises `Refused` where there is none."""
        counting = [one for one in self.samples if one.counts]
        return Observed.of(
            [one.bounds.upper for one in counting if one.bounds.upper is not None], [one.censored for one in counting]
        )

    @property
    def detected(self) -> int:
        """How many of the samples count as detected."""
        return sum(not one.censored for one in self.samples)

    @property
    def unbounded(self) -> tuple[str, ...]:
        """Samples without an upper bound, which no statistic can clear."""
        return tuple(one.sample_id for one in self.samples if not one.counts)

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for every statistic of the group, in words."""
        said = []
        if self.duplicates:
            names = ", ".join(one.sample_id for one in self.duplicates)
            said.append(f"field duplicates are no samples of their own, and count only where no sample may be above: {names}")
        if self.unbounded:
            said.append(f"no upper bound is known, so that no test can pass: {', '.join(self.unbounded)}")
        between = [one.sample_id for one in self.samples if one.between]
        if between:
            said.append(f"sums with undetected parts stand at their upper bound: {', '.join(between)}")
        return tuple(said)

    @property
    def limits_above(self) -> tuple[str, ...]:
        """Non-detects whose limit lies above the level."""
        if self.level is None:
            return ()
        return tuple(
            one.sample_id
            for one in self.samples
            if one.censored and one.bounds.upper is not None and one.bounds.upper > self.level
        )


def groups_of(answer: Mapping[str, Any], names: set[str], by: str, locations: Sequence[str] = ()) -> list[Group]:
    """The groups of an analyte (its names in small letters), in the order of the answer; the locations named, or all."""
    found: dict[tuple[object, ...], list[Mapping[str, Any]]] = {}
    for item in _every_sample(answer):
        if item["analyte"].casefold() not in names or (locations and item["location"] not in locations):
            continue
        place = item["location"] if by == "location" else ""
        key = (
            item["table"],
            item["version"],
            item["medium"],
            item["fraction"],
            place,
            item["level_normal"],
            item["comparison"],
            item["unit"],
        )
        found.setdefault(key, []).append(item)
    return [_group(items, by) for items in found.values()]


def _every_sample(answer: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The outcomes that stand and the outweighed side of each pair; a mean stands for its parent, which is not told twice."""
    standing = {_sample(item) for item in answer["outcomes"]}
    beside = [item for item in answer.get("outweighed", ()) if _sample(item) not in standing]
    return [*answer["outcomes"], *beside]


def _sample(item: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(
        item[key]
        for key in (
            "sample_id",
            "sample_kind",
            "location",
            "depth_top",
            "depth_bottom",
            "sampled_at",
            "medium",
            "analyte",
            "fraction",
            "table",
            "version",
        )
    )


def _group(items: Sequence[Mapping[str, Any]], by: str) -> Group:
    first = items[0]
    level = first["level_normal"]
    outcomes = [item["outcome"] for item in items if not item.get("outweighed")]
    return Group(
        first["table"], first["version"], first["medium"], first["fraction"], first["location"] if by == "location" else "",
        Decimal(level) if level is not None else None, f"{first['level']} {first['level_unit']}" if first["level"] else "no level",
        first["comparison"] or "above", first["unit"], first["citation"], first["transcription"],
        tuple(_one(item) for item in items if item["sample_kind"] != "field_duplicate"),
        tuple(_one(item) for item in items if item["sample_kind"] == "field_duplicate"),
        {name: outcomes.count(name) for name in dict.fromkeys(outcomes)},
    )  # fmt: skip


def _one(item: Mapping[str, Any]) -> One:
    lower, upper = item["lower"], item["upper"]
    bounds = Bounds(Decimal(lower or 0), None if upper is None else Decimal(upper))
    apart = bounds.upper != bounds.lower
    return One(
        item["sample_id"],
        item["location"],
        item["sampled_at"],
        bounds,
        apart and not bounds.lower,
        apart and bounds.upper is not None and bool(bounds.lower),
    )
