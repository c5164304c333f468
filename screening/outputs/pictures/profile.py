"""Depth profiles: the soil results of a place downwards, each divided by its level on a logarithmic axis."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from screening.closure.samples import FEET_IN
from screening.decision.contents import Contents
from screening.decision.words import amount_text, depth_text
from screening.errors import Refused
from screening.outputs.pictures.axes import LogAxis, PlainAxis, across, log_axis, upward
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, about, brief_foot, head
from screening.outputs.pictures.labels import Box, Room
from screening.outputs.pictures.letters import cut, width
from screening.outputs.pictures.places import WATERS, Spot, Told, spots
from screening.outputs.pictures.signs import RANK, SIGNS, below, mark
from screening.outputs.pictures.svg import BLUE, FAINT, PAPER, Element, box, group, line, sheet, slug, words

SINGLE = (468.0, 400.0)
COLUMNS, ROWS = 3, 2
DOT = 7.0
MOST = 4
"""Sheets at most: the gravest places are drawn, the tables hold all."""
LINES = 4
"""Results of one depth that a label tells of."""


@dataclass(frozen=True)
class Scale:
    """Axes that all profiles of a sheet share; depths in ``unit``."""

    ratios: tuple[float, ...]
    deepest: float
    unit: str


def depth_profile(contents: Contents, location: str) -> str:
    """The profile of one place. Raises `Refused` where the place has no soil result with a depth."""
    spot = next((one for one in profiled(contents) if one.id == location), None)
    if spot is None:
        raise Refused(f"location '{location}': has no soil result with a depth to draw a profile of")
    return profile_of(contents, spot)


def profile_of(contents: Contents, spot: Spot) -> str:
    """The profile of one of the places that `profiled` gives."""
    wide, high = SINGLE
    top, y = head(contents, _title(spot), about(contents), wide)
    drawn = _panel(contents, spot, Box(EDGE, y + 4, wide - 2 * EDGE, high), _scale([spot]))
    key, y = _key(EDGE, y + high + 16, wide)
    foot, whole = brief_foot(contents, y + 4, wide)
    return sheet(f"profile-{slug(spot.id)}", wide, whole, _title(spot), _described([spot]), [*top, *drawn, *key, *foot])


def profiles(contents: Contents) -> list[str]:
    """Sheets of six profiles on the same axes: every place that exceeds, is open, or was sampled at several depths."""
    worth = [one for one in profiled(contents) if one.sign in ("exceeds", "open") or len(_depths(one)) > 1]
    worth.sort(key=lambda one: (RANK[one.sign], one.id))
    per = COLUMNS * ROWS
    drawn_of = worth[: MOST * per]
    scale = _scale(drawn_of)
    over = sum(one.sign == "exceeds" for one in worth)
    title = f"Depth profiles: {over} of {len(worth)} places {'exceeds' if over == 1 else 'exceed'} a level"
    title += f"; the gravest {len(drawn_of)} are drawn" if len(worth) > len(drawn_of) else ""
    made = []
    for begin in range(0, len(drawn_of), per):
        shown, number = drawn_of[begin : begin + per], begin // per + 1
        numbered = f"{title} (sheet {number} of {-(-len(drawn_of) // per)})" if len(drawn_of) > per else title
        drawn, y = head(contents, numbered, about(contents))
        wide, high = (LETTER[0] - 2 * EDGE - 14 * (COLUMNS - 1)) / COLUMNS, 218.0
        for at, spot in enumerate(shown):
            column, row = at % COLUMNS, at // COLUMNS
            place = Box(EDGE + column * (wide + 14), y + 4 + row * (high + 8), wide, high)
            drawn.append(words(place.x, place.y + 8, cut(_title(spot), wide, 9, True), 9, True))
            drawn += _panel(contents, spot, place, scale)
        key, y = _key(EDGE, y + -(-len(shown) // COLUMNS) * (high + 8) + 14, LETTER[0])
        foot, whole = brief_foot(contents, y + 2)
        made.append(sheet(f"profiles-{number}", LETTER[0], whole, numbered, _described(shown), [*drawn, *key, *foot]))
    return made


@lru_cache(maxsize=2)
def profiled(contents: Contents) -> list[Spot]:
    """Places with soil results whose depth is known."""
    return [spot for spot in spots(contents) if _depths(spot)]


def _soil(spot: Spot) -> list[Told]:
    return [
        item for point in spot.points for item in point.outcomes
        if item["medium"] not in WATERS and item["depth_top"] is not None and item["depth_unit"] in FEET_IN
    ]  # fmt: skip


def _depths(spot: Spot) -> set[str]:
    return {depth_text(item) for item in _soil(spot)}


def _scale(shown: Sequence[Spot]) -> Scale:
    items = [item for spot in shown for item in _soil(spot)]
    units = {item["depth_unit"] or "ft" for item in items}
    unit = next(iter(units)) if len(units) == 1 else "ft"
    deepest = max((_depth(item, "depth_bottom", unit) for item in items), default=1.0)
    return Scale(tuple(float(item["ratio"]) for item in items if item["ratio"]), deepest, unit)


def _depth(item: Told, key: str, unit: str) -> float:
    given = item[key] if item[key] is not None else item["depth_top"]
    return float(Decimal(given) * FEET_IN[item["depth_unit"]] / FEET_IN[unit])


def _title(spot: Spot) -> str:
    items = _soil(spot)
    over = sum(item["outcome"] == "exceeds" for item in items)
    unsure = sum(item["outcome"] == "open" for item in items)
    told = f"{over} of {len(items)} exceed" if over else "none is shown to exceed"
    return f"{spot.id}: {told}" + (f", {unsure} open" if unsure else "")


def _panel(contents: Contents, spot: Spot, at: Box, scale: Scale) -> list[Element]:
    left, right, top, bottom = at.x + 26, at.x + at.width - 6, at.y + 26, at.y + at.height - 24
    marks = _marks_of(contents, spot, scale.unit)
    deepest = max([scale.deepest, *(depth for depth, _ in marks)]) * 1.08 or 1.0
    ratios = log_axis(scale.ratios, left, right, most=6)
    down = PlainAxis(0, deepest, top, bottom)
    drawn: list[Element] = [
        *across(ratios, top, bottom, "result divided by its level (logarithmic axis)"),
        *upward(down, left, right, f"depth, {scale.unit} below grade"),
        line(left, top, right, top, stroke_width=1.2), line(ratios.at(1), top, ratios.at(1), bottom, stroke_width=1.6),
    ]  # fmt: skip
    room = Room(Box(left + 1, top + 1, right - left - 2, bottom - top - 2))
    room.avoid([(ratios.at(1), top), (ratios.at(1), bottom)])
    for depth, text in marks:
        y = down.at(depth)
        colour = BLUE if text.startswith("water") else FAINT
        drawn += [
            line(left, y, right, y, stroke=colour, stroke_width=0.9, stroke_dasharray="6 2"),
            words(left + 2, y - 2, text, 8, fill=colour),
        ]
        room.take(Box(left + 2, y - 9, width(text), 10))
    return [*drawn, *_points(_soil(spot), scale.unit, ratios, down, room)]


def _marks_of(contents: Contents, spot: Spot, unit: str) -> list[tuple[float, str]]:
    """Depths of the tank's base and of the water, where the site file states them."""
    found = []
    component = spot.location.component if spot.location else ""
    tank = next((one for one in contents.site.tank if one.id == component), None)
    if tank and tank.base_depth_ft is not None:
        found.append((float(tank.base_depth_ft / FEET_IN[unit]), f"base of {tank.id}"))
    if contents.site.field.groundwater_depth_ft is not None:
        found.append((float(contents.site.field.groundwater_depth_ft / FEET_IN[unit]), "water"))
    return found


