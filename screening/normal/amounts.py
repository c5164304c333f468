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
    unit_text = rows["unit"].mask(rows["unit"] == "", rows["limit_unit"])
    # without any amount there is nothing that a unit could change: the row stays, as a non-detect without a limit
    amountless = (rows[list(LIMITS)] == "").all(axis=1) & ~rows["result"].str.contains(r"\d", regex=True)
    normal = medium.isin(SOLID_MEDIA).map({True: "mg/kg", False: "ug/L"}).astype("str")
    unit_text = unit_text.mask(amountless & (unit_text == "") & medium.isin([*SOLID_MEDIA, *WATER_MEDIA]), normal)
    limit_unit_text = rows["limit_unit"].mask(rows["limit_unit"] == "", unit_text)

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
        read = spread([rows[name], limit_unit_text, medium, factor], diluted, ["text", "problem"])
        problems.append((name, read["problem"], none))
        limits[name] = read["text"].astype("str")

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


def _where(mask: pd.Series, reason: str) -> pd.Series:
    return pd.Series(None, index=mask.index, dtype=object).mask(mask, reason)


def _kept(number: Decimal | None) -> _Number:
    if number is None:
        return _Number()
    exponent = number.as_tuple().exponent
    if isinstance(exponent, int) and -exponent > PLACES:
        return _Number(problem=f"{number} has more than {PLACES} decimals in the normal unit; the store keeps no more")
    return _Number(f"{number:f}")
