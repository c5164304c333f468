"""Delivered dates: read only where one reading is possible, or where the file's other dates settle the order."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass

from screening.vocabulary.time_zones import read_zone

DAY, LOCAL = "day", "local"
"""What is known of a moment: the day alone, or a time of day without its offset. Else it is the offset: '-05:00'."""
BOTH = "both"
"""The order of day and month in a file whose dates prove two orders: none is settled."""

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_NUMERIC = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})")
_SLASHED_ISO = re.compile(r"(\d{4})/(\d{1,2})/(\d{1,2})")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_WORDED = re.compile(r"(\d{1,2})[ -]([A-Za-z]{3,9})\.?[ ,-]+(\d{4}|\d{2})|([A-Za-z]{3,9})\.? (\d{1,2}),? (\d{4})")
_TIME = re.compile(
    r"(?:(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?|(\d{2})(\d{2})(?!\d))(?: ?([AaPp])\.?[Mm]?\.?(?![A-Za-z]))? ?(?P<zone>.*)"
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_EASTMOST, _WESTMOST = dt.timedelta(hours=14), dt.timedelta(hours=12)
"""How far clocks on Earth may be ahead of UTC, and behind it."""


@dataclass(frozen=True)
class Moment:
    """One delivered date, or the problem and the possible readings.

    ``iso`` is the day, or day and time; in UTC where the offset is known, else as delivered. ``known`` says which: DAY,
    LOCAL or the offset, '' where there is no date.
    """

    iso: str | None = None
    known: str = ""
    problem: str | None = None
    proposal: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class _Clock:
    text: str = ""
    offset: str | None = None
    problem: str | None = None
    note: str | None = None


def proofs(texts: Iterable[str]) -> dict[str, str]:
    """The orders of day and month that some numeric date allows alone, each with the first such date."""
    found: dict[str, str] = {}
    for text in texts:
        if match := _NUMERIC.match(text):
            first, second = int(match[1]) > 12, int(match[2]) > 12
            if first != second:
                found.setdefault("dmy" if first else "mdy", match[0])
    return found


def order_of(texts: Iterable[str]) -> str | None:
    """The order of day and month that the numeric dates of a file settle: 'mdy' or 'dmy'; BOTH or None settles none."""
    found = proofs(texts)
    return BOTH if len(found) == 2 else next(iter(found), None)


def read_moment(text: str, order: str | None, zone: str = "") -> Moment:
    """Read a date with or without a time of day; ``zone`` is the time zone stated beside it.

    ``order`` is 'ymd', 'mdy', 'dmy', BOTH or None; with the last two 03/04/2025 has the problem of two readings.
    """
    text = " ".join(re.sub(r"(?<=\d)T(?=\d)", " ", text).split())
    if not text:
        return Moment()
    for pattern, place in ((_ISO, "ymd"), (_SLASHED_ISO, "ymd"), (_NUMERIC, order), (_COMPACT, "ymd"), (_WORDED, "word")):
        match = pattern.match(text)
        if match:
            clock = _clock(text[match.end() :].strip(" ,"), zone)
            if clock is None:
                break
            day = _read_day(text, match, place, numeric=pattern is _NUMERIC)
            return _joined(day, clock) if day.iso else day
    return Moment(problem=f"'{text}' is no date that can be read")


def _read_day(text: str, match: re.Match[str], place: str | None, *, numeric: bool) -> Moment:
    if place == "word":
        day, name, year = (match[1], match[2], match[3]) if match[1] else (match[5], match[4], match[6])
        if name[:3].lower() not in _MONTHS:
            return Moment(problem=f"'{text}' is no date that can be read")
        found = _day(year, str(_MONTHS.index(name[:3].lower()) + 1), day)
    elif numeric:
        readings = {
            "ymd": _day(match[1], match[2], match[3]) if len(match[3]) == 2 else None,
            "mdy": _day(match[3], match[1], match[2]),
            "dmy": _day(match[3], match[2], match[1]),
        }
        if place in readings:
            found = readings[place]
            return Moment(found) if found else Moment(problem=f"'{text}' is no date in the order {place}")
        possible = sorted({day for name in ("mdy", "dmy") if (day := readings[name])})
        if len(possible) > 1:
            why = "; the file's other dates prove both orders of day and month" if place == BOTH else ""
            tail = text[match.end() :]
            return Moment(
                problem=f"'{text}' has two readings{why}", proposal=" | ".join(f"{reading}{tail}" for reading in possible)
            )
        if not possible:
            return Moment(problem=f"'{text}' is no date that can be read")
        found = possible[0]
    else:
        found = _day(match[1], match[2], match[3])
    return Moment(found) if found else Moment(problem=f"'{text}' is no day of the calendar")


def _joined(day: Moment, clock: _Clock) -> Moment:
    if clock.problem:
        return Moment(problem=clock.problem)
    if not clock.text:
        return Moment(day.iso, DAY)
    if clock.offset is None:
        return Moment(f"{day.iso} {clock.text}", LOCAL)
    local = dt.datetime.fromisoformat(f"{day.iso} {clock.text}")
    try:
        utc = local - ahead(clock.offset)
    except OverflowError:
        return Moment(problem=f"'{day.iso} {clock.text}' is no day of the calendar")
    return Moment(utc.isoformat(sep=" "), clock.offset, note=clock.note)


def ahead(offset: str) -> dt.timedelta:
    """How far a clock with this offset (``-05:00``) is ahead of UTC."""
    by = dt.timedelta(hours=int(offset[1:3]), minutes=int(offset[4:6]))
    return -by if offset[0] == "-" else by


def _day(year: str, month: str, day: str) -> str | None:
    number = int(year) if len(year) == 4 else 2000 + int(year) if int(year) < 70 else 1900 + int(year)
    try:
        return dt.date(number, int(month), int(day)).isoformat()
    except ValueError:
        return None


def _clock(text: str, zone: str) -> _Clock | None:
    """The time of day behind a date, with its offset; None where the text is neither time nor zone."""
    match = _TIME.fullmatch(text)
    if not match:
        return _Clock() if not text or read_zone(text).offset else None  # a zone without a time leaves the day
    hour, minute, second = int(match[1] or match[4]), int(match[2] or match[5]), int(match[3] or 0)
    half = (match[6] or "").lower()
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 23 or minute > 59 or second > 59:
        return None
    found = read_zone(match["zone"] or zone)
    return _Clock(f"{hour:02d}:{minute:02d}:{second:02d}", found.offset, found.problem, found.note)


def may_follow(first: str, first_known: str, second: str, second_known: str) -> bool:
    """Whether the second moment may lie at or after the first, as far as both are known; blanks allow everything."""
    if not first or not second:
        return True
    if (first_known in (DAY, LOCAL)) == (second_known in (DAY, LOCAL)):  # both on one clock
        return first <= (second if len(second) >= len(first) else f"{second} 23:59:59")
    wait = dt.datetime.fromisoformat(second) - dt.datetime.fromisoformat(first)
    if first_known in (DAY, LOCAL):
        wait += _EASTMOST
    else:
        wait += _WESTMOST + (dt.timedelta(days=1) if second_known == DAY else dt.timedelta())
    return wait >= dt.timedelta()


def shown(moment: dt.datetime | None, known: str | None) -> str | None:
    """A stored moment as people read it: the day alone where no time was given, else the delivered clock with its offset.

    ``known`` is None for rows of a store that did not keep it yet.
    """
    if moment is None:
        return None
    if known == DAY:
        return moment.date().isoformat()
    if known in (None, "", LOCAL):
        return moment.isoformat(sep=" ")
    return f"{(moment + ahead(known)).isoformat(sep=' ')}{known}"
