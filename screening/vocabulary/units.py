"""Units as laboratories spell them, and the exact factor to the unit the tool keeps.

Kept units: mg/kg for mass per mass, ug/L for mass per volume, percent; anything else keeps its own unit.
Factors come from pint on decimals, never from a typed number: unit_factors.csv holds what pint gave for the units listed here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Context, Decimal, DivisionByZero, Inexact, InvalidOperation, Overflow
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from screening.vocabulary.spelling import nearest, plain
from screening.vocabulary.tables import rows
from screening.vocabulary.terms import listed_term

if TYPE_CHECKING:
    import pint

NORMAL = {"mass_per_mass": "mg/kg", "mass_per_volume": "ug/L", "percent": "percent"}
SOLID_MEDIA = frozenset({"soil", "sediment"})
WATER_MEDIA = frozenset({"groundwater", "surface_water", "other_water"})
_DENSITY_NOTE = "parts of water taken as mass per litre at a density of 1 kg/L"
_EXACT = Context(prec=200, traps=[Inexact, InvalidOperation, DivisionByZero, Overflow])


@dataclass(frozen=True)
class Unit:
    """A delivered unit: `value in the delivered unit * factor = value in unit`."""

    text: str
    unit: str | None
    factor: Decimal
    basis: str | None
    kind: str
    note: str | None = None
    problem: str | None = None
    proposal: str | None = None

    def convert(self, value: Decimal) -> Decimal:
        """The value in the kept unit, exact, with as many figures as delivered (0.0500 mg/L -> 50.0 ug/L)."""
        sign, digits, exponent = self.factor.normalize(_EXACT).as_tuple()
        if (sign, digits) == (0, (1,)):
            assert isinstance(exponent, int)
            return value.scaleb(exponent, _EXACT)
        return _EXACT.multiply(value, self.factor)


@dataclass(frozen=True)
class _Listed:
    unit: str
    kind: str
    basis: str
    note: str


@cache
def _table() -> dict[str, _Listed]:
    return {_key(row["spelling"]): _Listed(row["unit"], row["kind"], row["basis"], row["note"]) for row in rows("units.csv")}


def _key(text: str) -> str:
    folded = plain(text).replace("\N{GREEK SMALL LETTER MU}", "u")
    folded = re.sub(r"\bmcg\b", "ug", folded)
    return re.sub(r" ?/ ?", "/", folded)


@cache
def _registry() -> pint.UnitRegistry[Decimal]:
    import pint  # imported here: the registry takes half a second, and the listed units have their factors written down

    return pint.UnitRegistry(non_int_type=Decimal)


@cache
def _written_factors() -> dict[tuple[str, str], Decimal]:
    return {(row["unit"], row["kept"]): Decimal(row["factor"]) for row in rows("unit_factors.csv")}


@cache
def _factor(unit: str, normal: str) -> Decimal:
    return _written_factors().get((unit, normal)) or factor_by_pint(unit, normal)


def factor_by_pint(unit: str, normal: str) -> Decimal:
    """The factor from a unit to the kept one, worked out anew."""
    return Decimal(_registry().Quantity(Decimal(1), unit).to(normal).magnitude)


@lru_cache(maxsize=4096)
def read_unit(text: str, medium: str | None) -> Unit:
    """One delivered unit text; `problem` says why a person must decide.

    `medium` (a medium of the normal form) is needed for parts per million and the like only.
    """
    stripped = text.strip()
    if not stripped:
        return _held(text, "no unit is given", None)
    contradiction = _contradiction(stripped)
    if contradiction:
        return _held(text, contradiction, None)
    listed, basis, note = _find(stripped)
    if listed is None:
        words = [word for word, row in _table().items() if row.kind != "parts"]
        likely = " | ".join(nearest(_key(stripped), words)) or None
        return _held(text, f"unit {stripped!r} is not listed", likely)
    if listed.kind == "parts":
        return _parts(text, listed, medium, basis)
    normal = NORMAL.get(listed.kind)
    if normal is None or listed.unit == normal:
        return Unit(text, listed.unit, Decimal(1), basis, listed.kind, note)
    return Unit(text, normal, _factor(listed.unit, normal), basis, listed.kind, note)


def _held(text: str, problem: str, proposal: str | None) -> Unit:
    return Unit(text, None, Decimal(1), None, "other", problem=problem, proposal=proposal)


def _find(text: str) -> tuple[_Listed | None, str | None, str | None]:
    """The listed unit at the head of the text, the basis word behind it, and a note."""
    whole = _table().get(_key(text))
    if whole is not None:
        return whole, whole.basis or None, whole.note or None
    if match := re.fullmatch(r"([^\s(\-,]+(?: ?/ ?[^\s(\-,]+)?)[\s,\-]*[(\[]?([A-Za-z][A-Za-z .\-]*?)[)\]]?", text):
        basis = listed_term("basis", match[2])
        listed = _table().get(_key(match[1]))
        if basis is not None and listed is not None:
            return listed, basis, listed.note or None
    if match := re.fullmatch(r"(.+?) (as [A-Za-z0-9]+)", text.strip()):
        listed, basis, note = _find(match[1])
        said = f"{match[2]} (the result counts that part of the substance only)"
        return listed, basis, f"{note}; {said}" if note else said
    if match := re.fullmatch(r"([^()\[\]]+?) ?[(\[]([^()\[\]]+)[)\]]", text):
        first, second = _table().get(_key(match[1])), _table().get(_key(match[2]))
        if first is not None and second is not None:  # "ppb (ug/kg)": agreement was checked before
            more_exact = second if first.kind == "parts" else first
            return more_exact, more_exact.basis or None, more_exact.note or None
    return None, None, None


def _parts(text: str, listed: _Listed, medium: str | None, basis: str | None) -> Unit:
    if medium in SOLID_MEDIA:
        normal, delivered, note = "mg/kg", f"{listed.unit}/kg", listed.note or None
    elif medium in WATER_MEDIA:
        normal, delivered = "ug/L", f"{listed.unit}/L"
        note = f"{listed.note}; {_DENSITY_NOTE}" if listed.note else _DENSITY_NOTE
    else:
        proposal = f"{listed.unit}/kg | {listed.unit}/L"
        return _held(text, f"{text.strip()!r} cannot be read without the medium (solid or water)", proposal)
    kind = "mass_per_mass" if normal == "mg/kg" else "mass_per_volume"
    return Unit(text, normal, _factor(delivered, normal), basis, kind, note)


def _contradiction(text: str) -> str | None:
    """Two units in one text that are not of the same size, quoted; None if there are none."""
    if _key(text) in _table():
        return None
    sizes: dict[str, Decimal] = {}
    for piece in re.split(r"[:;,()\[\]=]|\bor\b", text):
        listed = _table().get(_key(piece))
        if listed is not None and listed.kind in ("parts", "mass_per_mass", "mass_per_volume"):
            sizes[piece.strip()] = _size(listed)
    if len(set(sizes.values())) < 2:
        return None
    quoted = ", ".join(f"{piece!r}" for piece in sizes)
    return f"the text {text!r} contradicts itself: {quoted} are not the same size"


def _size(listed: _Listed) -> Decimal:
    """Size as a part of the whole, a litre of water counted as a kilogram."""
    unit = f"{listed.unit}/kg" if listed.kind == "parts" else re.sub(r"/m?L$", _per_mass, listed.unit)
    return _factor(unit, "mg/kg")


def _per_mass(match: re.Match[str]) -> str:
    return "/g" if match[0] == "/mL" else "/kg"
