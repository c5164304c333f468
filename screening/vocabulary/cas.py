"""CAS numbers: shape, check digit, and candidates for numbers that a spreadsheet spoiled.

Check digit rule (Chemical Abstracts Service, "Check Digit Verification of CAS Registry Numbers"): the digits
before the last are multiplied by 1, 2, 3 ... counted from the right; the sum modulo 10 is the last digit.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

_SHAPE = re.compile(r"([1-9]\d{1,6})-(\d{2})-(\d)", re.ASCII)
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ T]\d{1,2}:\d{2}(?::\d{2}(?:\.0+)?)?)?", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})(?: \d{1,2}:\d{2}(?::\d{2})?)?", re.ASCII)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_NAMED = re.compile(r"(\d{1,2})[- ]([a-z]{3})[a-z]*[- ](\d{4}|\d{2})", re.ASCII | re.IGNORECASE)
_SPREADSHEET_DAY_ZERO = date(1899, 12, 30)


def check_digit(digits_before: str) -> int:
    """The check digit that belongs after these digits."""
    return _weighted(digits_before) % 10


def _weighted(digits_before: str) -> int:
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits_before), start=1))


def has_shape(text: str) -> bool:
    """Whether the text is written like a CAS number, whatever its check digit."""
    return _SHAPE.fullmatch(text) is not None


def valid(text: str) -> bool:
    """Whether the text has the shape of a CAS number and its check digit passes."""
    match = _SHAPE.fullmatch(text)
    return match is not None and check_digit(match[1] + match[2]) == int(match[3])


def hyphenate(digits: str) -> str:
    """The number with both hyphens, leading zeros dropped; a text that holds anything else comes back as it is."""
    bare = re.sub(r"[-\s]", "", digits).lstrip("0")
    if not (bare.isascii() and bare.isdigit() and 5 <= len(bare) <= 10):
        return digits
    return f"{bare[:-3]}-{bare[-3:-1]}-{bare[-1]}"


def complaint(text: str) -> str:
    """Why the text is no CAS number, in words for the person who must decide."""
    if _dates(text):
        return "looks like a date made by a spreadsheet"
    if match := re.fullmatch(r"(\d+)-(\d{2})-(\d)", text, re.ASCII):
        total = _weighted(match[1] + match[2])
        if total % 10 != int(match[3]):
            return f"the check digit fails ({total} gives {total % 10}, not {match[3]})"
    return "is not written like a CAS number"


def repairs(text: str) -> list[str]:
    """Numbers that pass the check and could have been spoiled into `text`, likeliest first.

    Covers lost hyphens, a reading as a date (also as a spreadsheet's day number), a lost zero, and one lost digit.
    """
    found: dict[str, None] = {}
    for candidate in _candidates(text.strip()):
        if candidate != text and valid(candidate):
            found.setdefault(candidate)
    return list(found)


def _candidates(text: str) -> Iterator[str]:
    yield hyphenate(text)
    for year, month, day in _dates(text):
        yield f"{year % 100:02d}-{month:02d}-{day}"
        yield f"{year}-{month:02d}-{day}"
    if re.fullmatch(r"\d{5}", text, re.ASCII):
        day_read = _SPREADSHEET_DAY_ZERO + timedelta(days=int(text))
        if day_read.day < 10:
            yield f"{day_read.year % 100:02d}-{day_read.month:02d}-{day_read.day}"
            yield f"{day_read.year}-{day_read.month:02d}-{day_read.day}"
    yield from _with_a_digit_more(text)


def _dates(text: str) -> list[tuple[int, int, int]]:
    """Readings of the text as year, month, day with a one-digit day, as a CAS number read as a date has."""
    readings: list[tuple[int, int, int]] = []
    if match := _YEAR_FIRST.fullmatch(text):
        readings.append((int(match[1]), int(match[2]), int(match[3])))
    elif match := _YEAR_LAST.fullmatch(text):
        first, second, year = int(match[1]), int(match[2]), int(match[3])
        if text[len(match[1])] != "-" or len(match[3]) == 4:
            readings += [(year, first, second), (year, second, first)]
    elif match := _MONTH_NAMED.fullmatch(text):
        month = match[2].casefold()
        if month in _MONTHS:
            readings.append((int(match[3]), _MONTHS.index(month) + 1, int(match[1])))
    return [(year, month, day) for year, month, day in readings if 1 <= month <= 12 and 1 <= day <= 9]


def _with_a_digit_more(text: str) -> Iterator[str]:
    if match := re.fullmatch(r"(\d{2,7})-(\d{2})-?", text, re.ASCII):
        yield f"{match[1]}-{match[2]}-{check_digit(match[1] + match[2])}"
    if match := re.fullmatch(r"(\d{2,7})-(\d)-(\d)", text, re.ASCII):
        yield f"{match[1]}-0{match[2]}-{match[3]}"
        for digit in "0123456789":
            yield f"{match[1]}-{digit}{match[2]}-{match[3]}"
            yield f"{match[1]}-{match[2]}{digit}-{match[3]}"
    if match := re.fullmatch(r"(\d{1,6})-(\d{2})-(\d)", text, re.ASCII):
        first = match[1]
        for place in (0, len(first), *range(1, len(first))):
            for digit in "123456789" if place == 0 else "0123456789":
                yield f"{first[:place]}{digit}{first[place:]}-{match[2]}-{match[3]}"
    if re.fullmatch(r"\d{4,9}", text, re.ASCII):
        for digit in "123456789":
            yield hyphenate(digit + text)
        for digit in "0123456789":
            yield hyphenate(text + digit)
