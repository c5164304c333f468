"""Blanks of metals far below zero: the instrument read low, so results near it may be too low or missed."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.normal.values import read_number
from screening.quality.association import paired
from screening.quality.editions import Edition
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.shown import marked_results, plain
from screening.quality.sorts import is_inorganic
from screening.vocabulary.units import read_unit

if TYPE_CHECKING:
    import duckdb

_BELOW = """
SELECT k.row_id, k.sample_id, k.analyte, k.method, k.unit, v.result, v.unit, k.medium, coalesce(k.quantitation_limit, k.reporting_limit)
FROM known AS k JOIN delivered AS v USING (row_id)
WHERE k.sample_kind = $kind AND regexp_matches(trim(v.result), '^[-−]') AND regexp_matches(v.result, '[1-9]')
ORDER BY k.sample_id, k.analyte, k.row_id
"""
_COLUMNS = "q.row_id AS blank_id, r.row_id AS row_id, r.sample_id AS sample_id, r.detected AS detected, r.value AS value"


def negative_blanks(
    connection: duckdb.DuckDBPyConnection, edition: Edition, kind: str, done: Checked, tables: str, ways: tuple[str, ...]
) -> list[Finding]:
    """A finding for each blank of a metal at or below minus its limit, and for the results that it makes doubtful.

    ``tables`` is the SQL of q and r (see `screening.quality.blanks`), ``ways`` how they belong together.
    """
    rule = next((one for one in edition.rules("blanks") if one["rule"] == "below_minus_limit"), None)
    if rule is None:
        return []
    found, limitless = {}, 0
    for row in connection.execute(_BELOW, {"kind": kind}).fetchall():
        amount = _amount(row)
        if amount is None or not is_inorganic(row[2], row[3]):
            continue
        if row[8] is None:
            limitless += 1
        elif amount <= -row[8]:
            found[row[0]] = (row, amount)
    if limitless:
        done.not_checkable.append(f"{limitless} {kind.replace('_', ' ')} results of metals lie below zero and state no limit")
    if not found:
        return []
    pairs = paired(_COLUMNS, ways, "q.analyte = r.analyte AND q.unit = r.unit")
    reached: dict[int, list[Any]] = {}
    for one in connection.execute(
        f"WITH {tables} SELECT * FROM ({pairs}) ORDER BY sample_id, row_id", {"blanks": list(found)}
    ).fetchall():
        reached.setdefault(one[0], []).append(one)
    made, times, words = [], rule.needed("times"), kind.replace("_", " ")
    for blank_id, (row, amount) in found.items():
        criterion = f"a {words} above minus its limit of {plain(row[8])} {row[4]}"
        observed = f"{plain(amount)} {row[4]} in {row[1]}"
        near = [one for one in reached.get(blank_id, []) if not one[3] or one[4] is None or one[4] < times * -amount]
        for _, row_id, sample, detected, value in near:
            action = rule.action(detected=detected)
            shown = f"{plain(value)} {row[4]}" if detected and value is not None else "not detected"
            made.append(
                Finding(
                    kind, sample, row[2], f"{criterion}, or {plain(times)} times as much in the sample", f"{shown}; {observed}",
                    ACTIONS[action], marked(action), f"{kind}_below_zero", rule.basis, (row_id,) if marked(action) else (),
                )
            )  # fmt: skip
        told = f"{marked_results(len(near))}; nothing is added"
        made.append(Finding(kind, row[1], row[2], criterion, observed, told, "", f"{kind}_below_zero", rule.basis))
    return made


def _amount(row: Any) -> Decimal | None:
    """The delivered amount in the unit of the row; None where it cannot be read."""
    number, unit = read_number(row[5], ".").number, read_unit(row[6], row[7] or None)
    if number is None or unit.problem or unit.unit != row[4]:
        return None
    return unit.convert(number)
