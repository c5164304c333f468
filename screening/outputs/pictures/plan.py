"""The site plan: to scale where coordinates are given, every sampled place by its gravest outcome, what is required and missing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from statistics import fmean

from screening.decision.contents import Contents
from screening.outputs.pictures.callouts import MANY, WIDTHS, Arranged, Told, arranged, of_spot, untaken
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, Entry, about, foot, head
from screening.outputs.pictures.ground import XY, Ground, Shape, surveyed
from screening.outputs.pictures.labels import Box, Room
from screening.outputs.pictures.letters import cut, width, wrap
from screening.outputs.pictures.panel import SIZE, further_sheets, panel
from screening.outputs.pictures.places import WATERS, Point, Spot, spots
from screening.outputs.pictures.signs import SIGNS, mark, strike, wave
from screening.outputs.pictures.sketch import sketched
from screening.outputs.pictures.svg import FAINT, INK, PAPER, Element, box, circle, group, line, sheet, words
from screening.outputs.pictures.view import View, edge, outline, view

PANEL = 190.0
SMALL = 8.0
"""A mark's size where there are many places."""
STEP, REACH = 1.2, 0.62
"""From one mark of a stack to the next, and how far out the middle of the small sign beside a mark lies, in sizes of a mark."""


def site_plan(contents: Contents) -> str:
    """The plan on one letter sheet. What finds no room on it goes to further sheets: `sheets` gives them all."""
    return sheets(contents)[0]


def sheets(contents: Contents) -> list[str]:
    """The plan, and sheets of the list that goes with it where the sheet itself has no room for all."""
    found = spots(contents)
    ground = surveyed(contents.site) or sketched(contents.site, found)
    title = headline(found)
    top, begin = head(contents, title, about(contents))
    caution, end = foot(contents)
    window = Box(EDGE, begin, LETTER[0] - 2 * EDGE - PANEL - 8, end - begin)
    seen = view(ground, window)
    room = Room(window)
    for shape in ground.shapes:
        room.avoid(edge(shape, seen), 3 if shape.kind == "dispenser" else 6 if shape.id else 20)
    days = {day for spot in found for day in spot.days}
    told = sorted([*(of_spot(spot, len(days) > 1) for spot in found), *untaken(contents)], key=lambda one: one.order)
    boxes, marks, ties = _marks(told, ground, seen, room)
    names, unnamed = _inner_names(ground, seen, room)
    more, unnamed = _outer_names(unnamed, seen, room, 17)
    names += more
    labels = arranged(told, boxes, room)
    more, unnamed = _outer_names(unnamed, seen, labels.room, 90)
    entries = _entries(contents, ground, labels, [one for one in told if one.id not in boxes], unnamed)
    side, rest = panel(contents, ground, seen, entries, Box(window.x + window.width + 8, begin, PANEL, end - begin))
    children = [
        *top, *caution, group([outline(shape, seen) for shape in ground.shapes], data_layer="ground"),
        group(ties, data_layer="ties"), group([*(line(*one[3], stroke=FAINT, stroke_width=0.5) for one in labels.labels if one[3])], data_layer="leaders"),
        group([*names, *more, *_texts(labels)], data_layer="labels"), group(marks, data_layer="marks"),
        box(window.x, window.y, window.width, window.height, stroke=INK, stroke_width=0.75), *side,
    ]  # fmt: skip
    first = sheet("plan", *LETTER, f"Sampling plan: {title}", describe(contents, found, ground), children)
    return [first, *further_sheets(contents, rest)]


def headline(found: Sequence[Spot]) -> str:
    """What the plan tells, as its title."""
    counts = {name: sum(spot.sign == name for spot in found) for name in SIGNS}
    over, unsure = counts["exceeds"], counts["open"] + counts["held"]
    places = f"{len(found)} place{'' if len(found) == 1 else 's'}"
    said = [
        f"{over} of {places} {'exceeds' if over == 1 else 'exceed'} a level"
        if over
        else f"None of {places} is shown to exceed a level"
    ]
    if unsure:
        said.append(f"{unsure}{' more' if over else ''} {'is' if unsure == 1 else 'are'} open")
    lacking = sum(bool(spot.lacking) for spot in found)
    if lacking:
        said.append(f"{lacking} lack{'s' if lacking == 1 else ''} analytes asked for")
    if counts["missing"]:
        said.append(f"{counts['missing']} required without a result")
    return "; ".join(said)


