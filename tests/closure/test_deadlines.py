"""Every clock that was read runs from its event to its day; month ends, leap days and clock changes come out right."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from screening.closure.deadlines import Deadline, Verdict, clocks
from screening.closure.library import Library
from screening.closure.rules import DeadlineRow
from screening.closure.spans import end_of_span

START = dt.date(2024, 1, 31)
"""A month end before a leap day."""
FROM_START = {
    ("hours", 0): "2024-01-31T00:00:00", ("hours", 2): "2024-01-31T02:00:00", ("hours", 24): "2024-02-01T00:00:00",
    ("hours", 48): "2024-02-02T00:00:00", ("days", 0): "2024-01-31", ("days", 7): "2024-02-07", ("days", 15): "2024-02-15",
    ("days", 20): "2024-02-20", ("days", 30): "2024-03-01", ("days", 45): "2024-03-16", ("days", 60): "2024-03-31",
    ("days", 90): "2024-04-30", ("days", 120): "2024-05-30", ("days", 180): "2024-07-29", ("months", 3): "2024-04-30",
    ("months", 6): "2024-07-31", ("months", 12): "2025-01-31", ("years", 1): "2025-01-31", ("years", 2): "2026-01-31",
    ("years", 3): "2027-01-31", ("years", 5): "2029-01-31", ("working_days", 5): "2024-02-07",
}  # fmt: skip
"""Counted by hand on a calendar of 2024, a leap year; 31 January 2024 is a Wednesday."""
BEFORE_START = {("days", 30): "2024-01-01", ("days", 7): "2024-01-24", ("days", 10): "2024-01-21"}


def _all(library: Library) -> list[tuple[str, DeadlineRow]]:
    return [(file.name, row) for file in library.everything("deadlines") for row in file.rows]


Make = Callable[..., Any]


def test_every_dated_clock_ends_on_its_day(library: Library, site_of: Make) -> None:
    dated = 0
    for name, row in _all(library):
        if row.span is None:
            continue
        site = site_of(
            tank=[{"id": "T1", "product": (row.products or ("gasoline",))[0]}],
            events={row.counted_from[0]: START},
            closure={"deadlines": [name]},
        )
        made, _ = clocks(site, library.taken("deadlines", site), Verdict("r", "triggered"), START)
        (one,) = [
            item
            for item in made
            if item.what == row.what
            and item.citation == row.citation
            and item.span.startswith(f"{row.span} {row.unit.replace('_', ' ')[:4]}")
        ]
        assert one.due == (BEFORE_START if row.before else FROM_START)[row.unit, row.span], (name, row.id)
        assert one.counted_from.startswith(row.counted_from[0].replace("_", " "))
        dated += 1
    assert dated > 70


def test_no_clock_where_the_event_is_unknown(library: Library, site_of: Make) -> None:
    for name, row in _all(library):
        site = site_of(tank=[{"id": "T1", "product": (row.products or ("gasoline",))[0]}], closure={"deadlines": [name]})
        made, _ = clocks(site, library.taken("deadlines", site), Verdict("r", "triggered"), START)
        for one in made:
            assert one.due is None and one.status in ("unknown", "undated")
            assert one.status == "undated" or "no clock: the event" in one.note


def _one(library: Library, site: Any, verdict: Verdict, today: dt.date, what: str) -> Deadline:
    return next(item for item in clocks(site, library.taken("deadlines", site), verdict, today)[0] if what in item.what)


@pytest.mark.parametrize(("start", "span", "unit", "before", "due"), [
    ("2024-01-31", 1, "months", False, "2024-02-29"), ("2023-01-31", 1, "months", False, "2023-02-28"),
    ("2024-11-30", 3, "months", False, "2025-02-28"), ("2024-02-29", 12, "months", False, "2025-02-28"),
    ("2024-02-29", 3, "years", False, "2027-02-28"), ("2024-02-29", 4, "years", False, "2028-02-29"),
    ("2024-03-31", 1, "months", True, "2024-02-29"), ("2024-02-28", 2, "days", False, "2024-03-01"),
    ("2023-02-28", 2, "days", False, "2023-03-02"), ("2024-12-31", 1, "days", False, "2025-01-01"),
    ("2024-03-30", 30, "days", True, "2024-02-29"), ("2025-05-30", 1, "working_days", False, "2025-06-02"),
    ("2025-05-31", 1, "working_days", False, "2025-06-02"), ("2025-06-02", 1, "working_days", True, "2025-05-30"),
    ("2025-05-28", 5, "working_days", False, "2025-06-04"),
])  # fmt: skip
def test_days_months_and_years(start: str, span: int, unit: str, before: bool, due: str) -> None:
    """Counted by hand on the calendar."""
    assert end_of_span(dt.date.fromisoformat(start), span, unit, before=before).isoformat() == due


@pytest.mark.parametrize(("start", "hours", "due"), [
    ("2025-03-08T15:00:00", 24, "2025-03-09T16:00:00-04:00"),  # clocks go forward at 2:00 on 9 March 2025
    ("2025-11-01T15:00:00", 24, "2025-11-02T14:00:00-05:00"),  # and back on 2 November 2025
    ("2025-05-28T15:00:00", 24, "2025-05-29T15:00:00-04:00"),
    ("2025-05-28T19:00:00+00:00", 24, "2025-05-29T15:00:00-04:00"),
    ("2025-03-08T15:00:00-05:00", 48, "2025-03-10T16:00:00-04:00"),
])  # fmt: skip
def test_hours_pass_whatever_the_clock_change(start: str, hours: int, due: str) -> None:
    """The United States' clock changes of 2025 as in the time zone data base."""
    made = end_of_span(dt.datetime.fromisoformat(start), hours, "hours", zone=ZoneInfo("America/New_York"))
    assert made.isoformat() == due


