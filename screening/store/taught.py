"""What people taught by accepting held rows: analyte names and words, for one site or for all, and where it applies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, get_args

from screening.deliverable.columns import Frame
from screening.normal.amounts import LIMIT_UNITS
from screening.store.ledger import NOW, Act, Until, learned_names, learned_words
from screening.vocabulary import names
from screening.vocabulary.qualifiers import read_qualifiers
from screening.vocabulary.terms import KindOfTerm, read_term
from screening.vocabulary.units import read_unit

if TYPE_CHECKING:
    import duckdb

TERMS: tuple[KindOfTerm, ...] = get_args(KindOfTerm)
FOR_ALL_SITES = ""
"""The site under which the ledger keeps what holds for every site."""


@dataclass(frozen=True)
class Taught:
    """Delivered name -> analyte; field -> delivered text -> our word."""

    names: Mapping[str, str]
    words: Mapping[str, Mapping[str, str]]


def taught_for(connection: duckdb.DuckDBPyConnection, site: str, until: Until = NOW) -> Taught:
    """Everything that holds for a site, or held by the decisions up to then."""
    return Taught(learned_names(connection, site, until), learned_words(connection, site, until))


def with_words_taught(rows: Frame, words: Mapping[str, Mapping[str, str]]) -> tuple[Frame, list[str]]:
    """Delivered texts with the words taught put for them, and a note for each word met; the rows given stay as they are."""
    rows, notes = rows.copy(), []
    for of_field, meanings in words.items():
        delivered = set(rows[of_field].unique())
        met = [text for text in meanings if text in delivered]
        notes += [f"{of_field} '{text}' is read as '{meanings[text]}', as accepted before" for text in met]
        rows[of_field] = rows[of_field].replace({text: meanings[text] for text in met})
    return rows, notes


def is_unknown_word(of_field: str, text: str, qualifier_key: Mapping[str, str]) -> bool:
    """Whether the text is a word in no list. Blank, ambiguous or contradictory texts may mean something else tomorrow."""
    if not text.strip():
        return False
    if of_field in ("unit", *LIMIT_UNITS):
        return "is not listed" in (read_unit(text, "soil").problem or "")
    if of_field == "qualifiers":
        return bool(read_qualifiers(text, qualifier_key).unknown)
    return of_field in TERMS and "is not listed" in (read_term(of_field, text).problem or "")


def lesson(site: str, subject: str, of_field: str, text: str, value: str) -> Act:
    """The act that teaches a name or word."""
    if of_field == "analyte":
        return Act(site, "analyte_taught", subject, text, value)
    return Act(site, "word_taught", subject, f"{of_field}:{text}", value)


def is_same_text(of_field: str, one: str, two: str) -> bool:
    """Whether what was learned of one delivered text holds for another."""
    return names.key(one) == names.key(two) if of_field == "analyte" else one == two
