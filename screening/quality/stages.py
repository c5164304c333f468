"""Holding times: the stages between collection and analysis, and whether two moments keep a limit.

Where the time of day of both moments is known, the limit is held to the minute. Where only dates are known, a limit in
days is held in calendar days (collected on the 1st, analysed on the 15th: 14 days, not late), which favours the
laboratory by less than a day; a limit in hours or minutes is late or kept only where no time of day could change that.
Times with an offset from UTC are held exactly; between times without one a change of the clock may add or take an hour,
so a limit that this hour decides is neither late nor kept. Days are those of the delivered clock.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from screening.normal.dates import DAY, LOCAL, ahead

POINTS = ("collection", "leaching", "preparation", "analysis")
NO_LIMIT = "none"
_STAGE = re.compile(r"(\w+) > (\w+) (\d+) (d|h|min)")
_LENGTH = {"d": dt.timedelta(days=1), "h": dt.timedelta(hours=1), "min": dt.timedelta(minutes=1)}
_WORDS = {"d": "days", "h": "hours", "min": "minutes"}
_HOUR = dt.timedelta(hours=1)
ORDER = ("fine", "unknown", "late", "grossly_late")


@dataclass(frozen=True)
class Stage:
    """One stage with a clock of its own."""

    begin: str
    end: str
    count: int
    unit: str

    @property
    def limit(self) -> dt.timedelta:
        """The longest time allowed."""
        return self.count * _LENGTH[self.unit]

    @property
    def told(self) -> str:
        """The limit in words."""
        return f"at most {self.count} {_WORDS[self.unit]} from {self.begin} to {self.end}"


@dataclass(frozen=True)
class At:
    """One moment as stored: in UTC where ``known`` is an offset, else as delivered (see `screening.normal.dates`)."""

    moment: dt.datetime
    known: str | None = None

    @property
    def is_exact(self) -> bool:
        """Whether the offset from UTC is known."""
        return self.known not in (None, "", DAY, LOCAL)

    @property
    def clock(self) -> dt.datetime:
        """What the delivered clock showed."""
        return self.moment + ahead(self.known) if self.is_exact and self.known else self.moment

    @property
    def has_time(self) -> bool:
        """Whether the time of day is known: midnight stands for a date alone."""
        return self.known != DAY and self.clock.time() != dt.time()

    @property
    def told(self) -> str:
        """Day and, where known, time of the delivered clock."""
        return f"{self.clock:%Y-%m-%d %H:%M}" if self.has_time else f"{self.clock:%Y-%m-%d}"


@dataclass(frozen=True)
class Held:
    """Whether the stages were kept: `state` is one of `ORDER`; the criterion and what was observed, in words.

    ``lacks`` names what would settle an unknown: dates of points, 'time of day', 'time zone', or 'order' of the dates.
    """

    state: str
    criterion: str
    observed: str
    lacks: tuple[str, ...] = ()


def parse_stages(text: str) -> tuple[Stage, ...]:
    """The stages of a criterion, () where there is no limit. Raises `ValueError` with the text at fault."""
    if text == NO_LIMIT:
        return ()
    stages = []
    for part in text.split("; "):
        match = _STAGE.fullmatch(part)
        if match is None or match[1] not in POINTS or match[2] not in POINTS:
            raise ValueError(part)
        stages.append(Stage(match[1], match[2], int(match[3]), match[4]))
    if any(one.end != two.begin for one, two in itertools.pairwise(stages)):
        raise ValueError(text)
    return tuple(stages)


def total(stages: Sequence[Stage]) -> dt.timedelta:
    """The time over all stages; no allowance that may be shifted from one to another."""
    return sum((stage.limit for stage in stages), dt.timedelta())


def held(stages: Sequence[Stage], moments: Mapping[str, At | None], grossly: Decimal) -> Held:
    """The worst of the stages; stages whose common point is not known are held together against the sum of their limits."""
    known = [name for name in POINTS if moments.get(name) is not None]
    found, at = [], 0
    while at < len(stages):
        end = at
        while end < len(stages) - 1 and stages[end].end not in known:
            end += 1
        found.append(_span(stages[at : end + 1], moments, grossly))
        at = end + 1
    return max(found, key=lambda one: ORDER.index(one.state)) if found else Held("fine", "no limit", "")


def _span(stages: Sequence[Stage], moments: Mapping[str, At | None], grossly: Decimal) -> Held:
    begin, end = moments.get(stages[0].begin), moments.get(stages[-1].end)
    criterion = "; ".join(stage.told for stage in stages)
    if begin is None or end is None:
        missing = [point for point in (stages[0].begin, stages[-1].end) if moments.get(point) is None]
        return Held("unknown", criterion, f"no date of {' and '.join(missing)}", tuple(missing))
    observed = _observed(begin, end, stages[0].begin, stages[-1].end)
    if _reversed(begin, end):
        return Held("unknown", criterion, f"dates out of order: {observed}", ("order",))
    state = _state(begin, end, total(stages), stages[0].unit, grossly)
    if len(stages) > 1 and state == "fine":
        # every stage is kept for sure only where the whole time is within the shortest limit
        shortest = min(stages, key=lambda stage: stage.limit)
        if _state(begin, end, shortest.limit, shortest.unit, grossly) != "fine":
            between = tuple(stage.end for stage in stages[:-1])
            return Held("unknown", criterion, f"{observed}, and no date of {', '.join(between)}", between)
    lacks = "time zone" if begin.has_time and end.has_time else "time of day"
    return Held(state, criterion, observed, (lacks,) if state == "unknown" else ())


def _reversed(begin: At, end: At) -> bool:
    if begin.has_time and end.has_time:
        return _lengths(begin, end)[1] < dt.timedelta()
    return begin.clock.date() > end.clock.date()


def _lengths(begin: At, end: At) -> tuple[dt.timedelta, dt.timedelta]:
    """The shortest and the longest time that may lie between two times of day."""
    if begin.is_exact and end.is_exact:
        return end.moment - begin.moment, end.moment - begin.moment
    length = end.clock - begin.clock
    gained = _HOUR * (_summer(begin.clock) - _summer(end.clock))
    return min(length, length + gained), max(length, length + gained)


def _summer(moment: dt.datetime) -> int:
    """1 where clocks that follow the summer time of the United States and Canada are an hour ahead, else 0.

    From the second Sunday of March to the first of November; before 2007 from the first of April to the last of October
    (15 U.S.C. 260a, recalled).
    """
    first, last = ((3, 8), (11, 1)) if moment.year >= 2007 else ((4, 1), (10, 25))
    begin, end = (_sunday(dt.datetime(moment.year, month, day, 2)) for month, day in (first, last))
    return int(begin <= moment < end)


def _sunday(moment: dt.datetime) -> dt.datetime:
    """The first Sunday from a day on, at its time."""
    return moment + dt.timedelta(days=6 - moment.weekday())


def _state(begin: At, end: At, limit: dt.timedelta, unit: str, grossly: Decimal) -> str:
    far = dt.timedelta(seconds=int(Decimal(int(limit.total_seconds())) * grossly))
    if begin.has_time and end.has_time:
        least, most = _lengths(begin, end)
    else:
        days = dt.timedelta(days=(end.clock.date() - begin.clock.date()).days)
        if unit == "d":
            least = most = days
        else:  # more than least and less than most, so a limit equal to either is settled
            minute = dt.timedelta(minutes=1)
            least, most = days - dt.timedelta(days=1) + minute, days + dt.timedelta(days=1) - minute
    if least > limit:
        return "grossly_late" if least > far else "late"
    return "fine" if most <= limit else "unknown"


def _observed(begin: At, end: At, first: str, last: str) -> str:
    days = (end.clock.date() - begin.clock.date()).days
    if begin.has_time and end.has_time:
        exact = begin.is_exact and end.is_exact
        minutes = int(abs(end.moment - begin.moment if exact else end.clock - begin.clock).total_seconds()) // 60
        length = f"{minutes // 1440} d {minutes % 1440 // 60} h {minutes % 60} min"
    else:
        length = f"{days} day{'' if abs(days) == 1 else 's'}"
    return f"{length} from {first} {begin.told} to {last} {end.told}"