def _points(items: Iterable[Told], unit: str, ratios: LogAxis, down: PlainAxis, room: Room) -> list[Element]:
    """Marks at their depths, then for each depth what exceeds or is open there, where that covers nothing."""
    drawn: list[Element] = []
    told: dict[float, list[tuple[Told, Box]]] = {}
    for item in sorted(items, key=lambda item: (-RANK[item["outcome"]], Decimal(item["ratio"] or 0), item["analyte"])):
        if not item["ratio"]:
            continue
        x, y = ratios.at(float(item["ratio"])), down.at(_depth(item, "depth_top", unit))
        low = down.at(_depth(item, "depth_bottom", unit))
        if low != y:
            drawn.append(line(x, y, x, low, stroke=FAINT, stroke_width=1))
            y = (y + low) / 2
        if not item["detected"]:
            drawn.append(below(x, y, DOT, SIGNS[item["outcome"]].colour))
        if item["detected"] or item["outcome"] != "does_not_exceed":
            drawn.append(
                mark(item["outcome"], x, y, DOT, f"{item['analyte']}: {amount_text(item, flag=True)}, {item['ratio']} × level")
            )
        own = Box(x - DOT / 2, y - DOT / 2, DOT, DOT)
        room.take(own)
        if item["outcome"] in ("exceeds", "open"):
            told.setdefault(y, []).insert(0, (item, own))
    for found in told.values():
        drawn += _label([item for item, _ in found], found[0][1], room)
    return [group(drawn)]


