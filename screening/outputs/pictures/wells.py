"""Time series: one analyte at one place over its sampling days, with the level as it was in force."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from screening.decision.contents import Contents
from screening.decision.words import amount_text
from screening.errors import Refused
from screening.outputs.pictures.axes import DayAxis, LogAxis, days, log_axis, upward
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, about, brief_foot, head
from screening.outputs.pictures.labels import Box, Room
from screening.outputs.pictures.letters import cut, width
from screening.outputs.pictures.places import Told
from screening.outputs.pictures.signs import RANK, SIGNS, below, mark
from screening.outputs.pictures.svg import BLUE, FAINT, INK, Element, box, group, line, path, sheet, slug, words

SINGLE = (540.0, 300.0)
COLUMNS, ROWS, MOST = 2, 2, 3
"""Series of a sheet, and sheets at most."""
DOT = 7.5
GAP = 400
"""Days between two rounds over which no line is drawn: what lies between is not known."""


@dataclass(frozen=True)
class Series:
    """The rounds of an analyte at a place, in order of time; amounts in ``unit``."""

    location: str
    analyte: str
    fraction: str
    medium: str
    unit: str
    rounds: tuple[tuple[dt.date, Told], ...]

    @property
    def sign(self) -> str:
        """Its gravest outcome."""
        return min((str(item["outcome"]) for _, item in self.rounds), key=RANK.__getitem__)

    @property
    def name(self) -> str:
        """Place and analyte in words."""
        return f"{self.location}: {self.analyte}" + (f", {self.fraction}" if self.fraction else "")


@lru_cache(maxsize=2)
def series(contents: Contents) -> list[Series]:
    """Every analyte and place with at least two sampling days, the gravest first, then those with most rounds."""
    found: dict[tuple[str, str, str, str, str], list[tuple[dt.date, Told]]] = {}
    for item in contents.answer["outcomes"]:
        if item["sampled_at"]:
            key = (item["location"], item["analyte"], item["fraction"], item["medium"], item["unit"])
            found.setdefault(key, []).append((dt.date.fromisoformat(item["sampled_at"][:10]), item))
    made = [
        Series(*key, rounds=tuple(sorted(rounds, key=lambda one: (one[0], one[1]["sample_id"], one[1]["table"]))))
        for key, rounds in found.items()
        if len({day for day, _ in rounds}) > 1
    ]
    return sorted(made, key=lambda one: (RANK[one.sign], -len(one.rounds), one.location, one.analyte, one.fraction))


def time_series(contents: Contents, location: str, analyte: str) -> str:
    """The time series of an analyte at a place. Raises `Refused` where it has less than two sampling days."""
    shown = [one for one in series(contents) if one.location == location and one.analyte == analyte]
    if not shown:
        raise Refused(f"location '{location}': has less than two sampling days of '{analyte}', no series can be drawn")
    return series_picture(contents, shown[0])


def series_picture(contents: Contents, one: Series) -> str:
    """The time series of one of those that `series` gives."""
    wide, high = SINGLE
    title = _title(one)
    drawn, y = head(contents, title, about(contents), wide)
    drawn += panel(one, Box(EDGE, y + 4, wide - 2 * EDGE, high))
    key, y = _key(y + high + 18)
    foot, whole = brief_foot(contents, y, wide)
    return sheet(f"series-{slug(one.name)}", wide, whole, title, _described([one]), [*drawn, *key, *foot])


def all_series(contents: Contents) -> list[str]:
    """Sheets of four series: those with a level and a detection, the gravest first."""
    worth = [one for one in series(contents) if one.sign != "no_level" and any(item["detected"] for _, item in one.rounds)]
    per = COLUMNS * ROWS
    drawn_of = worth[: MOST * per]
    over = sum(one.sign == "exceeds" for one in worth)
    title = f"Over time: {over} of {len(worth)} series {'holds' if over == 1 else 'hold'} a result above a level"
    title += f"; {len(drawn_of)} are drawn" if len(worth) > len(drawn_of) else ""
    made = []
    for begin in range(0, len(drawn_of), per):
        shown, number = drawn_of[begin : begin + per], begin // per + 1
        numbered = f"{title} (sheet {number} of {-(-len(drawn_of) // per)})" if len(drawn_of) > per else title
        drawn, y = head(contents, numbered, about(contents))
        wide, high = (LETTER[0] - 2 * EDGE - 18 * (COLUMNS - 1)) / COLUMNS, 212.0
        for at, one in enumerate(shown):
            place = Box(EDGE + at % COLUMNS * (wide + 18), y + 4 + at // COLUMNS * (high + 10), wide, high)
            drawn.append(words(place.x, place.y + 8, cut(_title(one), wide, 9, True), 9, True))
            drawn += panel(one, place)
        key, y = _key(y + -(-len(shown) // COLUMNS) * (high + 10) + 14)
        foot, whole = brief_foot(contents, y)
        made.append(sheet(f"series-{number}", LETTER[0], whole, numbered, _described(shown), [*drawn, *key, *foot]))
    return made


def _title(one: Series) -> str:
    over = sum(item["outcome"] == "exceeds" for _, item in one.rounds)
    told = f"{over} of {len(one.rounds)} exceed" if over else "none is shown to exceed"
    unsure = sum(item["outcome"] == "open" for _, item in one.rounds)
    return f"{one.name}: {told}" + (f", {unsure} open" if unsure else "")


def panel(one: Series, at: Box, more: Iterable[tuple[dt.date, float]] = ()) -> list[Element]:
    """Axes, levels and rounds; ``more`` are points of a line to draw besides, as of a trend."""
    left, right, top, bottom = at.x + 40, at.x + at.width - 4, at.y + 28, at.y + at.height - 14
    stepped = levels_of(one)
    slope = list(more)
    amounts = [amount for _, item in one.rounds if (amount := _amount(item)) is not None]
    numbers = [*amounts, *(float(level) for _, _, level, _ in stepped), *(value for _, value in slope if value > 0)]
    least = (min(numbers), max(numbers)) if numbers else (0.1, 10.0)
    up = log_axis(numbers, bottom, top, most=6, least=(least[0] * 0.8, least[1] * 1.3))
    first, last = one.rounds[0][0], one.rounds[-1][0]
    edge = max(10, (last - first).days // 20)
    when = DayAxis(first - dt.timedelta(days=edge), last + dt.timedelta(days=edge), left, right)
    drawn = [*upward(up, left, right, f"{one.unit} (logarithmic axis)"), *days(when, top, bottom)]
    drawn.append(box(left, top, right - left, bottom - top, stroke=INK, stroke_width=0.6))
    room = Room(Box(left + 1, top + 1, right - left - 2, bottom - top - 2))
    for day, item in one.rounds:
        amount = _amount(item)
        if amount is not None:
            room.take(Box(when.at(day) - DOT / 2, up.at(amount) - DOT / 2, DOT, DOT if item["detected"] else 2 * DOT))
    room.avoid([(when.at(day), up.at(amount)) for day, item in one.rounds if (amount := _amount(item)) is not None])
    room.avoid([(when.at(day), up.at(value)) for day, value in slope if value > 0])
    drawn += _levels(stepped, when, up, room)
    drawn += _line_of_detections(one, when, up)
    if slope:
        drawn.append(
            path([(when.at(day), up.at(value)) for day, value in slope if value > 0], stroke_dasharray="8 3", stroke_width=1.1)
        )
    for day, item in one.rounds:
        drawn += _round(item, when.at(day), up)
    return [group(drawn, _title(one), data_location=one.location, data_analyte=one.analyte)]


def _amount(item: Told) -> float | None:
    text = item["upper"] if item["upper"] is not None else item["value"] or item["limit"]
    amount = float(Decimal(text)) if text else 0.0
    return amount if amount > 0 else None


def levels_of(one: Series) -> list[tuple[dt.date, dt.date | None, Decimal, str]]:
    """The levels that the rounds were held against: from when in force, up to when if a later one follows, number, words."""
    found: dict[str, dict[tuple[dt.date, Decimal], str]] = {}
    for _, item in one.rounds:
        if item["level_normal"] and Decimal(item["level_normal"]) > 0:
            words_of = f"{item['level']} {item['level_unit']} ({item['table']} of {item['version']})"
            found.setdefault(item["table"], {})[dt.date.fromisoformat(item["version"]), Decimal(item["level_normal"])] = words_of
    stepped = []
    for levels in found.values():
        starts = sorted({start for start, _ in levels})
        for (start, number), told in sorted(levels.items()):
            later = next((other for other in starts if other > start), None)
            stepped.append((start, later, number, told))
    return stepped


def _levels(
    stepped: Sequence[tuple[dt.date, dt.date | None, Decimal, str]], when: DayAxis, up: LogAxis, room: Room
) -> list[Element]:
    """Each level solid while in force, dashed before its first day; a step joins it to the next. Words where nothing is."""
    drawn: list[Element] = []
    held: list[tuple[Box, str]] = []
    for start, later, number, told in stepped:
        y, begin, end = up.at(float(number)), when.at(start), when.at(later) if later else when.end
        if begin > when.start and not any(other < start for other, *_ in stepped):
            drawn.append(line(when.start, y, begin, y, stroke_width=1.1, stroke_dasharray="3 3"))
            room.avoid([(when.start, y), (begin, y)])
        drawn.append(line(begin, y, end, y, stroke_width=1.8))
        room.avoid([(begin, y), (end, y)])
        after = next((up.at(float(other)) for begun, _, other, _ in stepped if begun == later), None)
        if after is not None:
            drawn.append(line(end, y, end, after, stroke_width=1.1))
            room.avoid([(end, y), (end, after)])
        held.append((Box(begin, y - 1, max(1.0, end - begin), 2), told))
    for at, told in held:
        for text in (f"level {told}", f"level {told.partition(' (')[0]}"):
            found = room.place(at, width(text), LINE - 1, 54)
            if found:
                leader = room.put(at, found[0])
                drawn += [line(*leader, stroke=FAINT, stroke_width=0.4)] if leader else []
                drawn.append(words(found[0].x, found[0].y + 7.4, text))
                break
    return drawn


def _line_of_detections(one: Series, when: DayAxis, up: LogAxis) -> list[Element]:
    """A thin line between detections that follow each other; none through a non-detect, none over a long gap."""
    drawn = []
    for (day, item), (next_day, other) in pairwise(one.rounds):
        if item["detected"] and other["detected"] and 0 < (next_day - day).days <= GAP:
            here, there = _amount(item), _amount(other)
            if here and there:
                drawn.append(line(when.at(day), up.at(here), when.at(next_day), up.at(there), stroke=FAINT, stroke_width=0.7))
    return drawn


def _round(item: Told, x: float, up: LogAxis) -> list[Element]:
    amount = _amount(item)
    if amount is None:
        return []
    y = up.at(amount)
    told = f"{item['sample_id']}, {item['sampled_at'][:10]}: {amount_text(item, flag=True)}, {SIGNS[item['outcome']].words}"
    if item["detected"]:
        return [mark(item["outcome"], x, y, DOT, told)]
    drawn = [below(x, y, DOT, SIGNS[item["outcome"]].colour, turned=True)]
    return [*drawn, mark("open", x, y, DOT, told)] if item["outcome"] == "open" else [group(drawn, told)]


def _key(y: float) -> tuple[list[Element], float]:
    x = EDGE
    drawn: list[Element] = []
    for name, text in (("exceeds", "exceeds"), ("open", "open"), ("does_not_exceed", "does not exceed")):
        drawn += [mark(name, x + 4, y - 3, DOT), words(x + 11, y, text)]
        x += width(text) + 20
    drawn += [below(x + 4, y - 6, DOT, BLUE, turned=True), words(x + 12, y, "not detected: its limit")]
    x += width("not detected: its limit") + 24
    drawn += [line(x, y - 3, x + 14, y - 3, stroke_width=1.8), words(x + 18, y, "level in force, dashed before")]
    return drawn, y + 8


def _described(shown: Sequence[Series]) -> str:
    told = [
        f"{_title(one)} ({'; '.join(f'{day.isoformat()} {amount_text(item, flag=True)}' for day, item in one.rounds)})"
        for one in shown
    ]
    return f"Amounts over time. {'. '.join(told)}. The tables of the report hold the same results."[:4000]
