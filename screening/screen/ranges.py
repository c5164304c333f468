"""Conditions that a measured amount decides: the depth of the sample, or its pH or hardness."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.levels.facts import Condition
from screening.screen.states import SAME, SAMPLES, State

if TYPE_CHECKING:
    import duckdb

METRES = {"m": Decimal(1), "ft": Decimal("0.3048"), "in": Decimal("0.0254"), "cm": Decimal("0.01")}
"""Metres in each unit of depth, exact (NIST Special Publication 811, Appendix B)."""

_DEPTHS = {
    "depth_top": ("depth_top", "depth_top"),
    "depth_bottom": ("depth_bottom", "depth_bottom"),
    "depth": ("depth_top", "depth_bottom"),
}

_MEASURED = """
WITH measured AS (
    SELECT s.sample_no, r.unit, CASE WHEN d.row_id IS NULL THEN r.value ELSE d.value END AS amount,
        r.detected AND r.state = 'number' AND r.sign = '' AND NOT r.is_over_range AND NOT r.is_rejected
            AND coalesce(v.qualifier, '') <> 'rejected' AND NOT coalesce(v.blank, false)
            AND (d.row_id IS NOT NULL OR r.medium NOT IN ('soil', 'sediment') OR r.unit <> 'mg/kg'
                 OR r.basis = 'dry' OR (r.basis = '' AND $missing_basis = 'dry')) AS usable
    FROM ranked AS r
    JOIN sample AS s ON {same}
    LEFT JOIN dry AS d USING (row_id)
    LEFT JOIN reviewed AS v USING (row_id)
    WHERE r.analyte = $analyte AND r.rank = 1 AND r.fraction <> 'leachate'
)
SELECT sample_no, min(amount), max(amount), bool_and(usable), min(unit), max(unit) FROM measured GROUP BY sample_no
""".replace("{same}", SAME)


def depth_states(connection: duckdb.DuckDBPyConnection, condition: Condition) -> Iterator[tuple[int, State]]:
    """The range in which each comparand's depth lies, by the comparand's id; reads ``comparand``."""
    top, bottom = _DEPTHS[condition.measured]
    rows = connection.execute(
        f"SELECT id, {top}, coalesce({bottom}, {top}), depth_unit FROM comparand WHERE {top} IS NOT NULL AND depth_unit <> ''"
    ).fetchall()
    for number, low, high, unit in rows:
        shown = f"{low.normalize():f}" if low == high else f"{low.normalize():f} to {high.normalize():f}"
        ends = [amount * METRES[unit] / METRES[condition.unit] for amount in (low, high)]
        yield number, _state(condition, min(ends), max(ends), f"{condition.title} {shown} {unit}")


def measured_states(connection: duckdb.DuckDBPyConnection, condition: Condition, missing_basis: str) -> Mapping[int, State]:
    """The range in which an analyte of the sample lies, by ``sample_no``.

    Reads ``comparand``, ``ranked``, ``dry`` and ``reviewed``. An amount that is not detected, rejected, only bounded
    ('>', over the calibrated range), in a blank as well or of unknown dry weight measures nothing; a sample with such
    a one is not measured.
    """
    asked = {"analyte": condition.analyte, "missing_basis": missing_basis}
    connection.execute(SAMPLES)
    found = {}
    for sample, low, high, usable, unit, other in connection.execute(_MEASURED, asked).fetchall():
        if not usable:
            found[sample] = State("unknown", f"{condition.title} is not measured by a usable result")
            continue
        told = f"{condition.title} {low.normalize():f}" + (f" to {high.normalize():f}" if low != high else "")
        if unit != other or not _comparable(condition, unit):
            found[sample] = State("unknown", f"{told} {unit or 'without unit'} cannot be compared")
        else:
            found[sample] = _state(condition, low, high, told)
    return found


def _comparable(condition: Condition, unit: str) -> bool:
    return unit == condition.unit if condition.unit else unit not in ("mg/kg", "ug/L")


def _state(condition: Condition, low: Decimal, high: Decimal, told: str) -> State:
    """The one range that holds everything from ``low`` to ``high``; unknown where it holds only a part of it."""
    touched = [value for value, span in condition.ranges.items() if span.touches(low, high)]
    if not touched:
        return State("outside", f"{told} lies in no range of the table")
    span = condition.ranges[touched[0]]
    if len(touched) == 1 and span.holds(low) and span.holds(high):
        return State(touched[0], told)
    return State("unknown", f"{told} lies across ranges of the table")
