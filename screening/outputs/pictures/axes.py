"""Axes: logarithmic with ticks at 1, 2 and 5, plain, and of days; each turns a value into a coordinate."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from screening.outputs.pictures.letters import width
from screening.outputs.pictures.svg import FAINT, Element, line, words

GRID = "#C9CED4"
"""Faint lines behind the marks, which carry no meaning alone."""


@dataclass(frozen=True)
class LogAxis:
    """From ``low`` to ``high`` (both above zero) between two coordinates."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """The coordinate; values beyond the axis come to its ends."""
        inside = min(max(value, self.low), self.high)
        share = math.log10(inside / self.low) / math.log10(self.high / self.low)
        return self.start + share * (self.end - self.start)

    def ticks(self) -> list[tuple[float, str]]:
        """Values with their texts: 1, 2, 5 where there is room, else the powers of ten."""
        decades = math.log10(self.high / self.low)
        steps = (1, 2, 5) if abs(self.end - self.start) / decades > 85 else (1,)
        first, last = math.floor(math.log10(self.low)), math.ceil(math.log10(self.high))
        found = [step * 10.0**power for power in range(first, last + 1) for step in steps]
        return [(value, plain(value)) for value in found if self.low * 0.999 <= value <= self.high * 1.001]


@dataclass(frozen=True)
class PlainAxis:
    """From ``low`` to ``high`` between two coordinates, which may run downwards."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """The coordinate."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def ticks(self) -> list[tuple[float, str]]:
        """Round values with their texts, about five of them."""
        raw = (self.high - self.low) / 5
        power = 10.0 ** math.floor(math.log10(raw))
        step = next(size * power for size in (1, 2, 5, 10) if size * power >= raw)
        first = math.ceil(self.low / step - 1e-9)
        return [(at * step, plain(at * step)) for at in range(first, math.floor(self.high / step + 1e-9) + 1)]


@dataclass(frozen=True)
class DayAxis:
    """From one day to another between two coordinates."""

    first: dt.date
    last: dt.date
    start: float
    end: float

    def at(self, day: dt.date | dt.datetime) -> float:
        """The coordinate of a day, or of a moment in it; beyond the axis, its ends."""
        hours = day.hour / 24 + day.minute / 1440 if isinstance(day, dt.datetime) else 0.0
        whole = max(1, (self.last - self.first).days)
        share = (day.toordinal() + hours - self.first.toordinal()) / whole
        return self.start + min(max(share, 0.0), 1.0) * (self.end - self.start)

    def ticks(self) -> list[tuple[dt.date, str]]:
        """First days of years, quarters or months, or every so many days, with their texts."""
        room = max(2, int((self.end - self.start) / 52))
        days = (self.last - self.first).days
        for months in (1, 3, 6, 12, 24, 60, 120, 240, 600, 1200):
            if days / 30.4 / months <= room and days > 75:
                return self._monthly(months)
        step = next(size for size in (1, 2, 5, 7, 14, 21) if days / size <= room or size == 21)
        found = [self.first + dt.timedelta(days=at) for at in range(0, days + 1, step)]
        return [(day, day.isoformat()) for day in found]

    def _monthly(self, months: int) -> list[tuple[dt.date, str]]:
        found = []
        for at in range(self.first.year * 12, (self.last.year + 1) * 12):
            day = dt.date(at // 12, at % 12 + 1, 1)
            if at % months == 0 and self.first <= day <= self.last:
                found.append((day, str(day.year) if months >= 12 else f"{day.year}-{day.month:02d}"))
        return found


Axis = LogAxis | PlainAxis


def plain(value: float) -> str:
    """A tick's number, without an exponent as far as a reader takes it."""
    if value == 0:
        return "0"
    if 1e-6 <= abs(value) < 1e7:
        return f"{value:.9f}".rstrip("0").rstrip(".")
    return f"{value:.0e}"


def log_axis(values: Iterable[float], start: float, end: float, most: int = 7, least: Sequence[float] = (0.1, 10.0)) -> LogAxis:
    """Whole decades around values, ``least`` always in, at most so many: what lies lower comes to the low end."""
    found = [value for value in values if value > 0 and math.isfinite(value)]
    low, high = min([*found, least[0]]), max([*found, least[1]])
    top = math.ceil(math.log10(high) - 1e-9)
    bottom = max(math.floor(math.log10(low) + 1e-9), top - most)
    return LogAxis(10.0**bottom, 10.0**top, start, end)


def across(axis: Axis, top: float, bottom: float, under: str) -> list[Element]:
    """Grid lines and texts of an axis that runs to the right, with its name below."""
    drawn: list[Element] = []
    for value, text in axis.ticks():
        x = axis.at(value)
        drawn += [line(x, top, x, bottom, stroke=GRID, stroke_width=0.4), words(x, bottom + 9.5, text, 8, text_anchor="middle")]
    return [*drawn, words((axis.start + axis.end) / 2, bottom + 20, under, 8, text_anchor="middle", fill=FAINT)]


def upward(axis: Axis, left: float, right: float, name: str) -> list[Element]:
    """Grid lines and texts of an axis that runs up or down, with its name above."""
    drawn: list[Element] = []
    for value, text in axis.ticks():
        y = axis.at(value)
        drawn += [line(left, y, right, y, stroke=GRID, stroke_width=0.4), words(left - 3, y + 2.8, text, 8, text_anchor="end")]
    y = min(axis.start, axis.end)
    return [*drawn, words(left - 24, y - 5, name, 8, fill=FAINT)]


def days(axis: DayAxis, top: float, bottom: float) -> list[Element]:
    """Grid lines and texts of an axis of days."""
    drawn: list[Element] = []
    free = -1e9
    for day, text in axis.ticks():
        x, half = axis.at(day), width(text) / 2
        drawn.append(line(x, top, x, bottom, stroke=GRID, stroke_width=0.4))
        if x - half > free:
            drawn.append(words(x, bottom + 9.5, text, 8, text_anchor="middle"))
            free = x + half + 3
    return drawn
