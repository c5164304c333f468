"""Closed tables of sample kinds, media, fractions and basis words."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from screening.vocabulary.spelling import nearest, plain
from screening.vocabulary.tables import rows

KindOfTerm = Literal["sample_kind", "medium", "fraction", "basis"]


@dataclass(frozen=True)
class Term:
    """A delivered word read as one of ours; `value` is None where it is blank or where a person must decide."""

    value: str | None
    problem: str | None = None
    proposal: str | None = None
    note: str | None = None


@cache
def _table(kind_of_term: str) -> dict[str, tuple[str, str]]:
    table: dict[str, tuple[str, str]] = {}
    for row in rows("terms.csv"):
        if row["term"] == kind_of_term:
            table[_key(row["spelling"])] = (row["value"], row["note"])
            if "|" not in row["value"]:
                table.setdefault(_key(row["value"]), (row["value"], ""))
    return table


def _key(text: str) -> str:
    words = plain(text)
    for mark in "-_/,;:().[]":
        words = words.replace(mark, " ")
    return " ".join(words.split())


def values(kind_of_term: KindOfTerm) -> tuple[str, ...]:
    """The values a term of this kind may have."""
    return tuple(dict.fromkeys(value for value, _ in _table(kind_of_term).values() if "|" not in value))


def listed_term(kind_of_term: KindOfTerm, text: str) -> str | None:
    """The value of a delivered word that is listed and has one meaning; nothing is sought for any other."""
    value = _table(kind_of_term).get(_key(text), ("|", ""))[0]
    return None if "|" in value else value


@lru_cache(maxsize=4096)
def read_term(kind_of_term: KindOfTerm, text: str) -> Term:
    """One delivered word. Blank gives no value and no problem, but for a sample kind, where it means `field`."""
    table = _table(kind_of_term)
    known = table.get(_key(text))
    if known is None and not _key(text):
        return Term(None)
    what = kind_of_term.replace("_", " ")
    if known is None:
        likely = list(dict.fromkeys(table[near][0] for near in nearest(_key(text), table)))
        return Term(None, f"{what} {text.strip()!r} is not listed", " | ".join(likely) or None)
    value, note = known
    if "|" in value:
        candidates = value.split("|")
        return Term(None, f"{what} {text.strip()!r} may mean {' or '.join(candidates)}", " | ".join(candidates))
    return Term(value, note=note or None)
