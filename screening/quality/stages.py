"""Holding times: the stages between collection and analysis, and whether two moments keep a limit.

Where the time of day of both moments is known, the limit is held to the minute. Where only dates are known, a limit in
days is held in calendar days (collected on the 1st, analysed on the 15th: 14 days, not late), which favours the
laboratory by less than a day; a limit in hours or minutes is late or kept only where no time of day could change that.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

POINTS = ("collection", "leaching", "preparation", "analysis")
NO_LIMIT = "none"
_STAGE = re.compile(r"(\w+) > (\w+) (\d+) (d|h|min)")
_LENGTH = {"d": dt.timedelta(days=1), "h": dt.timedelta(hours=1), "min": dt.timedelta(minutes=1)}
_WORDS = {"d": "days", "h": "hours", "min": "minutes"}
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
class Held:
    """Whether the stages were kept: `state` is one of `ORDER`; the criterion and what was observed, in words.

    ``lacks`` names what would settle an unknown: dates of points, 'time of day', or 'order' of the dates.
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


def has_time(moment: dt.datetime) -> bool:
    """Whether the time of day is known: midnight stands for a date alone."""
    return moment.time() != dt.time()


def held(stages: Sequence[Stage], moments: Mapping[str, dt.datetime | None], grossly: Decimal) -> Held:
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


def _span(stages: Sequence[Stage], moments: Mapping[str, dt.datetime | None], grossly: Decimal) -> Held:
    begin, end = moments.get(stages[0].begin), moments.get(stages[-1].end)
    criterion = "; ".join(stage.told for stage in stages)
    if begin is None or end is None:
        missing = [point for point in (stages[0].begin, stages[-1].end) if moments.get(point) is None]
        return Held("unknown", criterion, f"no date of {' and '.join(missing)}", tuple(missing))
    observed = _observed(begin, end, stages[0].begin, stages[-1].end)
    if begin > end and (begin.date() > end.date() or (has_time(begin) and has_time(end))):
        return Held("unknown", criterion, f"dates out of order: {observed}", ("order",))
    state = _state(begin, end, total(stages), stages[0].unit, grossly)
    if len(stages) > 1 and state == "fine":
        # every stage is kept for sure only where the whole time is within the shortest limit
        shortest = min(stages, key=lambda stage: stage.limit)
        if _state(begin, end, shortest.limit, shortest.unit, grossly) != "fine":
            between = tuple(stage.end for stage in stages[:-1])
            return Held("unknown", criterion, f"{observed}, and no date of {', '.join(between)}", between)
    return Held(state, criterion, observed, ("time of day",) if state == "unknown" else ())


def _state(begin: dt.datetime, end: dt.datetime, limit: dt.timedelta, unit: str, grossly: Decimal) -> str:
    far = dt.timedelta(seconds=int(Decimal(int(limit.total_seconds())) * grossly))
    if has_time(begin) and has_time(end):
        least = most = end - begin
    else:
        days = dt.timedelta(days=(end.date() - begin.date()).days)
        if unit == "d":
            least = most = days
        else:  # more than least and less than most, so a limit equal to either is settled
            minute = dt.timedelta(minutes=1)
            least, most = days - dt.timedelta(days=1) + minute, days + dt.timedelta(days=1) - minute
    if least > limit:
        return "grossly_late" if least > far else "late"
    return "fine" if most <= limit else "unknown"


def _observed(begin: dt.datetime, end: dt.datetime, first: str, last: str) -> str:
    days = (end.date() - begin.date()).days
    if has_time(begin) and has_time(end):
        minutes = int(abs(end - begin).total_seconds()) // 60
        length = f"{minutes // 1440} d {minutes % 1440 // 60} h {minutes % 60} min"
    else:
        length = f"{days} day{'' if abs(days) == 1 else 's'}"
    return f"{length} from {first} {_told(begin)} to {last} {_told(end)}"


def _told(moment: dt.datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}" if has_time(moment) else f"{moment:%Y-%m-%d}"
