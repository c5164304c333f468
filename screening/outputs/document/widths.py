"""How wide the columns of a table are: no word is broken as far as the page goes, and the table is as low as it can be."""

from __future__ import annotations

from collections.abc import Sequence

from screening.outputs.document.grid import MARGIN

_CHARACTER, _LONGEST_WORD = 92, 22
"""Twentieths of a point that a letter of the text in tables takes, and the longest word that widens its column."""
_STEP = 4 * _CHARACTER
_LOOKED_AT, _LONGEST = 60, 400
"""Rows, and letters of a text, that are looked at."""


def widths(heads: Sequence[str], rows: Sequence[Sequence[str]], room: int) -> list[int]:
    """Widths of the columns in twentieths of a point, together no more than ``room``.

    Each begins at its longest word; what is left goes step by step to the column that makes the table lowest.
    """
    looked_at = rows[:: max(1, -(-len(rows) // _LOOKED_AT))]
    found = []
    for at, head in enumerate(heads):
        bold = max(map(len, head.split()), default=0) + 1
        longest = max((len(word) for row in rows for word in row[at].split()), default=0)
        found.append(_CHARACTER * max(bold, min(longest + 1, _LONGEST_WORD), 3) + 2 * MARGIN)
    left = room - sum(found)
    if left < 0:
        return [width * room // sum(found) for width in found]
    letters = [[min(len(text), _LONGEST) for text in row] for row in ([head * 2 for head in heads], *looked_at)]
    while left >= _STEP:
        height = _height(letters, found)
        gains = [height - _height(letters, [*found[:at], width + _STEP, *found[at + 1 :]]) for at, width in enumerate(found)]
        best = max(range(len(found)), key=lambda at: (gains[at], -at))
        if gains[best] <= 1e-9:
            break
        found[best] += _STEP
        left -= _STEP
    longest_text = [max(row[at] for row in letters) for at in range(len(found))]
    wide = [max(0, letters * _CHARACTER + 2 * MARGIN - width) for letters, width in zip(longest_text, found, strict=True)]
    return [width + left * more // max(1, sum(wide)) for width, more in zip(found, wide, strict=True)]


def _height(letters: Sequence[Sequence[int]], widths: Sequence[int]) -> float:
    """The lines of a table; smooth, so that columns that only together make a row lower are widened together."""
    room = [(width - 2 * MARGIN) / _CHARACTER for width in widths]
    return float(sum(sum(max(1.0, count / has) ** 6 for count, has in zip(row, room, strict=True)) ** (1 / 6) for row in letters))
