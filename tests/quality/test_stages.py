"""Holding times to the minute and in days; the limits of the edition by substance and material."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from screening.quality.editions import Edition
from screening.quality.holding import picked
from screening.quality.stages import At, held, parse_stages, total

TWO = Decimal(2)
FORTNIGHT = parse_stages("collection > analysis 14 d")
HOURS = parse_stages("collection > analysis 24 h")
EXTRACTED = parse_stages("collection > preparation 7 d; preparation > analysis 40 d")
NOON = dt.datetime(2025, 3, 8, 12)


def at(moment: dt.datetime | None, known: str | None = "-05:00") -> At | None:
    """A moment as stored, in UTC."""
    return None if moment is None else At(moment, known if moment.time() != dt.time() else "day")


def state(stages: Any, begin: dt.datetime | None, end: dt.datetime | None, middle: dt.datetime | None = None) -> str:
    return held(stages, {"collection": at(begin), "preparation": at(middle), "analysis": at(end)}, TWO).state


@pytest.mark.parametrize(
    ("after", "wanted"),
    [
        (dt.timedelta(days=13, hours=23), "fine"),
        (dt.timedelta(days=14), "fine"),
        (dt.timedelta(days=14, minutes=1), "late"),
        (dt.timedelta(days=28), "late"),
        (dt.timedelta(days=28, minutes=1), "grossly_late"),
    ],
)
def test_with_both_times_the_limit_is_held_to_the_minute(after: dt.timedelta, wanted: str) -> None:
    assert state(FORTNIGHT, NOON, NOON + after) == wanted


@pytest.mark.parametrize(("day", "wanted"), [(14, "fine"), (15, "late"), (28, "late"), (29, "grossly_late")])
def test_with_dates_alone_calendar_days_count(day: int, wanted: str) -> None:
    first = dt.datetime(2025, 5, 1)
    assert state(FORTNIGHT, first, first + dt.timedelta(days=day)) == wanted
    assert state(FORTNIGHT, first + dt.timedelta(hours=9), first + dt.timedelta(days=day)) == wanted, (
        "one time alone says nothing"
    )


@pytest.mark.parametrize(("day", "wanted"), [(0, "fine"), (1, "unknown"), (2, "late"), (4, "grossly_late")])
def test_a_limit_in_hours_needs_times(day: int, wanted: str) -> None:
    """One day later is 1 minute to 47 h 59 min; two days later is more than 24 h whatever the time of day."""
    first = dt.datetime(2025, 5, 1)
    assert state(HOURS, first, first + dt.timedelta(days=day)) == wanted


def test_a_change_of_the_clock_adds_no_hour() -> None:
    """10:00 at UTC-5 on 8 March to 11:00 at UTC-4 on 22 March 2025 is 14 days to the minute; times are UTC in the store."""
    begin, end = dt.datetime(2025, 3, 8, 15), dt.datetime(2025, 3, 22, 15)
    assert state(FORTNIGHT, begin, end) == "fine"
    assert state(FORTNIGHT, begin, end + dt.timedelta(minutes=1)) == "late"


def clocks(begin: tuple[str, str], end: tuple[str, str], stages: Any = FORTNIGHT) -> Any:
    """What is held between two moments, each as stored and with what is known of it."""
    one, two = (At(dt.datetime.fromisoformat(text), known) for text, known in (begin, end))
    return held(stages, {"collection": one, "analysis": two}, TWO)


def test_local_times_across_a_change_of_the_clock_are_settled_only_where_the_hour_decides_nothing() -> None:
    """Clocks went ahead on 9 March and back on 2 November 2025 where they change; some places never change them."""
    assert clocks(("2025-03-08 10:00", "local"), ("2025-03-22 10:00", "local")).state == "fine"
    ahead = clocks(("2025-03-08 10:00", "local"), ("2025-03-22 10:30", "local"))
    assert (ahead.state, ahead.lacks) == ("unknown", ("time zone",)), "13 d 23 h 30 min, or 14 d 0 h 30 min"
    assert clocks(("2025-03-08 10:00", "local"), ("2025-03-22 11:01", "local")).state == "late"
    assert clocks(("2025-10-25 10:00", "local"), ("2025-11-08 09:30", "local")).state == "unknown", "an hour was gained"
    assert clocks(("2025-10-25 10:00", "local"), ("2025-11-08 09:00", "local")).state == "fine"
    assert clocks(("2025-06-01 10:00", "local"), ("2025-06-15 10:01", "local")).state == "late", "no change between them"
    assert clocks(("2006-03-20 10:00", "local"), ("2006-04-03 10:30", "local")).state == "unknown", "2 April before 2007"


def test_days_are_those_of_the_delivered_clock() -> None:
    """Collected at 21:00 on 1 May at UTC-4, which is 2 May in UTC: the 16th is the fifteenth day after."""
    late = clocks(("2025-05-02 01:00", "-04:00"), ("2025-05-16", "day"))
    assert late.state == "late" and late.observed == "15 days from collection 2025-05-01 21:00 to analysis 2025-05-16"
    midnight = clocks(("2025-05-02 00:00", "-04:00"), ("2025-05-16 00:01", "-04:00"))
    assert midnight.state == "late" and midnight.observed.startswith("14 d 0 h 1 min"), (
        "20:00 on the delivered clock, no mere day"
    )
    assert clocks(("2025-05-02 01:00", "-04:00"), ("2025-05-15 21:00", "local")).state == "fine", "both on the delivered clock"


def test_each_stage_has_its_own_clock() -> None:
    """Invented dates: 8 days to extraction is late though the whole is far below 47 days."""
    first = dt.datetime(2025, 5, 1)
    assert state(EXTRACTED, first, first + dt.timedelta(days=20), first + dt.timedelta(days=8)) == "late"
    assert state(EXTRACTED, first, first + dt.timedelta(days=47), first + dt.timedelta(days=7)) == "fine"
    assert state(EXTRACTED, first, first + dt.timedelta(days=48), first + dt.timedelta(days=7)) == "late"


def test_without_the_middle_date_only_what_is_sure_is_said() -> None:
    first = dt.datetime(2025, 5, 1)
    assert state(EXTRACTED, first, first + dt.timedelta(days=7)) == "fine", "extracted before, whenever it was"
    assert state(EXTRACTED, first, first + dt.timedelta(days=8)) == "unknown"
    assert state(EXTRACTED, first, first + dt.timedelta(days=48)) == "late", "some stage was too long"


def test_missing_and_reversed_dates_are_no_comfort() -> None:
    assert state(FORTNIGHT, None, NOON) == state(FORTNIGHT, NOON, None) == "unknown"
    back = held(FORTNIGHT, {"collection": at(NOON), "analysis": at(NOON - dt.timedelta(days=1))}, TWO)
    assert back.state == "unknown" and back.observed.startswith("dates out of order")


@pytest.mark.parametrize(
    "text",
    ["14 d", "collection > analysis 14", "collection > shelf 3 d", "collection > preparation 7 d; collection > analysis 40 d"],
)
def test_a_stage_that_is_none(text: str) -> None:
    with pytest.raises(ValueError, match=text[:4]):
        parse_stages(text)


def test_totals_of_the_leaching_test(reference: Path, edition: Edition) -> None:
    """Example g04: SW-846 Method 1311 section 8.5 as answered by EPA (read): 28, 61, 56 and 360 days in all."""
    published = json.loads((reference / "stats" / "g04_holding_time_totals.json").read_text(encoding="utf-8"))["published_answer"]
    names = {
        "volatiles": ("Benzene", "8260"),
        "semivolatiles": ("Pyrene", "8270"),
        "mercury": ("Mercury", ""),
        "metals": ("Lead", ""),
    }
    for sort, (analyte, method) in names.items():
        pick = picked(edition, analyte, method, "soil", "leachate")
        assert pick is not None
        assert total(parse_stages(edition.rules("holding_times")[pick[0]]["stages"])).days == published[sort]


@pytest.mark.parametrize(
    ("analyte", "method", "medium", "stages"),
    [
        ("Benzene", "", "groundwater", "collection > analysis 14 d"),
        ("Naphthalene", "8270", "groundwater", "collection > preparation 7 d; preparation > analysis 40 d"),
        ("Naphthalene", "8260", "groundwater", "collection > analysis 14 d"),
        ("Naphthalene", "", "soil", "collection > analysis 14 d"),
        ("Diesel range organics", "8015", "soil", "collection > preparation 14 d; preparation > analysis 40 d"),
        ("Lead", "6010", "groundwater", "collection > analysis 180 d"),
        ("Mercury", "7470", "groundwater", "collection > analysis 28 d"),
        ("Hexavalent chromium", "", "groundwater", "collection > analysis 24 h"),
        ("Aroclor 1254", "8082", "soil", "none"),
    ],
)
def test_the_limit_of_a_substance(edition: Edition, analyte: str, method: str, medium: str, stages: str) -> None:
    """As in the table of holding times: 40 CFR 136 Table II (read), county plans (second-hand), SW-846 (recalled)."""
    pick = picked(edition, analyte, method, medium, "")
    assert pick is not None and edition.rules("holding_times")[pick[0]]["stages"] == stages


def test_no_limit_where_the_edition_has_none(edition: Edition) -> None:
    assert picked(edition, "Nitrate", "", "groundwater", "") is None
    assert picked(edition, "Benzene", "", "other", "") is None
