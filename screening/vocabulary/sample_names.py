"""Sample names that may be one name written in two ways: EL7 and EL-7, MW-01 and mw1. Proposed, never joined."""

from __future__ import annotations

import re
from collections.abc import Iterable

from screening.vocabulary.spelling import plain

_SEPARATORS = re.compile(r"[\s\-_./#]+")
LIKENESS = 85.0
"""Of the letters, 0 to 100; the numbers in the two names must be the same (own choice, tried on EL-8 and EL-9)."""


def same_but_for_writing(name: str) -> str:
    """What is left of a name without case, blanks, hyphens and leading zeros.

    >>> same_but_for_writing("MW-007") == same_but_for_writing("mw 7")
    True
    """
    return _SEPARATORS.sub("", re.sub(r"(?<!\d)0+(?=\d)", "", plain(name)))


def near_names(name: str, known: Iterable[str]) -> list[str]:
    """The known names that ``name`` may stand for: those equal but for writing, else those alike in their letters."""
    choices = [choice for choice in known if choice != name]
    key = same_but_for_writing(name)
    equal = [choice for choice in choices if same_but_for_writing(choice) == key]
    return equal or [choice for choice in choices if _alike(key, same_but_for_writing(choice))]


def _alike(one: str, two: str) -> bool:
    if re.findall(r"\d+", one) != re.findall(r"\d+", two):
        return False
    from rapidfuzz import fuzz  # imported here: only names on no record need it

    return bool(fuzz.ratio(one, two) >= LIKENESS)