def test_days_are_those_of_the_site(library: Library) -> None:
    """Two in the morning of 29 May in UTC is still 28 May in New York."""
    start = dt.datetime(2025, 5, 29, 2, tzinfo=dt.UTC)
    assert end_of_span(start, 30, "days", zone=ZoneInfo("America/New_York")) == dt.date(2025, 6, 27)
    assert end_of_span(start, 30, "days") == dt.date(2025, 6, 28)


NOTICE = "notice of intent to close"


@pytest.mark.parametrize(("given", "today", "status"), [
    ("2025-04-06", "2025-06-01", "met"), ("2025-04-05", "2025-06-01", "met"), ("2025-04-07", "2025-06-01", "overdue"),
    (None, "2025-04-06", "running"), (None, "2025-04-07", "overdue"),
])  # fmt: skip
def test_notice_thirty_days_before(library: Library, site_of: Make, given: str | None, today: str, status: str) -> None:
    """40 CFR 280.71(a): 30 days before 6 May 2025 is 6 April."""
    events = {"removed": dt.date(2025, 5, 6)} | ({"notice_given": dt.date.fromisoformat(given)} if given else {})
    one = _one(
        library, site_of("us", tank=[{"id": "T1"}], events=events), Verdict(None, None), dt.date.fromisoformat(today), NOTICE
    )
    assert (one.due, one.status, one.applies) == ("2025-04-06", status, True)


@pytest.mark.parametrize(("status", "report", "clean"), [
    ("triggered", True, False), ("not_triggered", False, True), ("undetermined", None, None), (None, None, None),
])  # fmt: skip
def test_the_verdict_says_which_clocks_apply(
    library: Library, site_of: Make, status: str | None, report: bool | None, clean: bool | None
) -> None:
    own = [{"what": "clean report (invented)", "counted_from": "removed", "days": 30, "applies": "clean", "citation": "invented"}]
    site = site_of("us", tank=[{"id": "T1"}], events={"removed": dt.date(2025, 5, 6)}, clock=own)
    verdict = Verdict("r1" if status else None, status)
    assert _one(library, site, verdict, START, "report a confirmed release").applies is report
    one = _one(library, site, verdict, START, "clean report")
    assert (one.applies, one.due) == (clean, "2025-06-05")
    assert one.because.startswith("clean closures only")


def test_an_event_under_another_name_and_one_that_nobody_knows(library: Library, site_of: Make) -> None:
    site = site_of("us", tank=[{"id": "T1"}], events={"contamination_seen": dt.date(2025, 5, 28), "removd": dt.date(2025, 5, 6)})
    made, notes = clocks(site, library.taken("deadlines", site), Verdict("r", "triggered"), START)
    assert next(item for item in made if "begin corrective action" in item.what).due == "2025-05-28"
    assert any("'removd'" in note and "'removed'" in note for note in notes)


def test_a_day_without_a_time_and_a_place_without_a_zone_are_said(library: Library, site_of: Make) -> None:
    site = site_of("us-in", tank=[{"id": "T1"}], events={"discovery": dt.date(2025, 5, 28)})
    one = _one(library, site, Verdict("r", "triggered"), START, "report a release suspected or found in backfill")
    assert one.due == "2025-05-29T00:00:00" and "first moment of its day" in one.note
    assert any(
        "states no time_zone" in note for note in clocks(site, library.taken("deadlines", site), Verdict(None, None), START)[1]
    )


def test_records_are_kept_until_the_day_and_never_overdue(library: Library, site_of: Make) -> None:
    site = site_of("us", tank=[{"id": "T1"}], events={"closed": dt.date(2024, 2, 29)})
    for today, status in (("2027-02-28", "running"), ("2027-03-01", "met")):
        one = _one(library, site, Verdict(None, None), dt.date.fromisoformat(today), "keep the results of the assessment")
        assert (one.due, one.status) == ("2027-02-28", status)


def test_the_state_s_clocks_stand_beside_the_federal_ones(library: Library, site_of: Make) -> None:
    site = site_of("us-ia", tank=[{"id": "T1"}])
    assert {file.name for file in library.taken("deadlines", site).files} == {"us/closure", "us-ia/closure"}
    elsewhere = site_of("us-vt", tank=[{"id": "T1"}])
    assert "does not mean that it has none" in library.taken("deadlines", elsewhere).because
