"""What the results of a sample say of a condition, held against the rule said a second time in plain Python.

A condition is met only where every result that tells of the sample shows it: law 4 and 5 of the tool's design. Cases are
invented, drawn with a fixed seed; the oracle shares no code with the conditions.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest

from screening.levels.facts import Condition, Range
from screening.screen.measure import PLAIN
from screening.screen.ranges import depth_states, measured_states
from screening.screen.states import Presence, Share, states
from screening.store.fill import fill

NUMBERS = 500
PLACE = "sample_id", "sample_kind", "location", "depth_top", "depth_bottom", "depth_unit", "medium", "sampled_on"
PLACE_TYPES = (
    "sample_id VARCHAR, sample_kind VARCHAR, location VARCHAR, depth_top DECIMAL(38, 18), depth_bottom DECIMAL(38, 18), "
    "depth_unit VARCHAR, medium VARCHAR, sampled_on DATE"
)
AMOUNT = "DECIMAL(38, 18)"


def _places(some: random.Random, number: int) -> list[dict[str, Any]]:
    """One sample, or two that differ in one thing: by a depth, or by a day, a place, a kind or a medium."""
    plain = dict(zip(PLACE, (f"S-{number}", "field", "L", None, None, "", "soil", "2024-05-01"), strict=True))
    plain["medium"] = some.choice(("soil", "sediment", "groundwater"))
    deep = {
        **plain,
        "depth_top": some.choice((1, 2, None)),
        "depth_bottom": some.choice((3, 4)),
        "depth_unit": some.choice(("ft", "m")),
    }
    other = {
        **some.choice((plain, deep)),
        **some.choice(({"sampled_on": "2024-05-02"}, {"sampled_on": None}, {"location": "M"}, {"sample_kind": "x"}, {"medium": "water"},
                       {"depth_top": 5, "depth_unit": "ft"}, {"depth_bottom": 5, "depth_unit": "ft"}, {"depth_unit": "m"})),
    }  # fmt: skip
    return some.choice(([plain], [deep], [plain, deep], [plain, deep, other], [deep, other], [plain, other]))


def _tells_of(result: Any, sample: dict[str, Any], places: list[dict[str, Any]]) -> bool:
    """Taken with it; or without a depth where no more than one depth was sampled there."""
    here = ("sample_id", "sample_kind", "location", "medium", "sampled_on")
    if any(getattr(result, name) != sample[name] for name in here):
        return False
    if all(getattr(result, name) == sample[name] for name in ("depth_top", "depth_bottom", "depth_unit")):
        return True
    depths = {
        (one["depth_top"], one["depth_bottom"], one["depth_unit"])
        for one in places
        if all(one[name] == sample[name] for name in here) and (one["depth_top"], one["depth_bottom"]) != (None, None)
    }
    return len(depths) == 1 and result.depth_top is None and result.depth_bottom is None


class _World:
    """Samples of places by number, and results of them."""

    def __init__(self, seed: int) -> None:
        some = random.Random(seed)
        self.samples: dict[int, dict[str, Any]] = {}
        self.places: dict[int, list[dict[str, Any]]] = {}
        self.results: list[Any] = []
        for number in range(NUMBERS):
            found = _places(some, number)
            places = [one for at, one in enumerate(found) if one not in found[:at]]
            first, unit = len(self.samples), some.choice(("u",) * 9 + ("v",))
            for at, place in enumerate(places):
                self.samples[first + at] = place
                self.places[first + at] = places
                self.results += self._results(some, place, first + at, unit)

    def _results(self, some: random.Random, place: dict[str, Any], sample: int, unit: str) -> Iterator[Any]:
        yield SimpleNamespace(**place, sample_no=sample, analyte="Lead", detected=True, doubt="", lower=1, upper=1, unit="u")
        for analyte in ("Benzene", "Toluene", "Xylenes", "Whole"):
            for _ in range(some.choice((0, 1, 1, 1, 2))):
                odd, detected = some.random() < 0.3, some.random() < {"Benzene": 0.2}.get(analyte, 0.7)
                upper = some.choice((1, 2, 3, 4))
                doubt = some.choice(
                    (
                        "blank",
                        "rejected",
                        "late",
                        "only_total",
                        "parts_disagree",
                        "leachate",
                        "other_fraction",
                        "no_limit",
                        "trace",
                    )
                )
                yield SimpleNamespace(
                    **place, sample_no=sample, analyte=analyte, detected=detected, doubt=doubt if odd else "",
                    lower=(0 if odd or not detected else upper) * (10 if analyte == "Whole" else 1),
                    upper=None if odd and some.random() < 0.5 else upper * (10 if analyte == "Whole" else 1),
                    unit=unit,
                )  # fmt: skip

    def lay(self, connection: duckdb.DuckDBPyConnection) -> None:
        """Make the table of comparands."""
        connection.execute(PLAIN)
        names = ("sample_no", *PLACE, "analyte", "detected", "doubt", "lower", "upper", "unit")
        types = f"id BIGINT, sample_no BIGINT, {PLACE_TYPES}, analyte VARCHAR, detected BOOLEAN, doubt VARCHAR, lower {AMOUNT}, upper {AMOUNT}, unit VARCHAR, shown VARCHAR"
        rows = [
            (at, *(getattr(one, name) for name in names), "" if one.upper is None or at % 5 == 0 else f"{one.upper}.0")
            for at, one in enumerate(self.results)
        ]
        fill(connection, "comparand", types, rows)

    def of(self, sample: int, analyte: str) -> list[Any]:
        """The results of an analyte that tell of a sample."""
        return [
            one
            for one in self._near(sample)
            if one.analyte == analyte and _tells_of(one, self.samples[sample], self.places[sample])
        ]

    def _near(self, sample: int) -> list[Any]:
        if not hasattr(self, "_by_number"):
            self._by_number: dict[str, list[Any]] = {}
            for one in self.results:
                self._by_number.setdefault(one.sample_id, []).append(one)
        return self._by_number[self.samples[sample]["sample_id"]]


@pytest.fixture(scope="module")
def world() -> _World:
    return _World(1)


_SHOWS_NEITHER = {"blank", "rejected", "late", "only_total", "parts_disagree"}


def _usable(found: list[Any]) -> list[Any]:
    return [one for one in found if one.doubt not in ("leachate", "other_fraction")]


def _surely(found: list[Any]) -> bool:
    return any(one.detected and one.doubt not in ("rejected", "blank", "only_total") for one in found)


def _upper(found: list[Any]) -> int | None:
    uppers = [one.upper for one in found]
    return None if None in uppers else max(uppers)


def _present(world: _World, sample: int, presence: Presence) -> str | None:
    """The state; None where the results of the sample say nothing at all."""
    asked = [
        presence.analyte,
        *(presence.share.parts if presence.share else ()),
        *([presence.share.of] if presence.share else ()),
    ]
    found = {analyte: _usable(world.of(sample, analyte)) for analyte in asked}
    main = found[presence.analyte]
    if not any(found.values()):
        return None
    if not main:
        return "unknown"
    if _surely(main):
        return "detected"
    # a total that is not detected shows the absence of what is part of it
    if any(one.doubt in _SHOWS_NEITHER and (one.detected or one.doubt != "only_total") for one in main) or _upper(main) is None:
        return "unknown"
    at_most = presence.limit_at_most
    if at_most is not None and (any(one.unit != presence.limit_unit for one in main) or (_upper(main) or 0) > at_most):
        return "unknown"
    if presence.share is None:
        return "not_detected"
    whole, parts = found[presence.share.of], [found[part] for part in presence.share.parts]
    if not _surely(whole) or not all(parts):
        return "unknown"
    least, most = sum(min(one.lower for one in part) for part in parts), [_upper(part) for part in parts]
    whole_upper = _upper(whole)
    if whole_upper is not None and least >= presence.share.below * whole_upper:
        return "detected"
    if None not in most and sum(one or 0 for one in most) < presence.share.below * min(one.lower for one in whole):
        return "not_detected"
    return "unknown"


@pytest.mark.parametrize("limit", [None, Decimal(2)])
@pytest.mark.parametrize("share", [None, Share(("Toluene", "Xylenes"), "Whole", Decimal("0.2"))])
def test_presence_follows_the_rule(world: _World, limit: Decimal | None, share: Share | None) -> None:
    presence = Presence("benzene", "Benzene", limit, "u" if limit else "", share)
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        world.lay(connection)
        found = states(connection, presence)
    said = {sample: state.state for sample, state in found.items()}
    told = {
        sample: state.told for sample, state in found.items() if state.told.startswith("benzene ") and state.state == "detected"
    }
    amounts = {sample: words.split(" ")[1] for sample, words in told.items()}
    assert {sample: Decimal(amount) for sample, amount in amounts.items()} == {
        sample: _highest(world.of(sample, "Benzene")) for sample in told
    }
    assert {amount[1:] for amount in amounts.values()} == {"", ".0"}, "in the digits reported, where there are some"
    rule = {sample: _present(world, sample, presence) for sample in world.samples}
    assert said == {sample: state for sample, state in rule.items() if state is not None}
    assert set(said.values()) == {"detected", "not_detected", "unknown"}


def _highest(results: list[Any]) -> int:
    counted = [one for one in results if one.doubt not in ("leachate", "other_fraction")]
    return max(one.lower if one.upper is None else one.upper for one in counted)


def _range(low: int | None, high: int | None, ends: str = "[)") -> Range:
    as_decimal = [None if end is None else Decimal(end) for end in (low, high)]
    return Range(as_decimal[0], ends[0] == "[", as_decimal[1], ends[1] == "]")


RANGES = {"low": _range(None, 2, "(]"), "middle": _range(2, 4, "(]"), "high": _range(6, None, "[)")}


def _holding(low: Any, high: Any) -> str:
    """The range that holds both ends and no other does; a gap lies from 4 to 6."""
    held = {name for name, (least, most) in {"low": (None, 2), "middle": (2, 4)}.items()
            if (least is None or low > least) and high <= most}  # fmt: skip
    if low >= 6:
        held.add("high")
    if held:
        return held.pop()
    return "outside" if low > 4 and high < 6 else "unknown"


FEET = {"m": Decimal(1) / Decimal("0.3048"), "ft": Decimal(1), "in": Decimal(1) / 12, "cm": Decimal(1) / Decimal("30.48")}


@pytest.mark.parametrize("measured", ["depth", "depth_top", "depth_bottom"])
def test_a_depth_lies_in_the_range_that_holds_all_of_it(measured: str) -> None:
    """Lengths of NIST Special Publication 811, Appendix B: a foot is 0.3048 m, an inch a twelfth of it."""
    some = random.Random(2)
    condition = Condition("depth", "sample", tuple(RANGES), "depth", "strictest", measured=measured, unit="ft", ranges=RANGES)
    rows, rule = [], {}
    for number in range(600):
        unit = some.choice(("ft", "ft", "m", "in", "cm", ""))
        scale = {"in": 12, "cm": 30}.get(unit, 1)
        top, bottom = (some.choice((None, *(scale * step for step in range(8)))) for _ in range(2))
        rows.append((number, top, bottom, unit))
        low = {"depth_bottom": bottom}.get(measured, top)
        high = {"depth_top": top}.get(measured, bottom)
        high = low if high is None else high
        if low is not None and high is not None and unit:
            ends = sorted(FEET[unit] * end for end in (low, high))
            rule[number] = _holding(*ends)
    with duckdb.connect() as connection:
        fill(connection, "comparand", "id BIGINT, depth_top DECIMAL(9, 2), depth_bottom DECIMAL(9, 2), depth_unit VARCHAR", rows)
        said = {number: state.state for number, state in depth_states(connection, condition)}
    assert said == rule
    assert set(said.values()) == {"low", "middle", "high", "outside", *(["unknown"] if measured == "depth" else [])}


@pytest.mark.parametrize(("unit", "missing_basis"), [("mg/kg", "open"), ("mg/kg", "dry"), ("", "dry"), ("ug/L", "as_received")])
def test_an_amount_lies_in_the_range_that_holds_every_run_of_it(world: _World, unit: str, missing_basis: str) -> None:
    """Each usable by itself, in the unit of the ranges; where these have none, in one that is no concentration."""
    some = random.Random(3)
    condition = Condition("lead", "results", tuple(RANGES), "lead", "strictest", analyte="Lead", unit=unit, ranges=RANGES)
    results = [
        _lead(some, at, one)
        for at, one in enumerate(world.results)
        if one.analyte == "Lead"
        for _ in range(some.choice((1, 1, 2)))
    ]
    results = [SimpleNamespace(**{**vars(one), "row_id": at}) for at, one in enumerate(results)]
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        world.lay(connection)
        names = (
            "row_id",
            *PLACE,
            "analyte",
            "fraction",
            "unit",
            "basis",
            "detected",
            "state",
            "sign",
            "is_over_range",
            "is_rejected",
            "rank",
            "value",
        )
        fill(
            connection, "ranked",
            f"row_id BIGINT, {PLACE_TYPES}, analyte VARCHAR, fraction VARCHAR, unit VARCHAR, basis VARCHAR, detected BOOLEAN, state VARCHAR, "
            f"sign VARCHAR, is_over_range BOOLEAN, is_rejected BOOLEAN, rank BIGINT, value {AMOUNT}",
            [tuple(getattr(one, name) for name in names) for one in results],
        )  # fmt: skip
        fill(
            connection, "dry", f"row_id BIGINT, value {AMOUNT}", [(one.row_id, one.dry) for one in results if one.dry is not None]
        )
        fill(connection, "reviewed", "row_id BIGINT, qualifier VARCHAR, blank BOOLEAN",
             [(one.row_id, *one.review) for one in results if one.review])  # fmt: skip
        said = {sample: state.state for sample, state in measured_states(connection, condition, missing_basis).items()}
    rule, numbered = {}, defaultdict(list)
    for one in results:
        if one.analyte == "Lead" and one.rank == 1 and one.fraction != "leachate":
            numbered[one.sample_id].append(one)
    for sample, place in world.samples.items():
        told = [one for one in numbered[place["sample_id"]] if _tells_of(one, place, world.places[sample])]
        if told:
            rule[sample] = _measured(told, unit, missing_basis)
    assert said == rule
    assert set(said.values()) == {"low", "middle", "high", "outside", "unknown"}


def _lead(some: random.Random, at: int, one: Any) -> Any:
    odd = some.random() < 0.4
    return SimpleNamespace(
        **{name: getattr(one, name) for name in PLACE}, analyte="Lead" if some.random() < 0.95 else "Zinc",
        fraction="leachate" if odd and some.random() < 0.2 else "", unit=some.choice(("mg/kg", "mg/kg", "ug/L", "", "pH")),
        basis=some.choice(("", "dry", "as_received")) if odd else "dry", detected=not odd or some.random() < 0.8,
        state=some.choice(("number", "trace")) if odd else "number", sign=some.choice(("", "", ">")) if odd else "",
        is_over_range=odd and some.random() < 0.15, is_rejected=odd and some.random() < 0.15, rank=2 if odd and some.random() < 0.15 else 1,
        value=some.randrange(9), dry=some.randrange(9) if odd and some.random() < 0.3 else None,
        review=(some.choice(("", "estimated", "rejected")), some.random() < 0.3) if odd and some.random() < 0.3 else None,
    )  # fmt: skip


def _measured(told: list[Any], unit: str, missing_basis: str) -> str:
    for one in told:
        qualifier, in_blank = one.review or ("", False)
        if not one.detected or one.state != "number" or one.sign or one.is_over_range or one.is_rejected:
            return "unknown"
        if qualifier == "rejected" or in_blank:
            return "unknown"
        known_basis = one.dry is not None or one.basis == "dry" or (not one.basis and missing_basis == "dry")
        if one.medium in ("soil", "sediment") and one.unit == "mg/kg" and not known_basis:
            return "unknown"
    units = {one.unit for one in told}
    if len(units) > 1 or (units != {unit} if unit else units & {"mg/kg", "ug/L"}):
        return "unknown"
    amounts = [one.dry if one.dry is not None else one.value for one in told]
    return _holding(min(amounts), max(amounts))


@pytest.mark.parametrize(
    ("depths", "told"), [((2, None, "ft"), "depth 2 ft"), ((2, 2, "m"), "depth 2 m"), ((2, "3.5", "ft"), "depth 2 to 3.5 ft")]
)
def test_a_depth_is_told_as_it_was_given(depths: tuple[Any, ...], told: str) -> None:
    condition = Condition("depth", "sample", tuple(RANGES), "depth", "strictest", measured="depth", unit="ft", ranges=RANGES)
    with duckdb.connect() as connection:
        fill(
            connection,
            "comparand",
            "id BIGINT, depth_top DECIMAL(9, 2), depth_bottom DECIMAL(9, 2), depth_unit VARCHAR",
            [(1, *depths)],
        )
        ((_, state),) = depth_states(connection, condition)
    assert state.told.startswith(told)
