"""Deadlines as a calendar file (RFC 5545): lines folded at 75 octets, texts escaped, the same bytes for the same dates."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

LONGEST_LINE = 75
"""Octets of a line without its line break (RFC 5545, section 3.1)."""


def calendar_text(site: str, deadlines: Sequence[Mapping[str, Any]], made_on: dt.date) -> str:
    """One event for each deadline that has a date and is not known not to apply."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//screening//closure deadlines//EN", "CALSCALE:GREGORIAN"]
    for one in deadlines:
        if one["due"] is not None and one["applies"] is not False:
            lines += _event(site, one, made_on)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in fold(line))


def _event(site: str, one: Mapping[str, Any], made_on: dt.date) -> list[str]:
    key = "\n".join((site, one["rule_file"], one["citation"], one["what"], one["counted_from"]))
    told = [
        f"{one['span']} {one['counted_from']}", f"rule: {one['citation']} ({one['transcription']})", f"applies: {one['because']}",
        f"status: {one['status'].replace('_', ' ')}", *([one["note"]] if one["note"] else []),
        "A screening aid: the current rule and a licensed professional decide.",
    ]  # fmt: skip
    return [
        "BEGIN:VEVENT",
        f"UID:{hashlib.sha256(key.encode()).hexdigest()[:32]}@screening.invalid",
        f"DTSTAMP:{made_on:%Y%m%d}T000000Z",
        *_when(one["due"]),
        f"SUMMARY:{escape(site + ': ' + one['what'])}",
        f"DESCRIPTION:{escape(chr(10).join(told))}",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
    ]


def _when(due: str) -> list[str]:
    """A day, a moment in UTC, or a clock time without a zone where none is known."""
    if "T" not in due:
        day = dt.date.fromisoformat(due)
        return [f"DTSTART;VALUE=DATE:{day:%Y%m%d}", f"DTEND;VALUE=DATE:{day + dt.timedelta(days=1):%Y%m%d}"]
    moment = dt.datetime.fromisoformat(due)
    if moment.tzinfo is None:
        return [f"DTSTART:{moment:%Y%m%dT%H%M%S}"]
    return [f"DTSTART:{moment.astimezone(dt.UTC):%Y%m%dT%H%M%S}Z"]


def escape(text: str) -> str:
    """A text value: backslash, semicolon, comma and line break escaped (RFC 5545, section 3.3.11)."""
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\r\n", "\\n").replace("\n", "\\n")


def fold(line: str) -> list[str]:
    """A line in pieces of at most 75 octets, each after the first begun with a blank; no character is split."""
    pieces, room, now = [], LONGEST_LINE, ""
    for letter in line:
        size = len(letter.encode())
        if size > room:
            pieces.append(now)
            now, room = " ", LONGEST_LINE - 1
        now += letter
        room -= size
    return [*pieces, now]
