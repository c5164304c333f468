"""Conditions that a measured amount decides: the depth of the sample, or its pH or hardness."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.levels.facts import Condition, Range
from screening.screen.states import State

if TYPE_CHECKING:
    import duckdb

FOOT = Decimal("0.3048")
"""Metres in an international foot, exact (NIST Special Publication 811, Appendix B)."""

_DEPTHS = {
    "depth_top": ("depth_top", "depth_top"),
    "depth_bottom": ("depth_bottom", "depth_bottom"),
    "depth": ("depth_top", "depth_bottom"),
}

_OF_SAMPLE = """
SELECT sample_id, sample_kind, min(value), max(value), bool_and(detected), any_value(unit), count(DISTINCT unit)
FROM ranked WHERE analyte = ? AND rank = 1 AND value IS NOT NULL GROUP BY sample_id, sample_kind
"""


def depth_states(connection: duckdb.DuckDBPyConnection, condition: Condition) -> Iterator[tuple[int, State]]:
    """The range in which each comparand's depth lies, by the comparand's id; reads ``comparand``."""
    top, bottom = _DEPTHS[condition.measured]
    rows = connection.execute(
        f"SELECT id, {top}, coalesce({bottom}, {top}), depth_unit FROM comparand WHERE {top} IS NOT NULL AND depth_unit <> ''"
    ).fetchall()
    for number, low, high, unit in rows:
        shown = f"{low.normalize():f}" if low == high else f"{low.normalize():f} to {high.normalize():f}"
        ends = [_in_unit(amount, unit, condition.unit) for amount in (low, high)]
        yield number, _state(condition, ends[0], ends[1], f"{condition.title} {shown} {unit}")


def _in_unit(amount: Decimal, unit: str, wanted: str) -> Decimal:
    if unit == wanted:
        return amount
    return amount * FOOT if wanted == "m" else amount / FOOT


def measured_states(connection: duckdb.DuckDBPyConnection, condition: Condition) -> Mapping[tuple[str, str], State]:
    """The range in which an analyte of the sample lies, by sample number and kind; reads ``ranked``."""
    found = {}
    for sample, kind, low, high, detected, unit, units in connection.execute(_OF_SAMPLE, [condition.analyte]).fetchall():
        told = f"{condition.title} {low.normalize():f}" + (f" to {high.normalize():f}" if low != high else "")
        if not detected or units > 1 or (condition.unit and unit != condition.unit):
            found[sample, kind] = State("unknown", f"{told} {unit or 'without unit'} cannot be compared")
        else:
            found[sample, kind] = _state(condition, low, high, told)
    return found


def _state(condition: Condition, low: Decimal, high: Decimal, told: str) -> State:
    fitting = {value for value, span in condition.ranges.items() for end in (low, high) if span.holds(end)}
    if len(fitting) == 1 and all(_held(condition.ranges, end) for end in (low, high)):
        return State(fitting.pop(), told)
    if not fitting:
        return State("outside", f"{told} lies in no range of the table")
    return State("unknown", f"{told} lies across ranges of the table")


def _held(ranges: Mapping[str, Range], amount: Decimal) -> bool:
    return any(span.holds(amount) for span in ranges.values())
