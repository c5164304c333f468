"""The amounts of a row (result and limits) in the normal unit, and whether the analyte was detected."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.deliverable.columns import Column, Frame, spread, spread_parts
from screening.normal.values import PLACES, Reported, read_number, read_reported
from screening.vocabulary.units import Unit, read_unit

if TYPE_CHECKING:
    from screening.deliverable.columns import Flags

SOLID_MEDIA = ("soil", "sediment")
WATER_MEDIA = ("groundwater", "surface_water", "other_water")
LIMITS = ("reporting_limit", "quantitation_limit", "detection_limit")
"""In the order in which one stands for a non-detect that carries no number of its own."""
LIMIT_UNITS = ("limit_unit", *(f"{name}_unit" for name in LIMITS))
"""The unit of all limits of a row, and of each alone."""

_DIGIT = re.compile(r"\d")
_UNDILUTED = re.compile(r"1(?:\.0*)?|")
_ZERO = re.compile(r"-?0*\.?0*")


@dataclass(frozen=True)
class Problem:
    """Why rows are held, None where they are not, and what is proposed for the field."""

    field: str
    reasons: Column
    proposals: Column | str = ""


@dataclass(frozen=True)
class Amounts:
    """``columns``: state, detected, sign, value, nondetect_limit, limit_from, the three limits, unit, unit_kind,
    unit_basis, delivered_number, all as text ('' where absent)."""

    columns: dict[str, Column]
    problems: list[Problem]
    notes: list[str]


@dataclass(frozen=True)
class _Number:
    text: str = ""
    problem: str | None = None
    proposal: str | None = None


def amounts(rows: Frame, medium: Column, effects: Column, decimal: str, *, dilution_included: bool = True) -> Amounts:
    """Read results and limits of all rows, once for each distinct text and unit.

    ``effects`` are those of the row's qualifiers. Limits are multiplied by the dilution only where the layout says that it
    is not in them yet (``dilution_included`` false); results and limits written behind '<' never are.
    """
    problems: list[Problem] = []
    notes: list[str] = []
    none = Column.full("", len(rows))
    result = rows["result"]
    numbered = result.flags(_DIGIT.search)
    limit_given = {name: rows[name] != "" for name in LIMITS}
    has_limit = limit_given["reporting_limit"] | limit_given["quantitation_limit"] | limit_given["detection_limit"]
    unit_text = _unit_of_result(rows, numbered, notes)
    # without any amount there is nothing that a unit could change: the row stays, as a non-detect without a limit
    normal = medium.map(lambda of_medium: "mg/kg" if of_medium in SOLID_MEDIA else "ug/L")
    amountless = ~has_limit & ~numbered & (unit_text == "") & medium.isin([*SOLID_MEDIA, *WATER_MEDIA])
    unit_text = unit_text.mask(amountless, normal)

    def unit_of(text: str, of_medium: str) -> Unit:
        return read_unit(text, of_medium or None)

    unit = spread_parts([unit_text, medium], unit_of, ["unit", "kind", "basis", "note", "problem", "proposal"])
    reported = spread_parts([result], lambda text: read_reported(text, decimal), ["state", "sign", "problem", "proposal"])
    flagged = effects.flags(lambda words: "not_detected" in words.split())

    silent = (reported["state"] == "blank") & ~flagged
    blank = _where(silent, "the result is blank: not detected, or not analysed?")
    problems.append(Problem("result", blank, none.mask(silent & has_limit, "ND")))
    problems.append(Problem("result", reported["problem"]))
    bare = result.flags(lambda text: text.strip() == "<") & ~has_limit
    problems.append(
        Problem(
            "result", _where(bare, "the sign stands without a number and no limit is given: below what?"), none.mask(bare, "ND")
        )
    )
    needs_unit = reported["state"] != "not_analysed"
    problems.append(Problem("unit", unit["problem"].where(needs_unit, None), unit["proposal"]))

    def converted(text: str, unit_text: str, of_medium: str, read: Callable[[str, str], Reported] = read_number) -> _Number:
        found = read(text, decimal)
        delivered_unit = unit_of(unit_text, of_medium)
        if found.number is None or delivered_unit.problem:
            return _Number(problem=found.problem)
        kept = _kept(delivered_unit.convert(found.number))
        return replace(kept, proposal=f"{Decimal(f'{found.number:.15g}'):f}") if kept.problem else kept

    number = spread_parts(
        [result, unit_text, medium],
        lambda text, of_unit, of_medium: converted(text, of_unit, of_medium, read_reported),
        ["text", "problem", "proposal"],
    )
    problems.append(Problem("result", number["problem"], number["proposal"]))
    delivered = result.map(lambda text: _kept(read_reported(text, decimal).number).text)
    limits = {}
    factor = none if dilution_included else rows["dilution"]

    def diluted(text: str, of_unit: str, of_medium: str, by: str) -> _Number:
        times = read_number(by, decimal).number
        found = converted(text, of_unit, of_medium)
        return _kept(Decimal(found.text) * times) if found.text and times is not None else found

    if dilution_included and (has_limit & ~rows["dilution"].flags(_UNDILUTED.fullmatch)).any():
        notes.append("limits of diluted analyses are taken as delivered, with the dilution in them")
    if (factor != "").any():
        notes.append("limits multiplied by the dilution, as the layout says that it is not in them")
    for name in LIMITS:
        own_unit, alone = rows[f"{name}_unit"], rows[f"{name}_unit"] != ""
        delivered_unit = own_unit.mask(~alone, rows["limit_unit"])
        of_limit = delivered_unit.mask(delivered_unit == "", unit_text)
        doubt = spread_parts([of_limit, unit_text, medium], _limit_unit, ["problem", "proposal"])
        given_limit = limit_given[name] & (of_limit != unit_text) & needs_unit
        for field, where in ((f"{name}_unit", alone), ("limit_unit", ~alone)):
            problems.append(Problem(field, doubt["problem"].where(given_limit & where, None), doubt["proposal"]))
        read = spread_parts([rows[name], of_limit, medium, factor], diluted, ["text", "problem"])
        problems.append(Problem(name, read["problem"]))
        limits[name] = read["text"]
    for name in LIMITS:
        problems.append(_unit_in_doubt(rows, name, unit_text, medium))

    text = number["text"]
    negative = text.flags(lambda amount: amount.startswith("-"))
    zero = text.flags(lambda amount: amount and _ZERO.fullmatch(amount))
    concentration = unit["kind"].isin(["mass_per_mass", "mass_per_volume"])
    placeholder = (zero | (negative & has_limit)) & concentration & (reported["state"] == "number")
    if placeholder.any():
        notes.append("a result of 0, or below 0 with a limit beside it, is taken as not detected")
    problems.append(Problem("result", _where(negative & ~has_limit & concentration, "a result below 0 without a limit")))
    not_detected = (reported["state"] == "not_detected") | flagged | placeholder
    own_limit = text.where(not_detected & ~zero & ~negative, "")
    limit, limit_from = own_limit, none.mask(own_limit != "", "result text")
    # the number behind '<' is the limit that the laboratory reports to, unless a column says otherwise
    limits["reporting_limit"] = limits["reporting_limit"].mask(limits["reporting_limit"] == "", own_limit)
    for name in LIMITS:
        free = not_detected & (limit == "") & (limits[name] != "")
        limit, limit_from = limit.mask(free, limits[name]), limit_from.mask(free, name.replace("_", " "))
    if (not_detected & (limit == "")).any():
        notes.append("some non-detects come without any limit; they stay open wherever a level is listed")
    notes += [note for note in unit["note"].unique() if note is not None]
    state = reported["state"].mask(not_detected & (reported["state"] != "not_analysed"), "not_detected")
    columns = {
        "state": state,
        "detected": state.map(lambda word: "true" if word in ("number", "trace") else "false"),
        "sign": reported["sign"].where(state == "number", ""),
        "value": text.where(state == "number", ""),
        "nondetect_limit": limit,
        "limit_from": limit_from,
        **limits,
        "unit": unit["unit"].replace({None: ""}),
        "unit_kind": unit["kind"],
        "unit_basis": unit["basis"].replace({None: ""}),
        "delivered_number": delivered,
    }
    return Amounts(columns, problems, notes)


def _unit_of_result(rows: Frame, numbered: Flags, notes: list[str]) -> Column:
    """The delivered unit, else that of the limits; a number beside limits in two units has none."""
    delivered = unit = rows["unit"]
    for name in LIMIT_UNITS:
        taken = (unit == "") & (rows[name] != "")
        if (taken & numbered).any():
            notes.append("no unit stands beside some results: that of their limit is taken")
        unit = unit.mask(taken, rows[name])
    unstated = (delivered == "") & numbered
    for name in LIMIT_UNITS:
        unit = unit.mask(unstated & (rows[name] != "") & (rows[name] != unit), "")
    return unit


@dataclass(frozen=True)
class _Doubt:
    problem: str | None = None
    proposal: str | None = None


def _limit_unit(text: str, of_result: str, medium: str) -> _Doubt:
    """What stands against a limit's unit beside the unit of the result."""
    limit, result = read_unit(text, medium or None), read_unit(of_result, medium or None)
    if limit.problem:
        return _Doubt(f"the unit of the limit: {limit.problem}", limit.proposal)
    if result.problem is None and limit.unit != result.unit:
        return _Doubt(f"the limit is given in {text}, the result in {of_result}", of_result)
    if limit.basis and result.basis and limit.basis != result.basis:
        return _Doubt(f"the limit is given per {text}, the result per {of_result}", of_result)
    return _Doubt()


