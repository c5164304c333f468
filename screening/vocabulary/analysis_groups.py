"""Analyses as custody records ask for them (VOC, PAH, metals), and the analytes and methods that answer each."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.spelling import plain
from screening.vocabulary.tables import rows

_METHOD_NUMBER = re.compile(r"(?<!\d)(\d{3,4}(?:\.\d)?)(?!\d)")
_BETWEEN_ANALYSES = re.compile(r"[;\n|]|,(?!\d)|(?<=\D),|(?<=\d{3}),")
"""A comma between single digits belongs to a name (1,2-dichloroethane)."""


@dataclass(frozen=True)
class Group:
    """One analysis; ``part_of`` names a wider one that it belongs to (BTEX is part of VOC)."""

    name: str
    part_of: str
    spellings: tuple[str, ...]
    methods: tuple[str, ...]
    analytes: frozenset[str]


def _cells(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(" | ") if part.strip())


@lru_cache(maxsize=1)
def groups() -> dict[str, Group]:
    """Every group of `analysis_groups.csv` by name, in file order."""
    return {
        row["group"]: Group(
            row["group"], row["part_of"], _cells(row["spellings"]), _cells(row["methods"]), frozenset(_cells(row["analytes"]))
        )
        for row in rows("analysis_groups.csv")
    }  # fmt: skip


@cache
def root(group: str) -> str:
    """The widest group that this one is part of."""
    wider = groups()[group].part_of if group in groups() else ""
    return root(wider) if wider else group


@lru_cache(maxsize=1)
def _by_spelling() -> dict[str, str]:
    return {_key(spelling): group.name for group in groups().values() for spelling in (group.name, *group.spellings)}


def _key(text: str) -> str:
    return re.sub(r"[\s_-]+", " ", plain(text)).strip(" .")


@lru_cache(maxsize=4096)
def group_of_method(method: str) -> str | None:
    """The group that a method's number or name stands for; None where it is not listed."""
    text, numbers = plain(method), set(_METHOD_NUMBER.findall(method))
    found = [
        (len(mark), group.name)
        for group in groups().values()
        for mark in group.methods
        if mark in numbers or (not mark[0].isdigit() and mark in text)
    ]
    return max(found)[1] if found else None


def split_analyses(text: str) -> list[str]:
    """The single analyses of a custody cell: "VOC, PAH; 1,2-dichloroethane" are three, "Metals (As, Pb)" is one."""
    kept = re.sub(r"\([^()]*\)", lambda bracket: bracket[0].replace(",", "\N{SINGLE LOW-9 QUOTATION MARK}"), text)
    parts = (part.replace("\N{SINGLE LOW-9 QUOTATION MARK}", ",") for part in _BETWEEN_ANALYSES.split(kept))
    return [" ".join(part.split()) for part in parts if part.strip()]


@lru_cache(maxsize=4096)
def asked_for(text: str) -> tuple[str, ...]:
    """What one asked analysis means: a group, a single analyte, several of them ("GRO/DRO"); () if it is not listed."""
    head = re.split(r" by | \(|,? EPA | SW-?846 ", f"{text} ", flags=re.IGNORECASE)[0].strip()
    for part in dict.fromkeys((text, head)):
        if _key(part) in _by_spelling():
            return (_by_spelling()[_key(part)],)
    group = group_of_method(text)
    if group is not None:
        return (group,)
    analyte = Vocabulary.load().named(head)
    if analyte is not None:
        return (analyte.name,)
    parts = [asked_for(part) for part in re.split(r"[/+&]", text)] if re.search(r"[/+&]", text) else []
    return tuple(dict.fromkeys(name for found in parts for name in found)) if parts and all(parts) else ()


@lru_cache(maxsize=65536)
def answered_by(analyte: str, method: str) -> tuple[frozenset[str], ...]:
    """The groups that one delivered row answers, one set for each way in which it may have been analysed.

    One set where analyte or method settles it; several where the analyte is measured in different analyses
    (naphthalene, among volatiles and among semivolatiles) and no method is delivered.
    """
    ways: dict[str, set[str]] = {}
    for group in groups().values():
        if analyte in group.analytes:
            ways.setdefault(root(group.name), {root(group.name)}).add(group.name)
    of_method = group_of_method(method) if method else None
    if of_method is not None and root(of_method) in ways and len(ways) > 1:
        ways = {root(of_method): ways[root(of_method)]}
    if not ways:
        return (frozenset({of_method, root(of_method)}),) if of_method is not None else (frozenset({analyte}),)
    return tuple(frozenset(way) for way in ways.values())
