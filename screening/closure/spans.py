"""Spans of time from an event: hours that pass, days of the calendar, working days, months and years."""

from __future__ import annotations

import calendar
import datetime as dt
from zoneinfo import ZoneInfo

from screening.closure.events import day_of, local
from screening.site.parts import Moment


def end_of_span(start: Moment, span: int, unit: str, *, before: bool = False, zone: ZoneInfo | None = None) -> Moment:
    """When a span from a start is over, or for ``before`` the last moment ahead of it.

    Hours are hours that pass, whatever the clock change does; from a day without a time they run from its first moment.
    Days are days of the calendar at the site. A month ends on the day of the same number, or on the last day of a shorter
    month; a year from 29 February ends on 28 February where the year has no other.
    """
    sign = -1 if before else 1
    if unit == "hours":
        return _hours(start, sign * span, zone)
    day = day_of(local(start, zone))
    if unit == "days":
        return day + dt.timedelta(days=sign * span)
    if unit == "working_days":
        return _working_days(day, sign * span)
    return _months(day, sign * span * (12 if unit == "years" else 1))


def _hours(start: Moment, hours: int, zone: ZoneInfo | None) -> Moment:
    moment = start if isinstance(start, dt.datetime) else dt.datetime.combine(start, dt.time())
    begin = local(moment, zone)
    assert isinstance(begin, dt.datetime)
    if begin.tzinfo is None:
        return begin + dt.timedelta(hours=hours)
    return (begin.astimezone(dt.UTC) + dt.timedelta(hours=hours)).astimezone(begin.tzinfo)


def _working_days(day: dt.date, days: int) -> dt.date:
    step = dt.timedelta(days=1 if days > 0 else -1)
    left = abs(days)
    while left:
        day += step
        left -= day.weekday() < 5
    return day


def _months(day: dt.date, months: int) -> dt.date:
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    return dt.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
