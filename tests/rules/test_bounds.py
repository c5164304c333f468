"""The bounds of each result and of what is made of results, held against their rule said a second time in plain Python.

A non-detect lies between zero and its limit, a missing basis or limit has no upper bound, and so on: the tool's own rule,
law 4 of its design. The cases are invented, drawn with a fixed seed, so many that every doubt meets every other. The
oracle shares no code with the measuring.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

import duckdb
import pytest

from screening.screen.measure import measure
from screening.store.fill import fill

SAMPLES = 150
SUMS = {"Whole": [("P1", "P2"), ("P1", "P3", "P4"), ("P3", "P4"), ("P2", "P3", "P4", "P5")]}
SPECIES = [("Hexavalent", "Chromium")]
FRACTIONS = [("Lead", "groundwater", "dissolved"), ("Zinc", "groundwater", "total"), ("Zinc", "groundwater", "dissolved")]
ANALYTES = ("Benzene", "Whole", "P1", "P2", "P3", "P4", "P5", "Chromium", "Hexavalent", "Lead", "Zinc")
SOLID = ("soil", "sediment")
AMOUNTS = (1, 2, 3, 4, 5, 6)
FRACTION_NUMBERS = {"": 0, "total": 1, "dissolved": 2, "leachate": 3}


class Key(NamedTuple):
    """What makes one sample."""

    sample_id: str
    sample_kind: str
    location: str
    depth_top: int | None
    depth_bottom: int | None
    depth_unit: str
    medium: str
    sampled_on: str | None


@dataclass(frozen=True)
class Result:
    """One chosen result; amounts of five kinds as delivered and, where converted, in dry weight."""

    row: int
    key: Key
    analyte: str
    fraction: str
    unit: str
    basis: str
    detected: bool
    state: str
    sign: str
    over_range: bool
    rejected: bool
    dilution: int | None
    amounts: tuple[int | None, ...]
    dry: tuple[int | None, ...] | None
    review: tuple[str, bool, bool, int | None] | None
    rank: int = 1


@dataclass(frozen=True)
class Bound:
    """The bounds of an analyte of a sample, why they are wide, and what may stand in for a level."""

    key: Key
    analyte: str
    fraction: str
    detected: bool
    lower: int
    upper: int | None
    below: bool
    doubt: str
    quantitation: int | None
    detection: int | None
    undiluted: bool


def drawn(seed: int) -> list[Result]:
    """Invented results; samples that differ in one thing only among them."""
    some = random.Random(seed)
    return [one for number in range(SAMPLES) for one in _sample(some, number)]


def _sample(some: random.Random, number: int) -> Iterator[Result]:
    medium = some.choice(("soil", "groundwater", "groundwater", "sediment"))
    key = Key(f"S-{number}", "field", "L", None, None, "", medium, "2024-05-01")
    deep = key._replace(depth_top=2, depth_bottom=4, depth_unit="ft")
    others = [
        key._replace(sample_kind="field_duplicate"), key._replace(location="M"), key._replace(depth_top=3),
        key._replace(depth_bottom=3), key._replace(depth_unit="m"), key._replace(sampled_on="2024-05-02"), key._replace(sampled_on=None),
        key._replace(medium="sediment" if medium == "soil" else "soil"), deep, deep._replace(depth_unit="m"),
    ]  # fmt: skip
    for own in (key, some.choice(others)) if some.random() < 0.4 else (key,):
        for at, analyte in enumerate(ANALYTES):
            for fraction in _fractions(some, analyte, own.medium):
                if some.random() < (0.8 if analyte == "Whole" else 0.3):
                    continue
                yield _result(
                    some, 100 * number + 50 * (own != key) + 4 * at + FRACTION_NUMBERS[fraction], own, analyte, fraction
                )


def _fractions(some: random.Random, analyte: str, medium: str) -> list[str]:
    if medium in SOLID:
        return [some.choice(("", "", "", "", "leachate"))]
    return (
        some.sample(["", "total", "dissolved"], some.choice((1, 1, 2)))
        if analyte in ("Lead", "Zinc", "P1", "P2", "Whole")
        else [""]
    )


def _result(some: random.Random, row: int, key: Key, analyte: str, fraction: str) -> Result:
    detected, odd = some.random() < 0.6, some.random() < 0.35
    state = some.choice(("number", "number", "trace")) if odd and detected else "number"
    value = some.choice(AMOUNTS) if detected else None
    limit = None if detected or (odd and some.random() < 0.2) else some.choice(AMOUNTS)
    solid = key.medium in SOLID
    as_received = some.choice(("", "as_received")) if solid and odd else "dry" if solid else ""
    amounts = (value, limit, *(some.choice((None, *AMOUNTS)) for _ in range(3)))
    wetter = tuple(None if amount is None else 2 * amount for amount in amounts)
    return Result(
        row, key, analyte, fraction, "ug/L" if not solid or fraction == "leachate" else some.choice(("mg/kg",) * 15 + ("%",)), as_received,
        detected, state, ">" if odd and detected and state == "number" and some.random() < 0.2 else "",
        odd and some.random() < 0.3, odd and some.random() < 0.15, some.choice((None, 1, 1, 2)), amounts,
        wetter if as_received == "as_received" and some.random() < 0.6 else None,
        (some.choice(("", "", "estimated", "rejected", *("not_detected_at_limit",) * 3)), some.random() < 0.3, some.random() < 0.5,
         some.choice((None, 2, 4, 9))) if odd and some.random() < 0.6 else None,
        2 if odd and some.random() < 0.05 else 1,
    )  # fmt: skip


def measured(results: list[Result], missing_basis: str) -> list[Bound]:
    """What the tool makes of them."""
    amount = "DECIMAL(38, 18)"
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        fill(
            connection, "ranked",
            "row_id BIGINT, sample_id VARCHAR, sample_kind VARCHAR, location VARCHAR, depth_top DECIMAL(9, 2), depth_bottom DECIMAL(9, 2), "
            "depth_unit VARCHAR, medium VARCHAR, sampled_on DATE, analyte VARCHAR, cas VARCHAR, analyte_kind VARCHAR, fraction VARCHAR, "
            "unit VARCHAR, basis VARCHAR, detected BOOLEAN, state VARCHAR, sign VARCHAR, is_over_range BOOLEAN, is_rejected BOOLEAN, "
            f"dilution DECIMAL(9, 2), value {amount}, nondetect_limit {amount}, reporting_limit {amount}, quantitation_limit {amount}, "
            f"detection_limit {amount}, rank BIGINT, lab_qualifiers VARCHAR, effects VARCHAR, runs BIGINT, value_text VARCHAR, limit_text VARCHAR",
            [
                (
                    one.row, *one.key, one.analyte, "", "substance", one.fraction, one.unit, one.basis, one.detected, one.state, one.sign,
                    one.over_range, one.rejected, one.dilution, *one.amounts, one.rank, "", "", 1, str(one.amounts[0]), str(one.amounts[1]),
                )
                for one in results
            ],
        )  # fmt: skip
        names = "value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit"
        fill(
            connection, "dry", f"row_id BIGINT, solids_used {amount}, " + ", ".join(f"{name} {amount}" for name in names),
            [(one.row, 50, *one.dry) for one in results if one.dry],
        )  # fmt: skip
        fill(
            connection, "reviewed", f"row_id BIGINT, qualifier VARCHAR, late BOOLEAN, blank BOOLEAN, limit_at_most {amount}",
            [(one.row, *one.review) for one in results if one.review],
        )  # fmt: skip
        measure(connection, SUMS, SPECIES, FRACTIONS, missing_basis)
        found = connection.execute(
            "SELECT sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, CAST(sampled_on AS VARCHAR), "
            "analyte, fraction, detected, lower, upper, below_upper, doubt, quantitation, detection, undiluted FROM comparand"
        ).fetchall()
        numbers = connection.execute("SELECT count(*), count(DISTINCT id) FROM comparand").fetchall()
    assert numbers[0][0] == numbers[0][1]
    return [Bound(Key(*map(_whole, row[:8])), *map(_whole, row[8:])) for row in found]


def _whole(value: Any) -> Any:
    return int(value) if isinstance(value, Decimal) else value


def bounds(one: Result, missing_basis: str) -> Bound:
    """The rule of a single result."""
    qualifier, late, in_blank, at_most = one.review or ("", False, False, None)
    value, limit, reporting, quantitation, detection = one.dry or one.amounts
    wet = one.key.medium in SOLID and one.unit == "mg/kg" and one.dry is None
    basis = one.basis or (missing_basis if missing_basis != "open" else "")
    lower, upper, doubt = 0, limit, ""
    trace, in_blank = one.state == "trace", in_blank and one.detected
    if one.detected:
        lower, upper = value or 0, value
    if in_blank:
        lower, doubt = 0, "blank"
        cleared = (reporting if reporting is not None else detection) if qualifier == "not_detected_at_limit" else None
        upper = max(amount for amount in (value, cleared) if amount is not None)
    if not one.detected:
        if at_most is not None and limit is not None and at_most > limit and one.dry is None:
            doubt, upper = "limit_unadjusted", at_most
        if late:
            doubt, upper = "late", None
        if limit is None:
            doubt, upper = "no_limit", None
    elif one.over_range:
        doubt, upper = "over_range", None
    if one.sign == ">":
        doubt, upper = "above", None
    if trace:
        doubt, lower, upper = "trace", 0, quantitation if quantitation is not None else reporting
    if wet and basis == "as_received":
        doubt, upper = "no_solids", None
    elif wet and not basis:
        doubt, upper = "no_basis", None
    if one.key.medium in SOLID and one.fraction == "leachate":
        doubt, lower, upper = "leachate", 0, None
    if one.rejected or qualifier == "rejected":
        doubt, lower, upper = "rejected", 0, None
    return Bound(
        one.key, one.analyte, one.fraction, one.detected, lower, upper, not one.detected or doubt == "trace", doubt,
        quantitation, detection, one.dilution == 1,
    )  # fmt: skip


def expected(results: list[Result], missing_basis: str) -> list[Bound]:
    """The rule of all."""
    singles = [bounds(one, missing_basis) for one in results if one.rank == 1 and one.unit in ("mg/kg", "ug/L")]
    samples: dict[Key, list[Bound]] = defaultdict(list)
    for one in singles:
        samples[one.key].append(one)
    found: list[Bound] = []
    for key, of_sample in samples.items():
        made = [_against_parts(one, of_sample) for one in of_sample]
        made += _sums(key, made)
        made += _species(made)
        made += _other_fractions(key, made)
        found += made
    return found


def _meets(one: str, other: str) -> bool:
    return one == other or not one or not other


def _groups(of_sample: list[Bound]) -> Iterator[tuple[int, tuple[str, ...], list[Bound]]]:
    for number, parts in enumerate(SUMS["Whole"]):
        for fraction in sorted({one.fraction for one in of_sample}):
            yield number, parts, [one for one in of_sample if one.analyte in parts and one.fraction == fraction]


def _total(amounts: Iterable[int | None], wanted: int) -> int | None:
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if len(known) == wanted else None


def _changed(one: Bound, **more: Any) -> Bound:
    return Bound(**{**vars(one), **more})


def _against_parts(one: Bound, of_sample: list[Bound]) -> Bound:
    """A printed total below its own parts may be as high as the parts say."""
    if one.analyte != "Whole" or one.upper is None:
        return one
    said = []
    for _, parts, there in _groups([other for other in of_sample if other.doubt not in ("rejected", "leachate")]):
        if there and _meets(one.fraction, there[0].fraction) and sum(part.lower for part in there) > one.upper:
            said.append(_total((part.upper for part in there), len(parts)))
    if not said:
        return one
    known = [upper for upper in said if upper is not None]
    return _changed(one, upper=max(known) if known else None, below=False, doubt="parts_disagree")


def _sums(key: Key, of_sample: list[Bound]) -> list[Bound]:
    """The sum of the parts where no total is reported: by the list with most of its parts, of equal ones the shortest."""
    totals = [one for one in of_sample if one.analyte == "Whole"]
    free = [one for one in of_sample if not any(_meets(one.fraction, total.fraction) for total in totals)]
    best: dict[str, tuple[tuple[Any, ...], list[Bound], int]] = {}
    for number, parts, there in _groups(free):
        if there:
            order = (len(there) < len(parts), -len(there), len(parts), number)
            fraction = there[0].fraction
            if fraction not in best or order < best[fraction][0]:
                best[fraction] = (order, there, len(parts))
    return [
        Bound(
            key, "Whole", fraction, any(one.detected for one in there), sum(one.lower for one in there),
            _total((one.upper for one in there), wanted), any(one.below for one in there),
            max((one.doubt for one in there if one.doubt), default="parts_missing" if len(there) < wanted else ""), None, None, False,
        )
        for fraction, (_, there, wanted) in best.items()
    ]  # fmt: skip


def _species(of_sample: list[Bound]) -> list[Bound]:
    """A species is at most its total, and may be nothing of it."""
    if any(one.analyte == "Hexavalent" for one in of_sample):
        return []
    return [
        _changed(one, analyte="Hexavalent", lower=0, doubt="only_total", quantitation=None, detection=None)
        for one in of_sample if one.analyte == "Chromium"
    ]  # fmt: skip


def _other_fractions(key: Key, of_sample: list[Bound]) -> list[Bound]:
    """What is dissolved is at most the total, and the total at least what is dissolved; not stated may be either."""
    made = []
    for analyte, medium, wanted in FRACTIONS:
        there = {one.fraction: one for one in of_sample if one.analyte == analyte}
        if medium != key.medium or not there or wanted in there:
            continue
        one = there.get("total" if wanted == "dissolved" else "dissolved") or there[""]
        if wanted == "dissolved":
            made.append(_changed(one, fraction=wanted, doubt="other_fraction", lower=0))
        else:
            made.append(_changed(one, fraction=wanted, doubt="other_fraction", upper=None))
    return made


def _known(found: Iterable[Bound]) -> Mapping[tuple[Any, ...], list[Bound]]:
    by_name: dict[tuple[Any, ...], list[Bound]] = defaultdict(list)
    for one in found:
        by_name[one.key, one.analyte, one.fraction].append(one)
    return by_name


@pytest.mark.parametrize(("seed", "missing_basis"), [(1, "open"), (2, "dry"), (3, "as_received"), (4, "open")])
def test_every_bound_follows_the_rule(seed: int, missing_basis: str) -> None:
    results = drawn(seed)
    said, rule = _known(measured(results, missing_basis)), _known(expected(results, missing_basis))
    wrong = {name: (said.get(name), rule.get(name)) for name in said.keys() | rule.keys() if said.get(name) != rule.get(name)}
    assert not wrong
    doubts = {one.doubt for found in said.values() for one in found}
    assert len(doubts) >= 14
