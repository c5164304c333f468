"""The comparison of bounds with level rows, held against its rule said a second time in plain Python.

The rule is the tool's own (four outcomes, of a group the worst row, of rows that may not apply none lets pass); its cases
are drawn with a fixed seed, so many that every branch meets every other. The oracle shares no code with the comparison.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field, fields
from importlib import resources
from typing import Any

import duckdb
import pytest

from screening.store.fill import fill

SAMPLES = 150
TABLES = 3
MEDIA = ("soil", "groundwater")
ANALYTES = ("Benzene", "Toluene", "Lead", "Naphthalene", "Whole", "Part")
FRACTIONS = ("", "total", "dissolved")
STATES = {"depth": ("shallow", "deep"), "ph": ("low", "high")}
WORST_FIRST = ("exceeds", "open", "does_not_exceed", "no_level")
DAYS = ("2020-01-01", "2021-01-01", "2022-01-01")
AMOUNTS = (0, 1, 2, 3, 4, 5)


@dataclass(frozen=True)
class Comparand:
    """Bounds of one analyte of one sample."""

    id: int
    row_id: int
    sample_no: int
    medium: str
    analyte: str
    level_analyte: str
    fraction: str
    sampled_on: str
    only_table: int | None
    lower: int
    upper: int | None
    below_upper: bool
    detected: bool
    undiluted: bool
    quantitation: int | None
    detection: int | None
    doubt: str


@dataclass(frozen=True)
class Row:
    """One row of law, in the unit of the bounds; a number has both bars at it."""

    table_no: int
    group_no: int
    row_no: int
    analyte: str
    medium: str
    fraction: str
    kind: str
    counts: bool
    level: int | None
    bar: int | None
    bar_counts: bool
    low_bar: int | None
    low_counts: bool
    tolerated: int | None
    since: str | None
    until: str | None
    stand_in: str
    stand_in_counts: bool
    stand_in_times: int | None
    stand_in_nondetects: bool
    background: int | None


@dataclass(frozen=True)
class Hangs:
    """A fact of the sample that a group of rows hangs on."""

    table_no: int
    group_no: int
    state_key: str
    state_value: str
    strictest: bool


@dataclass(frozen=True)
class Covered:
    """A medium that a table says to cover."""

    table_no: int
    medium: str
    unlisted: bool
    since: str | None
    until: str | None


@dataclass
class World:
    """Everything that the comparison reads."""

    comparands: list[Comparand]
    rows: list[Row]
    hangs: list[Hangs]
    of_sample: dict[tuple[int, str, int], str]
    of_value: dict[tuple[int, str, int], str]
    covered: list[Covered]
    unavailable: set[tuple[int, str, str]]


TYPES = {"int": "BIGINT", "int | None": "DECIMAL(38, 18)", "bool": "BOOLEAN", "str": "VARCHAR", "str | None": "DATE"}
KINDS_OF_COLUMN = {"sampled_on": "DATE", "only_table": "INTEGER", "lower": "DECIMAL(38, 18)"}


def drawn(seed: int) -> World:
    """A world of invented bounds and levels."""
    some = random.Random(seed)
    rows, hangs = [], []
    for table in range(TABLES):
        row_no, group_no = 0, 0
        for analyte in ANALYTES:
            for medium in MEDIA:
                if some.random() < 0.25 or (table == 2 and medium == "soil") or analyte == "Part":
                    continue
                for _ in range(some.choice((1, 1, 2, 3))):
                    made = list(_group(some, table, group_no, row_no, analyte, medium))
                    keys = some.sample(sorted(STATES), some.choice((0, 0, 1, 1, 2)))
                    hangs += [Hangs(table, group_no, key, some.choice(STATES[key]), some.random() < 0.5) for key in keys]
                    rows += made
                    row_no, group_no = row_no + len(made), group_no + 1
    comparands = [one for number in range(SAMPLES) for one in _sample(some, number)]
    return World(
        comparands, rows, hangs,
        {
            (table, key, number): some.choice((*STATES[key], *STATES[key], "unknown", "outside"))
            for table in range(TABLES) for key in STATES for number in range(SAMPLES) if some.random() < 0.8
        },
        {
            (table, "depth", one.id): some.choice((*STATES["depth"], "unknown"))
            for table in range(TABLES) for one in comparands if some.random() < 0.3
        },
        [
            Covered(table, medium, table == 1, *some.choice(((None, None), (None, DAYS[1]), (DAYS[1], None))))
            for table in range(TABLES) for medium in ("soil", "groundwater", "sediment") if table != 2 or medium != "soil"
        ],
        {(0, "Part", "soil"), (0, "Styrene", "soil"), (2, "Styrene", "groundwater"), (1, "Lead", "sediment")},
    )  # fmt: skip


def _group(some: random.Random, table: int, group: int, first: int, analyte: str, medium: str) -> Iterator[Row]:
    fraction = some.choice(("", "", "total")) if analyte == "Lead" else ""
    since, until = some.choice(((None, None),) * 3 + ((DAYS[1], None), (None, DAYS[1])))
    kinds = [some.choice(("number",) * 5 + ("range", "no_level", "no_level", "words")) for _ in range(some.choice((1, 1, 2, 3)))]
    numbered = any(kind in ("number", "range") for kind in kinds)
    for at, kind in enumerate(kinds):
        level = some.choice((1, 2, 3)) if kind in ("number", "range") else None
        over = level + some.choice((1, 2)) if level is not None and kind == "range" else level
        stand_in = some.choice(("", "", "quantitation_limit", "quantitation_limit", "detection_limit", "background"))
        counts = some.random() < 0.5
        yield Row(
            table, group, first + at, analyte, medium, fraction, kind, kind != "no_level" or not numbered,
            level, over, counts, level, counts if kind == "number" else some.random() < 0.5,
            level + 1 if level is not None and kind == "number" and some.random() < 0.25 else None,
            since, until, stand_in, some.random() < 0.5, some.choice((None, 2, 2)), some.random() < 0.3,
            some.choice((None, 2, 4)),
        )  # fmt: skip


def _sample(some: random.Random, number: int) -> Iterator[Comparand]:
    medium, day = some.choice((*MEDIA, *MEDIA, "sediment", "other_water")), some.choice(DAYS)
    for at, analyte in enumerate((*ANALYTES, "Styrene")):
        if some.random() < 0.4:
            continue
        detected = some.random() < 0.6
        upper = some.choice((None, *AMOUNTS))
        lower = some.choice([amount for amount in AMOUNTS if upper is None or amount <= upper]) if detected else 0
        identity = number * 10 + at
        only = some.choice((0, 1)) if analyte == "Whole" and some.random() < 0.5 else None
        doubt = some.choice(("",) * 6 + ("only_total", "late", "other_fraction"))
        yield Comparand(
            identity, identity - (doubt == "other_fraction"), number, medium, analyte,
            "Benzene" if only == 1 else analyte,
            some.choice(FRACTIONS) if analyte == "Lead" else "", day,
            only, lower, upper, some.random() < 0.4 or not detected, detected, some.random() < 0.7,
            some.choice((None, 1, 2, 3, 4)), some.choice((None, 1, 2, 3)), doubt,
        )  # fmt: skip


def compared(world: World) -> dict[tuple[int, int], tuple[Any, ...]]:
    """What the comparison says: outcome, row that decides, what stands in for its level, whether groups disagree, whether all
    that is open lies within the tolerance, whether another row may apply."""
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        _lay(connection, "comparand", Comparand, world.comparands)
        _lay(connection, "level_row", Row, world.rows)
        _lay(connection, "group_condition", Hangs, world.hangs)
        _lay(connection, "covered", Covered, world.covered)
        for name, states, key in (("sample_state", world.of_sample, "sample_no"), ("value_state", world.of_value, "id")):
            rows = [(*place, state, f"{place[1]} is {state}") for place, state in states.items()]
            fill(connection, name, f"table_no INTEGER, state_key VARCHAR, {key} BIGINT, state VARCHAR, told VARCHAR", rows)
        fill(connection, "unavailable", "table_no INTEGER, analyte VARCHAR, medium VARCHAR", sorted(world.unavailable))
        fill(connection, "counted_part", "whole VARCHAR, part VARCHAR", [("Whole", "Part")])
        connection.execute((resources.files("screening.screen") / "compare.sql").read_text(encoding="utf-8"))
        found = connection.execute(
            "SELECT id, table_no, outcome, row_no, CAST(stands_in AS INTEGER), rows_disagree, within_tolerance, condition_unknown FROM outcome"
        )
        answers = found.fetchall()
    assert len({row[:2] for row in answers}) == len(answers), "one outcome a comparand and table"
    return {(row[0], row[1]): tuple(row[2:]) for row in answers}


def _lay(connection: duckdb.DuckDBPyConnection, name: str, kind: Any, rows: list[Any]) -> None:
    columns = ", ".join(f"{one.name} {KINDS_OF_COLUMN.get(one.name, TYPES[str(one.type)])}" for one in fields(kind))
    fill(connection, name, columns, [tuple(asdict(row).values()) for row in rows])


def expected(world: World) -> dict[tuple[int, int], tuple[Any, ...]]:
    """The same, from the rule."""
    found = {}
    tables = {table: [row for row in world.rows if row.table_no == table] for table in range(TABLES)}
    for one in world.comparands:
        by_table = {table: _of_table(world, one, rows) for table, rows in tables.items()}
        judged = {table: answer for table, answer in by_table.items() if answer is not None}
        if all(answer[0] == "no_level" for answer in judged.values()):
            judged = dict(list(judged.items())[:1])  # it has no level, told once
        else:
            judged = {table: answer for table, answer in judged.items() if answer[0] != "no_level"}
        for table, answer in (judged | _not_read(world, one)).items():
            found[one.id, table] = answer
        if not any((one.id, table) in found for table in range(TABLES)):
            table = _first_that_covers(world, one)
            if table is not None:
                found[one.id, table] = ("no_level", None, None, False, False, False)
    return found


def _fits(one: Comparand, row: Row) -> bool:
    return (
        row.analyte == one.level_analyte
        and row.medium == one.medium
        and row.fraction in ("", one.fraction)
        and one.only_table in (None, row.table_no)
        and _in_force(one, row.since, row.until)
    )


def _in_force(one: Comparand, since: str | None, until: str | None) -> bool:
    return (since or "") <= one.sampled_on <= (until or "9999")


@dataclass(frozen=True, order=True)
class _Group:
    """The worst row of a group that may apply; ``waits``: an unknown fact may leave it open."""

    place: int
    near: bool
    level: int
    row_no: int
    instead: int | None = field(compare=False)
    certain: bool = field(compare=False)
    waits: bool = field(compare=False)


def _of_table(world: World, one: Comparand, rows: list[Row]) -> tuple[Any, ...] | None:
    groups: dict[int, list[Row]] = {}
    for row in rows:
        if _fits(one, row):
            groups.setdefault(row.group_no, []).append(row)
    judged = []
    for number, group in groups.items():
        hung = [hang for hang in world.hangs if (hang.table_no, hang.group_no) == (group[0].table_no, number)]
        states = [(_state(world, one, hang), hang) for hang in hung]
        if any(state not in ("unknown", hang.state_value) for state, hang in states):
            continue
        certain = not any(state == "unknown" for state, _ in states)
        waits = any(state == "unknown" and not hang.strictest for state, hang in states)
        counted = [(_judge(one, row), row) for row in group if row.counts]
        place, near, row_no, level, instead = min(
            ((WORST_FIRST.index(outcome), near, row.row_no, row.level, instead) for (outcome, near, instead), row in counted),
            key=lambda row: row[:3],
        )
        all_near = place == 1 and all(near for (outcome, near, _), _ in counted if outcome == "open")
        judged.append(_Group(place, all_near, level if level is not None else 10**18, row_no, instead, certain, waits))
    if not judged:
        return None
    worst = min(judged)
    certain_too = any(group.place == worst.place and group.certain for group in judged)
    disagree = len({group.place for group in judged}) > 1 and any(group.waits for group in judged) and not certain_too
    near = worst.place == 1 and all(group.near for group in judged if group.place == 1)
    unknown = len(judged) > 1 or not worst.certain
    return ("open" if disagree else WORST_FIRST[worst.place], worst.row_no, worst.instead, disagree, near, unknown)


def _state(world: World, one: Comparand, hang: Hangs) -> str:
    of_value = world.of_value.get((hang.table_no, hang.state_key, one.id))
    return of_value or world.of_sample.get((hang.table_no, hang.state_key, one.sample_no), "unknown")


def _judge(one: Comparand, row: Row) -> tuple[str, bool, int | None]:
    """Outcome, whether it is open only because it lies within the tolerance, and what stands in for the level."""
    if row.kind == "no_level":
        return "no_level", False, None
    if row.kind == "words" or row.bar is None or row.low_bar is None:
        return "open", False, None
    bar, counts, low, low_counts = row.bar, row.bar_counts, row.low_bar, row.low_counts
    instead = _instead(one, row)
    if instead is not None:
        bar, counts, low, low_counts = instead, row.stand_in_counts, instead, row.stand_in_counts
    if one.lower > bar or (one.lower == bar and counts):
        near = row.tolerated is not None and row.kind == "number" and instead is None and one.lower <= row.tolerated
        return ("open" if near else "exceeds"), near, instead
    if one.upper is None or one.upper > low or (one.upper == low and low_counts and not one.below_upper):
        return "open", False, instead
    return "does_not_exceed", False, instead


def _instead(one: Comparand, row: Row) -> int | None:
    """What stands in for a level below it: a limit of an undiluted run, or the natural amount."""
    level = row.level
    if row.kind != "number" or level is None or (row.stand_in_nondetects and one.detected):
        return None
    if row.stand_in == "background":
        return row.background if row.background is not None and row.background > level else None
    if not one.undiluted:
        return None
    limit = {"quantitation_limit": one.quantitation, "detection_limit": one.detection}.get(row.stand_in)
    if limit is None or limit <= level:
        return None
    if row.stand_in == "quantitation_limit" and row.stand_in_times is not None:
        if one.detection is None or limit > row.stand_in_times * one.detection:
            return None
    return limit


def _told_with(world: World, one: Comparand) -> list[str]:
    """The level names of the sums of the sample in which it counts."""
    if one.analyte != "Part":
        return []
    return [whole.level_analyte for whole in _of_sample(world)[one.sample_no] if whole.analyte == "Whole"]


def _of_sample(world: World) -> dict[int, list[Comparand]]:
    if not hasattr(world, "kept"):
        kept: dict[int, list[Comparand]] = {}
        for one in world.comparands:
            kept.setdefault(one.sample_no, []).append(one)
        world.kept = kept  # type: ignore[attr-defined]
    return world.kept  # type: ignore[attr-defined, no-any-return]


def _not_read(world: World, one: Comparand) -> dict[int, tuple[Any, ...]]:
    """Open by each table that covers the sample and whose row of the analyte was not read, or may not have been."""
    found: dict[int, tuple[Any, ...]] = {}
    if one.only_table is not None or one.doubt == "only_total":
        return found
    for covered in world.covered:
        table = covered.table_no
        listed = {row.analyte for row in world.rows if (row.table_no, row.medium) == (table, one.medium)}
        if covered.medium != one.medium or not _in_force(one, covered.since, covered.until) or one.analyte in listed:
            continue
        not_read = (table, one.analyte, one.medium) in world.unavailable
        if not_read or (covered.unlisted and not any(name in listed for name in _told_with(world, one))):
            found[table] = ("open", None, None, False, False, False)
    return found


def _first_that_covers(world: World, one: Comparand) -> int | None:
    """The table that tells that there is no level; None where it is told otherwise."""
    of_medium = [covered for covered in world.covered if covered.medium == one.medium]
    if one.doubt == "only_total":
        return None
    if not of_medium:
        return 0
    others = [other for other in _of_sample(world)[one.sample_no] if other.doubt == "other_fraction" and other.id != one.id]
    if any(other.row_id == one.row_id for other in others) or _told_with(world, one):
        return None
    return min((covered.table_no for covered in of_medium if _in_force(one, covered.since, covered.until)), default=None)


@pytest.mark.parametrize("seed", range(1, 7))
def test_every_comparison_follows_the_rule(seed: int) -> None:
    world = drawn(seed)
    said, rule = compared(world), expected(world)
    wrong = {key: (said.get(key), rule.get(key)) for key in said.keys() | rule.keys() if said.get(key) != rule.get(key)}
    assert not wrong
    assert {answer[0] for answer in said.values()} == set(WORST_FIRST)
