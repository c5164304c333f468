"""Letters that laboratories and reviewers put beside results, and what they do to a result."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from screening.vocabulary.tables import rows

EFFECTS = frozenset(
    {
        "not_detected", "estimated", "over_range", "blank", "rejected",
        "tentative", "diluted", "late", "high", "low", "none",
    }
)  # fmt: skip


@dataclass(frozen=True)
class Qualifiers:
    """The letters of one cell, their effects together, and the parts that no key explains."""

    letters: tuple[str, ...] = ()
    effects: frozenset[str] = frozenset()
    unknown: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def listed() -> dict[str, frozenset[str]]:
    """The built-in key: letter -> effects; used where a layout brings no key of its own."""
    return {row["letter"].upper(): frozenset(row["effect"].split()) for row in rows("qualifiers.csv")}


def read_qualifiers(text: str, key: Mapping[str, str] | None = None) -> Qualifiers:
    """Split and explain the text of a qualifier cell.

    `key` (letter -> effect words) is the deliverable's own and wins over the built-in one. Letters run together
    are split only if every part is known, the longest first, so UJ stays one letter and BJ becomes two.

    >>> read_qualifiers("BJ").letters
    ('B', 'J')
    """
    own = {letter.strip().upper(): frozenset(effect.split()) for letter, effect in (key or {}).items()}
    known = {**listed(), **own}
    letters: list[str] = []
    unknown: list[str] = []
    for part in re.split(r"[\s,;/|&]+", text.strip().upper()):
        if not part:
            continue
        pieces = _split(part, known)
        if pieces is None:
            unknown.append(part)
        else:
            letters += [piece for piece in pieces if piece not in letters]
    effects = frozenset().union(*(known[letter] for letter in letters)) - {"none"}
    return Qualifiers(tuple(letters), effects, tuple(unknown))


def _split(part: str, known: Mapping[str, frozenset[str]]) -> list[str] | None:
    if not part:
        return []
    for length in range(len(part), 0, -1):
        if part[:length] in known:
            rest = _split(part[length:], known)
            if rest is not None:
                return [part[:length], *rest]
    return None