def _label(items: Sequence[Told], at: Box, room: Room) -> list[Element]:
    """The results of one depth, the worst first, with a leader to its mark; fewer of them where there is less room."""
    whole = [f"{SIGNS[item['outcome']].letter} {item['analyte']} {amount_text(item)}" for item in items]
    for most in dict.fromkeys((min(LINES, len(whole)), min(2, len(whole)), 1)):
        lines = [*whole[:most], *([f"and {len(whole) - most} more"] if len(whole) > most else [])]
        place = room.place(at, max(map(width, lines)), (LINE - 1) * len(lines), 104)
        if place:
            leader = room.put(at, place[0])
            drawn = [line(*leader, stroke=FAINT, stroke_width=0.4)] if leader else []
            drawn.append(box(place[0].x - 1, place[0].y, place[0].width + 2, place[0].height, fill=PAPER, fill_opacity=0.85))
            return drawn + [words(place[0].x, place[0].y + 7.4 + (LINE - 1) * row, text) for row, text in enumerate(lines)]
    return []


def _key(x: float, y: float, wide: float) -> tuple[list[Element], float]:
    parts = [("exceeds", "exceeds (E)"), ("open", "open (?)"), ("does_not_exceed", "does not exceed")]
    drawn: list[Element] = []
    for name, text in parts:
        drawn += [mark(name, x + 4, y - 3, DOT), words(x + 11, y, text)]
        x += width(text) + 22
    drawn += [below(x + 10, y - 3, DOT, BLUE), words(x + 14, y, "not detected: its limit")]
    note = "Results without a level are in the tables; so are labels that found no room here."
    if wide < LETTER[0]:
        return [*drawn, words(EDGE, y + LINE, note)], y + LINE + 6
    return [*drawn, words(x + 120, y, note)], y + 6


def _described(shown: Sequence[Spot]) -> str:
    told = []
    for spot in shown:
        over = [
            f"{depth_text(item)} {item['analyte']} {amount_text(item, flag=True)}"
            for item in _soil(spot)
            if item["outcome"] in ("exceeds", "open")
        ]
        told.append(f"{_title(spot)}" + (f" ({'; '.join(over)})" if over else ""))
    return f"Soil results by depth, divided by their levels. {'. '.join(told)}. The tables of the report hold the same results."[
        :4000
    ]