def _unit_in_doubt(rows: Frame, name: str, unit_text: Column, medium: Column) -> Problem:
    """A limit without a unit of its own, where another limit of the row has one that is not that of the result."""
    bare = (rows[name] != "") & (rows["limit_unit"] == "") & (rows[f"{name}_unit"] == "")
    reasons, proposals = Column.full(None, len(rows)), Column.full("", len(rows))
    for other in LIMITS:
        beside = rows[f"{other}_unit"]
        asked = bare & (rows[other] != "") & (beside != "") & (beside != unit_text)
        if asked.any():
            differs = spread([beside, unit_text, medium], _differ)
            what, of_other = name.replace("_", " "), other.replace("_", " ")
            told = f"the {what} has no unit: that of the result (" + unit_text + f") or of the {of_other} (" + beside + ")?"
            reasons = reasons.mask(asked & differs.flags(bool), told)
            proposals = proposals.mask(asked & differs.flags(bool), unit_text + " | " + beside)
    return Problem(f"{name}_unit", reasons, proposals)


def _differ(one: str, two: str, medium: str) -> bool:
    first, second = read_unit(one, medium or None), read_unit(two, medium or None)
    same = (first.unit, first.factor) == (second.unit, second.factor)
    return not (same or first.problem or second.problem)


def _where(flags: Flags, reason: str) -> Column:
    return Column.full(None, len(flags)).mask(flags, reason)


def _kept(number: Decimal | None) -> _Number:
    if number is None:
        return _Number()
    exponent = number.as_tuple().exponent
    if isinstance(exponent, int) and -exponent > PLACES:
        return _Number(problem=f"{number} has more than {PLACES} decimals in the normal unit; the store keeps no more")
    return _Number(f"{number:f}")
