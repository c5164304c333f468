"""The list of analytes as data, and the ways to find one in it by name, CAS number or carbon ends."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from screening.vocabulary import names
from screening.vocabulary.tables import rows

KINDS = frozenset({"substance", "range", "sum", "property", "species", "surrogate"})


@dataclass(frozen=True)
class Analyte:
    """One listed analyte. `members` holds the alternatives of a sum, each the full set of its parts."""

    name: str
    cas: str | None
    kind: str
    synonyms: tuple[str, ...]
    members: tuple[tuple[str, ...], ...]
    species_of: str | None
    carbon_from: int | None
    carbon_to: int | None
    provenance: str

    @property
    def cas_numbers(self) -> tuple[str, ...]:
        """The single numbers of `cas`: more than one for substances that a column does not separate."""
        return tuple(self.cas.split("/")) if self.cas else ()


def _split(cell: str, mark: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(mark) if part.strip())


@lru_cache(maxsize=1)
def analytes() -> tuple[Analyte, ...]:
    """Every analyte of `analytes.csv`, in file order."""
    return tuple(
        Analyte(
            name=row["name"],
            cas=row["cas"] or None,
            kind=row["kind"],
            synonyms=_split(row["synonyms"], "|"),
            members=tuple(_split(alternative, ";") for alternative in _split(row["members"], "|")),
            species_of=row["species_of"] or None,
            carbon_from=int(row["carbon_from"]) if row["carbon_from"] else None,
            carbon_to=int(row["carbon_to"]) if row["carbon_to"] else None,
            provenance=row["provenance"],
        )
        for row in rows("analytes.csv")
    )


@lru_cache(maxsize=1)
def ambiguous_names() -> dict[str, tuple[str, ...]]:
    """Key of a name that alone may mean several substances -> those substances."""
    return {names.key(row["name"]): _split(row["candidates"], "|") for row in rows("ambiguous_names.csv")}


@lru_cache(maxsize=1)
def by_key() -> dict[str, Analyte]:
    """Key of every name and synonym -> its analyte."""
    return {names.key(spelling): a for a in analytes() for spelling in (a.name, *a.synonyms)}


@lru_cache(maxsize=1)
def by_cas() -> dict[str, tuple[Analyte, ...]]:
    """CAS text -> the analytes that carry it (nitrate and nitrate counted as nitrogen share one)."""
    found: dict[str, tuple[Analyte, ...]] = {}
    for analyte in analytes():
        if analyte.cas:
            found[analyte.cas] = (*found.get(analyte.cas, ()), analyte)
    return found


def ranges_between(ends: tuple[int, int], families: Iterable[str]) -> tuple[Analyte, ...]:
    """The listed ranges with these carbon ends whose family of hydrocarbons agrees with the words given."""
    asked = frozenset(families)
    structure = frozenset({"aliphatic", "aromatic"})
    found = [
        (analyte, names.hydrocarbon_families(analyte.name))
        for analyte in analytes()
        if (analyte.carbon_from, analyte.carbon_to) == ends
    ]
    agreeing = [
        (analyte, own)
        for analyte, own in found
        if own & structure == asked & structure and (not asked or own & asked or own & structure)
    ]
    total = [analyte for analyte, own in agreeing if "tph" in own and (not asked or "tph" in asked)]
    return tuple(total or [analyte for analyte, _ in agreeing])
