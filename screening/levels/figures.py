"""The text of a level as the rule prints it, and what it means: a number, a range, no level, not read, words."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Kind = Literal["number", "no_level", "unavailable", "range", "words"]
Style = Literal["1,234.5", "1 234,5", "1 234.5"]

_POINT = re.compile(r"(?:[1-9]\d{0,2}(?:,\d{3})+|\d+)?(?:\.\d+)?(?:[Ee][+-]?\d+)?")
_COMMA = re.compile(r"(?:[1-9]\d{0,2}(?:[ \u00a0\u202f]\d{3})+|\d+)?(?:,\d+)?(?:[Ee][+-]?\d+)?")
_SPACED = re.compile(r"(?:[1-9]\d{0,2}(?:[ \u00a0\u202f]\d{3})+|\d+)?(?:\.\d+)?(?:[Ee][+-]?\d+)?")
_PATTERNS: Mapping[Style, re.Pattern[str]] = {"1,234.5": _POINT, "1 234,5": _COMMA, "1 234.5": _SPACED}
_POWER = re.compile(r"\s*[x×]\s*10\^?\s*(?=[+-]?\d)")
_BETWEEN = re.compile(r"\s+(?:to|and)\s+|\s*[-–]\s*")


@dataclass(frozen=True)
class Figure:
    """One printed level: its kind, its number (the lower end of a range) and the upper end of a range."""

    kind: Kind
    value: Decimal | None = None
    upper: Decimal | None = None
    below: bool = False


def read_number(text: str, style: Style = "1,234.5") -> Decimal | None:
    """The exact number that `text` prints in that style of thousands and decimal marks, or None."""
    bare = _POWER.sub("E", text.strip())
    if not any(letter.isdigit() for letter in bare) or not _PATTERNS[style].fullmatch(bare):
        return None
    if style == "1,234.5":
        return Decimal(bare.replace(",", ""))
    return Decimal(re.sub(r"\s", "", bare).replace(",", "."))


def read_figure(text: str, words: Mapping[str, Kind], style: Style = "1,234.5") -> Figure | None:
    """What a level's text means; `words` are the texts without a number that the table explains. None: neither."""
    bare = text.strip()
    if bare in words:
        return Figure(words[bare])
    number = read_number(bare, style)
    if number is not None:
        return Figure("number", number)
    if bare.startswith("<"):
        number = read_number(bare[1:], style)
        return None if number is None else Figure("number", number, below=True)
    ends = [read_number(part, style) for part in _BETWEEN.split(bare)]
    if len(ends) == 2 and ends[0] is not None and ends[1] is not None and ends[0] < ends[1]:
        return Figure("range", ends[0], ends[1])
    return None
