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
from screening.quality.stages import held, parse_stages, total

TWO = Decimal(2)
FORTNIGHT = parse_stages("collection > analysis 14 d")
HOURS = parse_stages("collection > analysis 24 h")
EXTRACTED = parse_stages("collection > preparation 7 d; preparation > analysis 40 d")
NOON = dt.datetime(2025, 3, 8, 12)


def state(stages: Any, begin: dt.datetime | None, end: dt.datetime | None, middle: dt.datetime | None = None) -> str:
    return held(stages, {"collection": begin, "preparation": middle, "analysis": end}, TWO).state


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
    back = held(FORTNIGHT, {"collection": NOON, "analysis": NOON - dt.timedelta(days=1)}, TWO)
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
