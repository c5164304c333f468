"""Delivered dates: read only where one reading is possible, or where the file's other dates settle the order."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_NUMERIC = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})")
_SLASHED_ISO = re.compile(r"(\d{4})/(\d{1,2})/(\d{1,2})")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_WORDED = re.compile(r"(\d{1,2})[ -]([A-Za-z]{3,9})\.?[ ,-]+(\d{4}|\d{2})|([A-Za-z]{3,9})\.? (\d{1,2}),? (\d{4})")
_TIME = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)? ?([AaPp])?[Mm]?\.?(?: ?(?:UTC|Z|[+-]\d{2}:?\d{2}))?|(\d{2})(\d{2})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


@dataclass(frozen=True)
class Moment:
    """One delivered date: ISO text (with time where delivered), or the problem and the possible readings."""

    iso: str | None = None
    problem: str | None = None
    proposal: str | None = None


def order_of(texts: Iterable[str]) -> str | None:
    """The order of day and month that every numeric date of a file agrees with; None where none settles it."""
    first = second = False
    for text in texts:
        if match := _NUMERIC.match(text):
            first |= int(match[1]) > 12
            second |= int(match[2]) > 12
    return "mdy" if second and not first else "dmy" if first and not second else None


def read_moment(text: str, order: str | None) -> Moment:
    """Read a date with or without a time of day.

    ``order`` is 'mdy', 'dmy' or None; with None a date such as 03/04/2025 has the problem of two readings.
    """
    text = " ".join(text.replace("T", " ").split()) if re.match(r"\d{4}-\d", text) else " ".join(text.split())
    if not text:
        return Moment()
    for pattern, place in ((_ISO, "ymd"), (_SLASHED_ISO, "ymd"), (_NUMERIC, order), (_COMPACT, "ymd"), (_WORDED, "word")):
        match = pattern.match(text)
        if match:
            return _read(text, match, place)
    return Moment(problem=f"'{text}' is no date that can be read")


def _read(text: str, match: re.Match[str], place: str | None) -> Moment:
    clock = _clock(text[match.end() :].strip(" ,"))
    if clock is None:
        return Moment(problem=f"'{text}' is no date that can be read")
    if place == "word":
        day, name, year = (match[1], match[2], match[3]) if match[1] else (match[5], match[4], match[6])
        if name[:3].lower() not in _MONTHS:
            return Moment(problem=f"'{text}' is no date that can be read")
        parts = (year, str(_MONTHS.index(name[:3].lower()) + 1), day)
    elif place == "ymd":
        parts = (match[1], match[2], match[3])
    else:
        readings = {
            "mdy": _day(match[3], match[1], match[2]),
            "dmy": _day(match[3], match[2], match[1]),
        }
        if place is not None:
            found = readings[place]
            return Moment(f"{found}{clock}") if found else Moment(problem=f"'{text}' is no date in the order {place}")
        possible = sorted({day for day in readings.values() if day})
        if len(possible) == 1:
            return Moment(f"{possible[0]}{clock}")
        if possible:
            return Moment(problem=f"'{text}' has two readings", proposal=" | ".join(possible))
        return Moment(problem=f"'{text}' is no date that can be read")
    found = _day(*parts)
    return Moment(f"{found}{clock}") if found else Moment(problem=f"'{text}' is no day of the calendar")


def _day(year: str, month: str, day: str) -> str | None:
    number = int(year) if len(year) == 4 else 2000 + int(year) if int(year) < 70 else 1900 + int(year)
    try:
        return dt.date(number, int(month), int(day)).isoformat()
    except ValueError:
        return None


def _clock(text: str) -> str | None:
    if not text:
        return ""
    match = _TIME.fullmatch(text)
    if not match:
        return None
    hour, minute = int(match[1] or match[5]), int(match[2] or match[6])
    half = (match[4] or "").lower()
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 23 or minute > 59:
        return None
    return f" {hour:02d}:{minute:02d}:{int(match[3] or 0):02d}"
