"""The calendar file keeps to RFC 5545: folding, escaping, line breaks, days and moments."""

from __future__ import annotations

import datetime as dt
from typing import Any

from screening.closure.calendar import calendar_text, escape, fold

DAY = dt.date(2025, 6, 20)


def _deadline(**more: Any) -> dict[str, Any]:
    return {
        "what": "report, first; \"part\" \\ second", "due": "2025-06-27", "counted_from": "discovery, 2025-05-28", "span": "30 days after",
        "applies": True, "because": "always", "status": "running", "citation": "invented", "transcription": "read", "to": "",
        "rule_file": "one/two", "note": "line one\nline two", **more,
    }  # fmt: skip


def _unfolded(text: str) -> list[str]:
    """Lines put together again as section 3.1 tells readers to."""
    return text.replace("\r\n ", "").split("\r\n")


def test_a_day_ends_on_the_next() -> None:
    lines = _unfolded(calendar_text("one", [_deadline()], DAY))
    assert "DTSTART;VALUE=DATE:20250627" in lines and "DTEND;VALUE=DATE:20250628" in lines
    assert lines[0] == "BEGIN:VCALENDAR" and lines[-2:] == ["END:VCALENDAR", ""]


def test_a_moment_is_in_utc_or_floats() -> None:
    text = calendar_text("one", [_deadline(due="2025-05-29T15:00:00-04:00"), _deadline(due="2025-05-29T15:00:00", what="b")], DAY)
    assert [line for line in _unfolded(text) if line.startswith("DTSTART")] == [
        "DTSTART:20250529T190000Z",
        "DTSTART:20250529T150000",
    ]


def test_texts_are_escaped() -> None:
    """RFC 5545, section 3.3.11."""
    assert escape("a,b;c\\d\ne") == "a\\,b\\;c\\\\d\\ne"
    assert 'SUMMARY:one: report\\, first\\; "part" \\\\ second' in _unfolded(calendar_text("one", [_deadline()], DAY))


def test_lines_have_at_most_75_octets_and_no_split_letter() -> None:
    """RFC 5545, section 3.1."""
    text = calendar_text("one", [_deadline(note="ü€漢" * 60)], DAY)
    lines = text.split("\r\n")
    assert max(len(line.encode()) for line in lines) == 75
    assert "ü€漢" * 60 in text.replace("\r\n ", "")
    assert fold("x" * 75) == ["x" * 75] and fold("x" * 76) == ["x" * 75, " x"]
    assert "\n" not in text.replace("\r\n", "")


def test_only_dates_that_may_apply_and_the_same_bytes_again() -> None:
    made = [
        _deadline(),
        _deadline(what="no", applies=False),
        _deadline(what="open", applies=None),
        _deadline(what="none", due=None),
    ]
    text = calendar_text("one", made, DAY)
    assert text.count("BEGIN:VEVENT") == 2
    assert text == calendar_text("one", made, DAY)
    uids = [line for line in _unfolded(text) if line.startswith("UID:")]
    assert len(set(uids)) == 2