def describe(contents: Contents, found: Sequence[Spot], ground: Ground) -> str:
    """The plan in words, for who cannot see it: each place that is not plainly below its levels."""
    plain = [spot for spot in found if spot.sign == "does_not_exceed" and not spot.lacking]
    told = [f"{spot.id}: {'. '.join(of_spot(spot).lines[1:]) or SIGNS[spot.sign].words}" for spot in found if spot not in plain]
    scale = "to scale" if ground.scaled else "a sketch, not to scale"
    ends = f" Places of which nothing exceeds or is open: {', '.join(spot.id for spot in plain)}." if plain else ""
    return (
        f"Plan of {contents.site.site.name}, {scale}. {'; '.join(told)}.{ends} The tables of the report hold the same results."[
            :4000
        ]
    )


def _marks(told: Sequence[Told], ground: Ground, seen: View, room: Room) -> tuple[dict[str, Box], list[Element], list[Element]]:
    """The marks, gravest first; those that would cover each other are moved apart and tied to their place."""
    boxes: dict[str, Box] = {}
    marks: list[Element] = []
    ties: list[Element] = []
    size = SIZE if len(told) <= MANY else SMALL
    for one in told:
        at = ground.places.get(one.at) if one.spot else ground.of(one.at) or _centre(ground)
        if at is None:
            continue
        x, y = seen.at(at)
        points = one.spot.points if one.spot else ()
        high = STEP * size * max(1, len(points)) + (3 if any(point.medium in WATERS for point in points) else 0)
        beside = any(_clear_but_unlisted(point) for point in points) or bool(one.spot and one.spot.lacking)
        wide = 2 * size * (REACH + 0.35) if beside else size + 2
        wanted = Box(x - wide / 2, y - high / 2 + (0 if one.spot else 1.7 * size), wide, high)
        taken = room.spread(wanted, 3)
        room.take(taken)
        boxes[one.id] = taken
        if one.spot and taken != wanted:
            end = taken.nearest(x, y)
            ties += [line(x, y, *end, stroke_width=0.5), circle(x, y, 1.2, fill=INK)]
            room.lead((x, y, *end))
        marks.append(_stack(one, *taken.middle, size))
    return boxes, marks, ties


def _centre(ground: Ground) -> XY | None:
    if not ground.places:
        return None
    xs, ys = zip(*ground.places.values(), strict=True)
    return fmean(xs), fmean(ys)


def _stack(one: Told, x: float, y: float, size: float) -> Element:
    """The marks of a place, shallow on top."""
    points = one.spot.points if one.spot else ()
    drawn: list[Element] = [] if points else [mark(one.sign, x, y, size)]
    begin = y - STEP * size * (len(points) - 1) / 2
    for at, point in enumerate(points):
        drawn += _sampled(point, x, begin + STEP * size * at, size, one.spot is not None and one.spot.taken_out)
    if points and one.spot and one.spot.lacking:
        title = f"not analysed: {', '.join(one.spot.lacking)}"
        drawn.append(mark("missing", x + size * REACH, y + size * 0.42, size * 0.7, title))
    place: Mapping[str, str] = {"data_place": one.id} if one.spot else {"data_component": one.at}
    return group(drawn, one.whole, data_sign=one.sign, **place)


def _clear_but_unlisted(point: Point) -> bool:
    return point.sign == "does_not_exceed" and point.unlisted > 0


def _sampled(point: Point, x: float, y: float, size: float, taken_out: bool) -> list[Element]:
    title = f"{', '.join(point.samples)}: {SIGNS[point.sign].words}" + (f", {point.depth}" if point.depth else "")
    held = {"data_samples": json.dumps(point.samples)} | (
        {"data_exceeding": json.dumps(point.exceeding)} if point.exceeding else {}
    )
    drawn = [mark(point.sign, x, y, size, title, **held)]
    if _clear_but_unlisted(point):
        drawn.append(
            mark("no_level", x + size * REACH, y - size * 0.4, size * 0.62, f"{point.unlisted} detected, no level listed")
        )
    if point.medium in WATERS:
        drawn.append(wave(x, y + size * 0.62, size))
    return drawn + ([strike(x, y, size)] if taken_out else [])


def _around(shape: Shape, seen: View) -> Box:
    xs, ys = zip(*edge(shape, seen), strict=True)
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def _name_lines(shape: Shape) -> tuple[list[str], list[str]]:
    return [cut(shape.words, WIDTHS[0])], wrap(shape.words, max(44.0, min(WIDTHS[0], width(shape.words) * 0.6)), most=2)


