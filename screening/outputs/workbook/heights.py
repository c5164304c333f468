"""How many lines a text takes in a column, so that rows are as high as their texts in every spreadsheet program.

Widths are those of the letters of Helvetica, which Arial and Liberation Sans share (Adobe Font Metrics, by classes of
like letters, from memory); an error makes a row a line too high or cuts a line on paper, and changes no text.
"""

from __future__ import annotations

import re
from functools import lru_cache

POINT_HEIGHT = 13.0
"""Height of a line of the body text, in points."""
_DIGIT = 556
_WIDTHS = (
    ("ijl'|", 225), (" .,:;/\\!ftI[]", 278), ("-()r{}`\"", 335), ("*^", 430), ("ckszvxyJ", 500),
    ("ABEKPSVXY&", 667), ("CDHNRUw", 722), ("GOQ", 778), ("M", 833), ("mW%", 900), ("+<=>~", 584), ("@", 1015), ("FTZ", 611),
)  # fmt: skip
_OF = {letter: width for letters, width in _WIDTHS for letter in letters}


def width_of(text: str) -> float:
    """The width of a text in digits of the same font; letters beyond ASCII count as wide ones."""
    return sum(_OF.get(letter, _DIGIT if letter.isascii() else 1000) for letter in text) / _DIGIT


@lru_cache(maxsize=100_000)
def lines_of(text: str, width: float, *, size: float = 10, bold: bool = False) -> int:
    """Lines that a text takes in a column as wide as so many digits of the body text (10 points), broken between words."""
    room = width * 10 / size / (1.08 if bold else 1.0)
    return sum(_broken(part, room) for part in text.split("\n"))


def _broken(text: str, room: float) -> int:
    lines, used = 1, 0.0
    for word in re.findall(r"\S+\s*|\s+", text):
        needed = width_of(word.rstrip())
        if used and used + needed > room:
            lines, used = lines + 1, 0.0
        if needed > room:  # a word longer than the line is broken wherever the line ends
            lines += int((used + needed) // room)
            used = (used + needed) % room
        else:
            used += width_of(word)
    return lines
