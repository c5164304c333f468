"""The amounts of a row (result and limits) in the normal unit, and whether the analyte was detected."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal

import pandas as pd

from screening.normal.spread import spread
from screening.normal.values import PLACES, Reported, read_number, read_reported
from screening.vocabulary.units import Unit, read_unit

SOLID_MEDIA = ("soil", "sediment")
WATER_MEDIA = ("groundwater", "surface_water", "other_water")
LIMITS = ("reporting_limit", "quantitation_limit", "detection_limit")
"""In the order in which one stands for a non-detect that carries no number of its own."""
LIMIT_UNITS = ("limit_unit", *(f"{name}_unit" for name in LIMITS))
"""The unit of all limits of a row, and of each alone."""


@dataclass(frozen=True)
class Amounts:
    """``frame``: state, detected, sign, value, nondetect_limit, limit_from, the three limits, unit, unit_kind,
    unit_basis, delivered_number, all as text ('' where absent). ``problems``: field, reasons, proposals."""

    frame: pd.DataFrame
    problems: list[tuple[str, pd.Series, pd.Series]]
    notes: list[str]


@dataclass(frozen=True)
class _Number:
    text: str = ""
    problem: str | None = None
    proposal: str | None = None


def amounts(
    rows: pd.DataFrame, medium: pd.Series, marks: pd.DataFrame, decimal: str, *, dilution_included: bool = True
) -> Amounts:
    """Read results and limits of all rows, once for each distinct text and unit.

    Limits are multiplied by the dilution only where the layout says that it is not in them yet
    (``dilution_included`` false); results and limits written behind '<' never are.
    """
    problems: list[tuple[str, pd.Series, pd.Series]] = []
    notes: list[str] = []
    none = pd.Series("", index=rows.index, dtype="str")
    unit_text = _unit_of_result(rows, notes)
    # without any amount there is nothing that a unit could change: the row stays, as a non-detect without a limit
    amountless = (rows[list(LIMITS)] == "").all(axis=1) & ~rows["result"].str.contains(r"\d", regex=True)
    normal = medium.isin(SOLID_MEDIA).map({True: "mg/kg", False: "ug/L"}).astype("str")
    unit_text = unit_text.mask(amountless & (unit_text == "") & medium.isin([*SOLID_MEDIA, *WATER_MEDIA]), normal)

    def unit_of(text: str, of_medium: str) -> Unit:
        return read_unit(text, of_medium or None)

    unit = spread([unit_text, medium], unit_of, ["unit", "kind", "basis", "note", "problem", "proposal"])
    reported = spread([rows["result"]], lambda text: read_reported(text, decimal), ["state", "sign", "problem", "proposal"])
    effects = " " + marks["effects"] + " "
    flagged = effects.str.contains(" not_detected ", regex=False)
    has_limit = (rows[list(LIMITS)] != "").any(axis=1)

    blank = reported["state"] == "blank"
    silent = blank & ~flagged
    problems.append(
        ("result", _where(silent, "the result is blank: not detected, or not analysed?"), none.mask(silent & has_limit, "ND"))
    )
    problems.append(("result", reported["problem"], none))
    bare = rows["result"].str.strip().isin(["<"]) & ~has_limit
    problems.append(
        ("result", _where(bare, "the sign stands without a number and no limit is given: below what?"), none.mask(bare, "ND"))
    )
    needs_unit = reported["state"] != "not_analysed"
    problems.append(("unit", unit["problem"].where(needs_unit, None), unit["proposal"].fillna("")))

    def converted(text: str, unit_text: str, of_medium: str, read: Callable[[str, str], Reported] = read_number) -> _Number:
        found = read(text, decimal)
        delivered_unit = unit_of(unit_text, of_medium)
        if found.number is None or delivered_unit.problem:
            return _Number(problem=found.problem)
        return replace(_kept(delivered_unit.convert(found.number)), proposal=f"{Decimal(f'{found.number:.15g}'):f}")

    number = spread(
        [rows["result"], unit_text, medium],
        lambda text, of_unit, of_medium: converted(text, of_unit, of_medium, read_reported),
        ["text", "problem", "proposal"],
    )
    problems.append(("result", number["problem"], number["proposal"].fillna("")))
    delivered = spread([rows["result"]], lambda text: _kept(read_reported(text, decimal).number), ["text"])["text"]
    limits = {}
    factor = none if dilution_included else rows["dilution"]

    def diluted(text: str, of_unit: str, of_medium: str, by: str) -> _Number:
        times = read_number(by, decimal).number
        found = converted(text, of_unit, of_medium)
        return _kept(Decimal(found.text) * times) if found.text and times is not None else found

    if dilution_included and (has_limit & ~rows["dilution"].str.fullmatch(r"1(?:\.0*)?|")).any():
        notes.append("limits of diluted analyses are taken as delivered, with the dilution in them")
    if (factor != "").any():
        notes.append("limits multiplied by the dilution, as the layout says that it is not in them")
    for name in LIMITS:
        delivered_unit = rows[f"{name}_unit"].mask(rows[f"{name}_unit"] == "", rows["limit_unit"])
        of_limit = delivered_unit.mask(delivered_unit == "", unit_text)
        doubt = spread([of_limit, unit_text, medium], _limit_unit, ["problem", "proposal"])
        given_limit = (rows[name] != "") & (of_limit != unit_text) & needs_unit
        alone = rows[f"{name}_unit"] != ""
        for field, where in ((f"{name}_unit", alone), ("limit_unit", ~alone)):
            problems.append((field, doubt["problem"].where(given_limit & where, None), doubt["proposal"].fillna("")))
        read = spread([rows[name], of_limit, medium, factor], diluted, ["text", "problem"])
        problems.append((name, read["problem"], none))
        limits[name] = read["text"].astype("str")
    for name in LIMITS:
        problems.append((f"{name}_unit", *_unit_in_doubt(rows, name, unit_text, medium)))

    text = number["text"].astype("str")
    negative = text.str.startswith("-")
    zero = text.str.fullmatch(r"-?0*\.?0*") & (text != "")
    concentration = unit["kind"].isin(["mass_per_mass", "mass_per_volume"])
    placeholder = (zero | (negative & has_limit)) & concentration & (reported["state"] == "number")
    if placeholder.any():
        notes.append("a result of 0, or below 0 with a limit beside it, is taken as not detected")
    problems.append(("result", _where(negative & ~has_limit & concentration, "a result below 0 without a limit"), none))
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
    notes += list(unit["note"].dropna().unique())
    state = reported["state"].mask(not_detected & (reported["state"] != "not_analysed"), "not_detected").astype("str")
    frame = pd.DataFrame(
        {
            "state": state,
            "detected": (state.isin(["number", "trace"])).map({True: "true", False: "false"}),
            "sign": reported["sign"].where(state == "number", "").astype("str"),
            "value": text.where(state == "number", ""),
            "nondetect_limit": limit,
            "limit_from": limit_from,
            **limits,
            "unit": unit["unit"].fillna("").astype("str"),
            "unit_kind": unit["kind"].astype("str"),
            "unit_basis": unit["basis"].fillna("").astype("str"),
            "delivered_number": delivered.astype("str"),
        }
    )
    return Amounts(frame, problems, notes)


def _unit_of_result(rows: pd.DataFrame, notes: list[str]) -> pd.Series:
    """The delivered unit, else that of the limits; a number beside limits in two units has none."""
    unit = rows["unit"]
    numbered = rows["result"].str.contains(r"\d", regex=True)
    for name in LIMIT_UNITS:
        taken = (unit == "") & (rows[name] != "")
        if (taken & numbered).any():
            notes.append("no unit stands beside some results: that of their limit is taken")
        unit = unit.mask(taken, rows[name])
    for name in LIMIT_UNITS:
        unit = unit.mask((rows["unit"] == "") & numbered & (rows[name] != "") & (rows[name] != unit), "")
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


def _unit_in_doubt(rows: pd.DataFrame, name: str, unit_text: pd.Series, medium: pd.Series) -> tuple[pd.Series, pd.Series]:
    """A limit without a unit of its own, where another limit of the row has one that is not that of the result."""
    bare = (rows[name] != "") & (rows["limit_unit"] == "") & (rows[f"{name}_unit"] == "")
    problem, proposal = pd.Series(None, index=rows.index, dtype=object), pd.Series("", index=rows.index, dtype="str")
    for other in LIMITS:
        beside = rows[f"{other}_unit"]
        asked = bare & (rows[other] != "") & (beside != "") & (beside != unit_text)
        if asked.any():
            same = spread([beside, unit_text, medium], _same_size, ["problem"])["problem"]
            what, of_other = name.replace("_", " "), other.replace("_", " ")
            told = f"the {what} has no unit: that of the result (" + unit_text + f") or of the {of_other} (" + beside + ")?"
            problem = problem.mask(asked & same.notna(), told)
            proposal = proposal.mask(asked & same.notna(), unit_text + " | " + beside)
    return problem, proposal


def _same_size(one: str, two: str, medium: str) -> _Doubt:
    first, second = read_unit(one, medium or None), read_unit(two, medium or None)
    same = (first.unit, first.factor) == (second.unit, second.factor)
    return _Doubt(None if same or first.problem or second.problem else "differs")


def _where(mask: pd.Series, reason: str) -> pd.Series:
    return pd.Series(None, index=mask.index, dtype=object).mask(mask, reason)


def _kept(number: Decimal | None) -> _Number:
    if number is None:
        return _Number()
    exponent = number.as_tuple().exponent
    if isinstance(exponent, int) and -exponent > PLACES:
        return _Number(problem=f"{number} has more than {PLACES} decimals in the normal unit; the store keeps no more")
    return _Number(f"{number:f}")