def _name(shape: Shape, at: Box, lines: Sequence[str], anchor: str = "start") -> Element:
    x = at.middle[0] if anchor == "middle" else at.x
    texts = [words(x, at.y + 8 + LINE * row, text, 8, fill=FAINT, text_anchor=anchor) for row, text in enumerate(lines)]
    paper = [box(at.x - 1, at.y, at.width + 2, at.height, fill=PAPER, fill_opacity=0.85)] if anchor == "start" else []
    return group([*paper, *texts], data_name=shape.id)


def _inner_names(ground: Ground, seen: View, room: Room) -> tuple[list[Element], list[Shape]]:
    """Names of components and features that fit inside them, and those that do not."""
    names: list[Element] = []
    left: list[Shape] = []
    extents = [_around(shape, seen) for shape in ground.shapes]
    for shape, around in sorted(zip(ground.shapes, extents, strict=True), key=lambda pair: pair[1].width * pair[1].height):
        x, y = around.middle
        found = None
        others = [one for one in extents if one.width * one.height < around.width * around.height]
        for lines in _name_lines(shape) if shape.closed and len(shape.points) > 1 else ():
            wide, high = max(map(width, lines)), LINE * len(lines)
            rows = (y - high / 2, y - SIZE - high, y + SIZE, around.y + 2, around.y + around.height - high - 2)
            boxes = [Box(x - wide / 2, at, wide, high) for at in rows]
            if not ground.scaled:
                boxes.insert(0, Box(around.x + 3, around.y + 1, wide, high))
            boxes = [one for one in boxes if one.within(around) and not any(one.covers(other) for other in others)]
            found = next((one for one in boxes if wide + 4 < around.width and room.free(one, 1)), None)
            if found:
                room.take(found)
                names.append(_name(shape, found, lines, "middle"))
                break
        if not found:
            left.append(shape)
    return names, left


def _outer_names(shapes: Sequence[Shape], seen: View, room: Room, far: float) -> tuple[list[Element], list[Shape]]:
    """Names beside what they name, and what finds no room for one."""
    names: list[Element] = []
    left: list[Shape] = []
    for shape in shapes:
        x, y = seen.at(shape.middle)
        near = _around(shape, seen) if shape.closed else Box(x - 8, y - 4, 16, 8)
        for lines in _name_lines(shape):
            found = room.place(near, max(map(width, lines)), LINE * len(lines), far)
            if found:
                tie = room.put(near, found[0])
                names += [line(*tie, stroke=FAINT, stroke_width=0.5, stroke_dasharray="1 1.5")] if tie else []
                names.append(_name(shape, found[0], lines))
                break
        else:
            left.append(shape)
    return names, left


def _texts(labels: Arranged) -> list[Element]:
    made = []
    for one, at, lines, _ in labels.labels:
        paper = box(at.x - 1, at.y, at.width + 2, at.height, fill=PAPER, fill_opacity=0.85)
        texts = [words(at.x, at.y + 8 + LINE * row, text, 8, row == 0) for row, text in enumerate(lines)]
        made.append(group([paper, *texts], data_label=one.id))
    return made


def _entries(
    contents: Contents, ground: Ground, labels: Arranged, unplaced: Sequence[Told], unnamed: Sequence[Shape]
) -> list[Entry]:
    """The lists beside the plan: labels in full, places without coordinates, what was assumed."""
    entries = [Entry(one.whole, one.sign, number, most=9) for one, number in labels.listed]
    if entries:
        entries.insert(0, Entry("Labels in full", bold=True))
    if unplaced:
        entries.append(Entry("Without coordinates, not on the plan", bold=True))
        entries += [Entry(one.whole, one.sign, most=9) for one in unplaced]
    notes = [*ground.notes, *_offered(contents)]
    if unnamed:
        notes.append(f"drawn without a name for want of room: {'; '.join(shape.words for shape in unnamed)}")
    return entries + ([Entry("Notes", bold=True), *(Entry(note, most=6) for note in notes)] if notes else [])


def _offered(contents: Contents) -> list[str]:
    """What general practice would ask for where no rule was read."""
    lacking = [
        f"{one['component']} {one['taken']} of {one['required']} {one['what']}"
        for one in contents.answer.get("coverage", {}).get("requirements", ())
        if not one["decides"] and one["missing"]
    ]
    return [f"no number of samples was read for this place; common practice, no source: {'; '.join(lacking)}"] if lacking else []
