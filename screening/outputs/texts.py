"""Texts made fit to be shown: nothing invisible, nothing endless, in the order in which people read numbers."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

_KEPT = "\t\n"
_DIRECTION = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
"""Marks of direction that may show a text in another order than it was written."""


def readable(text: str, longest: int = 0) -> str:
    """A text with what cannot be seen written out as '[U+0007]', cut to ``longest`` characters (0: whole) with its length said.

    Control and private-use characters, lone surrogates, noncharacters and the marks that turn the direction of reading
    are written out; letters of right-to-left scripts stay as they are.
    """
    if text.isascii() and text.isprintable():
        shown = text
    else:
        shown = "".join(letter if _is_plain(letter) else f"[U+{ord(letter):04X}]" for letter in text)
    if longest and len(shown) > longest:
        return f"{shown[: longest - 1]}… ({len(text)} characters)"
    return shown


@lru_cache(maxsize=4096)
def _is_plain(letter: str) -> bool:
    if letter in _KEPT or " " <= letter <= "~":
        return True
    number = ord(letter)
    noncharacter = 0xFDD0 <= number <= 0xFDEF or number & 0xFFFE == 0xFFFE
    return (
        unicodedata.category(letter) not in ("Cc", "Cs", "Co")
        and unicodedata.bidirectional(letter) not in _DIRECTION
        and not noncharacter
    )


def natural(text: str) -> tuple[tuple[int, int | str], ...]:
    """A key that sorts 'B-2' before 'B-10'."""
    parts = re.split(r"([0-9]+)", text.casefold())
    return tuple((0, int(part)) if part.isdecimal() and part.isascii() else (1, part) for part in parts if part)


def source_text(source: Mapping[str, Any]) -> str:
    """The cell of the laboratory's file that a number came from."""
    sheet = f", sheet {source['sheet']}" if source["sheet"] else ""
    return f"{source['file']}{sheet}, row {source['row']}, column {source['column']}"
