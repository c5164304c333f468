"""Sample names: two ways of writing one (EL7 and EL-7; proposed, never joined), and kinds of sample told by a name."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache

from screening.vocabulary.spelling import plain
from screening.vocabulary.tables import rows
from screening.vocabulary.terms import read_term

_SEPARATORS = re.compile(r"(?<!\d)[\s\-_./#]+|[\s\-_./#]+(?!\d)")
"""Between two digits a separator parts two numbers: B-1-5 is not B-15."""
_LEADING_ZEROS = re.compile(r"(?<!\d)0+(?=\d)")
_BETWEEN = re.compile(r"[\s\-_/#]+")
_ALONE = re.compile(r"(?<=[\s\-_./#])[il](?![a-z0-9])")
_NUMBER = r"\d+(?:\.\d+)?(?: \d/\d)?(?:'\d+\")?"
_UNIT = r"(?:ft|feet|foot|'|m|cm|in|inches)(?![a-z])"
_RANGE = rf"{_NUMBER}\s*(?:-|–|to)\s*{_NUMBER}"
DEPTH_IN_NAME = (
    r".*?[\w)](?:\s*@\s*|\s+at\s+"
    rf"|\s*[(\[]\s*(?={_RANGE}|{_NUMBER}\s*{_UNIT}|\d+\.\d)"
    rf"|[-_\s]+(?=(?:{_RANGE}|{_NUMBER})\s*{_UNIT})"
    r"|[-_\s]+(?=\d+\.\d+(?:\s*(?:-|to)\s*\d+(?:\.\d+)?)?$))"
    rf"(?P<depth_top>{_NUMBER})(?:\s*(?:-|–|to)\s*(?P<depth_bottom>{_NUMBER}))?\s*(?P<depth_unit>{_UNIT})?(?:\s*bgs)?\s*[)\]]?"
)
"""Names that seem to carry a depth: behind '@', in brackets, with a unit, or with a decimal point (own choice, no source)."""
LIKENESS = 85.0
"""Of the letters, 0 to 100; the numbers in the two names must be the same (own choice, tried on EL-8 and EL-9)."""


def same_but_for_writing(name: str) -> str:
    """What is left of a name without case, blanks, hyphens and leading zeros.

    >>> same_but_for_writing("MW-007") == same_but_for_writing("mw 7")
    True
    """
    bare = plain(name)
    if "0" in bare:
        bare = _LEADING_ZEROS.sub("", bare)
    return _BETWEEN.sub("_", _SEPARATORS.sub("", bare))


@lru_cache(maxsize=1 << 16)
def written_as(name: str) -> frozenset[str]:
    """The forms in which two names are compared: as `same_but_for_writing`, and with letters taken for digits.

    >>> bool(written_as("MW-1O") & written_as("MW-10"))
    True
    """
    written = plain(name)
    digits = _ALONE.sub("1", written.replace("o", "0"))
    if digits == written and written.isascii():
        return frozenset({same_but_for_writing(written)})
    return frozenset({same_but_for_writing(name), same_but_for_writing(digits)})


def depth_in(name: str) -> str:
    """The depth that a sample's name seems to give ("4 to 6 ft"), '' where it gives none. Offered, never used by itself."""
    found = re.fullmatch(DEPTH_IN_NAME, name)
    if found is None:
        return ""
    below = f" to {found['depth_bottom']}" if found["depth_bottom"] else ""
    return f"{found['depth_top']}{below} {found['depth_unit'] or 'in no unit'}"


def near_names(name: str, known: Iterable[str]) -> list[str]:
    """The known names that ``name`` may stand for: those equal but for writing, else those alike in their letters."""
    choices = [choice for choice in known if choice != name]
    key, forms = same_but_for_writing(name), written_as(name)
    equal = [choice for choice in choices if written_as(choice) & forms]
    return equal or [choice for choice in choices if _alike(key, same_but_for_writing(choice)) and not _two_places(name, choice)]


def _two_places(one: str, two: str) -> bool:
    """Whether two names differ by a letter or two that stand alone, as walls and sides do: T3-E and T3-W."""
    parts = [re.findall(r"[a-z]+|\d+", plain(name)) for name in (one, two)]
    if len(parts[0]) != len(parts[1]):
        return False
    return all(
        len(left) <= len(right) <= 2 or len(right) <= len(left) <= 2 for left, right in zip(*parts, strict=True) if left != right
    )


def _alike(one: str, two: str) -> bool:
    if re.findall(r"\d+", one) != re.findall(r"\d+", two):
        return False
    from rapidfuzz import fuzz  # imported here: only names on no record need it

    return bool(fuzz.ratio(one, two) >= LIKENESS)


_WORDS = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])|[^\W\d_]+")
_WATER = re.compile(r"(h2o)", re.IGNORECASE)
_TOLD = " in its name"
_COMPARED = ("field", "field_duplicate", "lab_duplicate")


@cache
def _kinds() -> dict[tuple[str, ...], str]:
    """The words of a name that tell a kind of sample, the longest first, and how the table of terms spells it."""
    spellings = [row["spelling"] for row in rows("terms.csv") if row["term"] == "sample_kind" and row["spelling"].endswith(_TOLD)]
    found = {tuple(plain(spelling.removesuffix(_TOLD)).split()): spelling for spelling in spellings}
    return dict(sorted(found.items(), key=lambda pair: -len(pair[0])))


@lru_cache(maxsize=1 << 15)
def kind_in_name(name: str) -> str:
    """The spelling of a sample kind that a sample's name tells ("Trip Blank 2", "CCV1"), '' where it tells none.

    Two or more words tell it wherever they stand in the name, a single one only as the first, before or behind numbers.

    >>> kind_in_name("TripBlank-0506"), kind_in_name("MW-1")
    ('trip blank in its name', '')
    """
    whole = read_term("sample_kind", name)
    meant = (whole.value or whole.proposal or "").split(" | ") if whole.value or "may mean" in (whole.problem or "") else []
    if name.strip() and meant and not set(meant) & set(_COMPARED):
        return name
    parts = [[part] if _WATER.fullmatch(part) else _WORDS.findall(part) for part in _WATER.split(name)]
    words = tuple(word.lower() for part in parts for word in part)
    for wanted, spelling in _kinds().items():
        places = range(len(words) - len(wanted) + 1) if len(wanted) > 1 else range(min(1, len(words)))
        if any(words[at : at + len(wanted)] == wanted for at in places):
            return spelling
    return ""
