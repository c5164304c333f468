"""Time zones as files name them: offsets in figures, and the words of a closed table with their offset from UTC."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from screening.vocabulary.spelling import plain
from screening.vocabulary.tables import rows

_OFFSET = re.compile(r"(?:utc|gmt)? ?([+-])(\d{1,2}):?(\d{2})?")


@dataclass(frozen=True)
class Zone:
    """The offset from UTC as ``-05:00``; None with a problem where it is not known, None without one for a blank."""

    offset: str | None = None
    note: str | None = None
    problem: str | None = None


@cache
def _table() -> dict[str, str]:
    return {plain(row["zone"]): row["offset"] for row in rows("time_zones.csv")}


@lru_cache(maxsize=1024)
def read_zone(text: str) -> Zone:
    """One delivered time zone. A word of law or custom whose offset changes with the season alone ("Eastern") is none.

    >>> read_zone("EST").offset
    '-05:00'
    """
    key = plain(text).strip("()")
    if not key:
        return Zone()
    if key in _table():
        word = None if _table()[key] == "+00:00" else f"times marked '{text.strip()}' are taken as UTC{_table()[key]}"
        return Zone(_table()[key], word)
    match = _OFFSET.fullmatch(key.replace("\u2212", "-"))
    if match and int(match[2]) <= 14 and int(match[3] or 0) < 60:
        return Zone(f"{match[1]}{int(match[2]):02d}:{match[3] or '00'}")
    return Zone(problem=f"time zone '{text.strip()}' is not listed; say its offset from UTC, as in -05:00")
