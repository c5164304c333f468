"""The strip of deadlines: what happened when, which clocks run to which day, and where today stands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from screening.decision.contents import Contents
from screening.outputs.pictures.axes import DayAxis, days
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, about, brief_foot, head
from screening.outputs.pictures.letters import width, wrap
from screening.outputs.pictures.svg import FAINT, INK, ORANGE, PAPER, Element, box, circle, group, line, path, sheet, words

START = 300.0
BAR = 7.0
STATUS = {"met": "met", "running": "runs", "overdue": "OVERDUE", "does_not_apply": "does not apply"}
MOST = 34
"""Clocks of a sheet; those that apply come first."""


@dataclass(frozen=True)
class Clock:
    """A deadline with a date: from which moment it is counted, when it ends."""

    told: Mapping[str, Any]
    start: dt.date | dt.datetime
    end: dt.date | dt.datetime


def strip(contents: Contents) -> str:
    """The strip of the clocks that have a date; those that do not apply are faint."""
    found = contents.deadlines["deadlines"]
    dated = [clock for one in found if (clock := _clock(one)) is not None]
    waiting = [one for one in found if one["due"] is None and one["applies"] is not False and one["status"] == "unknown"]
    undated = [one for one in found if one["status"] == "undated" and one["applies"] is not False]
    shown = dated[:MOST]
    title = _title(dated)
    drawn, y = head(contents, title, about(contents))
    events = sorted(
        ((moment, name.replace("_", " ")) for name, moment in contents.site.events.items()),
        key=lambda one: (_day(one[0]), one[1]),
    )
    moments = [
        *(moment for moment, _ in events),
        contents.today,
        *(moment for clock in shown for moment in (clock.start, clock.end)),
    ]
    first, last = min(map(_day, moments)), max(map(_day, moments))
    edge = max(3, (last - first).days // 25)
    axis = DayAxis(first - dt.timedelta(days=edge), last + dt.timedelta(days=edge), START, LETTER[0] - EDGE - 8)
    pins, y = _pins(events, axis, y + 6)
    begin = y
    y += 14
    rows: list[Element] = []
    for clock in shown:
        row, y = _row(clock, axis, y)
        rows += row
    x = axis.at(contents.today)
    drawn += [
        *days(axis, begin, y), *pins, line(x, begin - 2, x, y, stroke_width=1.6),
        words(x, begin + 8, "today", 8, True, text_anchor="middle", stroke=PAPER, stroke_width=3, paint_order="stroke"), *rows,
    ]  # fmt: skip
    y += 24
    for text in _rest(dated, waiting, undated):
        for part in wrap(text, LETTER[0] - 2 * EDGE, most=3):
            drawn.append(words(EDGE, y, part))
            y += LINE
    foot, high = brief_foot(contents, y)
    return sheet("deadlines", LETTER[0], high, title, _described(dated, contents), [*drawn, *foot])


def _title(dated: Sequence[Clock]) -> str:
    counted = [clock.told["status"] for clock in dated if clock.told["applies"] is not False]
    late, runs = counted.count("overdue"), counted.count("running")
    if not counted:
        return "Deadlines: no clock that applies has a date"
    return f"Deadlines: {late} overdue, {runs} running, {counted.count('met')} met"


def _clock(one: Mapping[str, Any]) -> Clock | None:
    if one["due"] is None:
        return None
    start = one["counted_from"].rpartition(", ")[2]
    return Clock(one, _moment(start), _moment(one["due"]))


def _moment(text: str) -> dt.date | dt.datetime:
    return dt.datetime.fromisoformat(text) if "T" in text or " " in text else dt.date.fromisoformat(text)


def _day(moment: dt.date | dt.datetime) -> dt.date:
    return moment.date() if isinstance(moment, dt.datetime) else moment


def _pins(events: Sequence[tuple[dt.date | dt.datetime, str]], axis: DayAxis, y: float) -> tuple[list[Element], float]:
    """Events above the axis, each on the first line where its words are free."""
    lines: list[float] = []
    placed = []
    for moment, name in events:
        x, text = axis.at(moment), f"{name} {_day(moment).isoformat()}"
        left = min(x + 5, LETTER[0] - EDGE - width(text))
        row = next((at for at, end in enumerate(lines) if left > end + 4), len(lines))
        lines[row : row + 1] = [left + width(text)]
        placed.append((x, left, row, text))
    bottom = y + LINE * len(lines) + 4
    drawn: list[Element] = []
    for x, left, row, text in placed:
        at = y + LINE * (row + 0.5)
        drawn += [
            line(x, at, x, bottom, stroke=FAINT, stroke_width=0.6),
            circle(x, at, 2.2, fill=INK),
            words(left, at + 2.8, text),
        ]
    return drawn, bottom


def _row(clock: Clock, axis: DayAxis, y: float) -> tuple[list[Element], float]:
    one = clock.told
    faint = one["applies"] is False
    name = wrap(f"{one['what']} ({one['span']}; {one['citation']})", START - EDGE - 14, most=3)
    low, high = sorted((axis.at(clock.start), axis.at(clock.end)))
    middle = y + LINE * len(name) / 2
    wide = max(high - low, 1.5)
    style: dict[str, str | float] = {"stroke": FAINT if faint else INK, "stroke_width": 0.7}
    if faint:
        style |= {"stroke_dasharray": "2 2"}
    drawn = [words(EDGE, y + 8 + LINE * at, text, 8, fill=FAINT if faint else INK) for at, text in enumerate(name)]
    drawn.append(box(low, middle - BAR / 2, wide, BAR, **style, fill=PAPER if one["status"] != "met" or faint else "#D5DAE0"))
    if one["status"] == "overdue" and not faint:  # hatched, and the word: not by colour alone
        step = 4.0
        hatch = [(x, min(x + BAR, low + wide)) for x in _steps(low, low + wide, step)]
        drawn += [
            line(x, middle + BAR / 2, end, middle + BAR / 2 - (end - x), stroke=ORANGE, stroke_width=0.8) for x, end in hatch
        ]
    due = axis.at(clock.end)
    drawn.append(
        path(
            [(due - 3, middle), (due, middle - 4.5), (due + 3, middle), (due, middle + 4.5)],
            True,
            fill=FAINT if faint else INK,
            stroke_width=0,
        )
    )
    open_text = "" if one["applies"] is not None else ", hangs on the recommendation"
    text = f"due {one['due'].replace('T', ' ')[:16]}, {STATUS.get(one['status'], one['status'].replace('_', ' '))}{open_text}"
    bold = one["status"] == "overdue" and not faint
    left = max(low + wide, due) + 7
    if left + width(text, 8, bold) > LETTER[0] - EDGE:
        left = low - 6 - width(text, 8, bold)
    drawn.append(
        words(
            max(left, START),
            middle + 2.8,
            text,
            8,
            bold,
            fill=FAINT if faint else INK,
            stroke=PAPER,
            stroke_width=2.5,
            paint_order="stroke",
        )
    )
    return [group(drawn, f"{one['what']}: {text}", data_status=one["status"])], y + LINE * len(name) + 5


def _steps(start: float, end: float, step: float) -> list[float]:
    return [start + step * at for at in range(int((end - start) / step) + 1)]


def _rest(dated: Sequence[Clock], waiting: Sequence[Mapping[str, Any]], undated: Sequence[Mapping[str, Any]]) -> list[str]:
    """What has no place on the strip, in words."""
    said = []
    if len(dated) > MOST:
        said.append(f"{len(dated) - MOST} more clocks with a date stand in the list of deadlines.")
    if waiting:
        events = dict.fromkeys(one["counted_from"] for one in waiting)
        said.append(
            f"Without a date, for their event is not stated ({'; '.join(events)}): {'; '.join(one['what'] for one in waiting)}."
        )
    if undated:
        said.append(f"{len(undated)} duties have no date; the list of deadlines tells them.")
    said.append("A deadline that is not listed may exist all the same: only what was read or recalled is stored.")
    return said


def _described(dated: Sequence[Clock], contents: Contents) -> str:
    told = [
        f"{clock.told['what']}: due {clock.told['due']}, counted from {clock.told['counted_from']}, "
        f"{STATUS.get(clock.told['status'], clock.told['status'])} ({clock.told['citation']})"
        for clock in dated
    ]
    return f"Deadlines as of {contents.today.isoformat()}. {'; '.join(told) or 'None has a date'}."[:4000]
