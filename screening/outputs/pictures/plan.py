"""The site plan: to scale where coordinates are given, every sampled place by its gravest outcome, what is required and missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from screening.decision.contents import Contents
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, Entry, about, flow, foot, head
from screening.outputs.pictures.ground import Ground, surveyed
from screening.outputs.pictures.labels import Box, Room
from screening.outputs.pictures.letters import cut, width, wrap
from screening.outputs.pictures.places import WATERS, Point, Spot, results_words, spots
from screening.outputs.pictures.signs import RANK, SIGNS, mark, strike, wave
from screening.outputs.pictures.sketch import sketched
from screening.outputs.pictures.svg import FAINT, INK, Element, box, circle, group, line, sheet, words
from screening.outputs.pictures.view import View, north_arrow, outline, scale_bars, view

PANEL = 190.0
SIZE, STEP = 10.0, 12.5
"""A mark's size, and from one of a stack to the next."""
WIDTHS = (165.0, 112.0)
"""A label's width at most, and where that finds no room."""
SATELLITE = 6.0
"""How far the small sign beside a mark reaches out."""
SHOWN_POINTS = 3
"""Points of one place that a label tells of."""


@dataclass
class Drawing:
    """What has been drawn so far, by layers, and what found no room."""

    room: Room
    below: list[Element] = field(default_factory=list)
    leaders: list[Element] = field(default_factory=list)
    texts: list[Element] = field(default_factory=list)
    marks: list[Element] = field(default_factory=list)
    listed: list[Entry] = field(default_factory=list)
    numbers: int = 0


@dataclass(frozen=True)
class Told:
    """One thing with a mark and a label: a place, or a sample that a rule asks for and nobody took."""

    id: str
    sign: str
    lines: tuple[str, ...]
    brief: str
    spot: Spot | None
    worst: float = 0

    @property
    def order(self) -> tuple[int, float, str]:
        """The gravest first."""
        return RANK[self.sign], -self.worst, self.id


def site_plan(contents: Contents) -> str:
    """The plan on one letter sheet. What finds no room on it goes to further sheets: `sheets` gives them all."""
    return sheets(contents)[0]


def sheets(contents: Contents) -> list[str]:
    """The plan, and sheets of the list that goes with it where the sheet itself has no room for all."""
    found = spots(contents)
    ground = surveyed(contents.site) or sketched(contents.site, found)
    title = headline(contents, found)
    top, begin = head(contents, title, about(contents))
    caution, end = foot(contents)
    window = Box(EDGE, begin, LETTER[0] - 2 * EDGE - PANEL - 8, end - begin)
    seen = view(ground, window)
    drawing = Drawing(Room(window))
    _shapes(ground, seen, drawing)
    days = {day for spot in found for day in spot.days}
    told = sorted([*(_of_spot(spot, len(days) > 1) for spot in found), *_untaken(contents)], key=lambda one: one.order)
    boxes, unplaced = _marks(told, ground, seen, drawing)
    _names(ground, seen, drawing)
    for one in told:
        if one.id in boxes:
            _label(one, boxes[one.id], drawing)
    panel = Box(window.x + window.width + 8, begin, PANEL, end - begin)
    side, rest = _panel(contents, ground, seen, drawing, unplaced, panel)
    children = [
        *top, *caution, group(drawing.below, data_layer="ground"), group(drawing.leaders, data_layer="leaders"),
        group(drawing.texts, data_layer="labels"), group(drawing.marks, data_layer="marks"),
        box(window.x, window.y, window.width, window.height, stroke=INK, stroke_width=0.75), *side,
    ]  # fmt: skip
    first = sheet("plan", *LETTER, f"Sampling plan: {title}", describe(contents, found, ground), children)
    return [first, *_more(contents, rest)]


def headline(contents: Contents, found: Sequence[Spot]) -> str:
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
    told = [
        f"{spot.id}: {'. '.join(_of_spot(spot).lines[1:]) or SIGNS[spot.sign].words}"
        for spot in found
        if spot.sign != "does_not_exceed"
    ]
    clear = [spot.id for spot in found if spot.sign == "does_not_exceed"]
    scale = "to scale" if ground.scaled else "a sketch, not to scale"
    ends = f" Places of which nothing exceeds or is open: {', '.join(clear)}." if clear else ""
    return (
        f"Plan of {contents.site.site.name}, {scale}. {'; '.join(told)}.{ends} The tables of the report hold the same results."[
            :4000
        ]
    )


def _of_spot(spot: Spot, dated: bool = False) -> Told:
    """The label of a place; with its days of sampling where the site has several."""
    days = spot.days if dated else ()
    when = f", {days[0]}" if len(days) == 1 else f", {len(days)} rounds, {days[0]} to {days[-1]}" if days else ""
    lines: list[str] = [spot.id + when]
    shown = [point for point in spot.points if results_words(point)]
    for point in shown[:SHOWN_POINTS]:
        lines += results_words(point)
    if len(shown) > SHOWN_POINTS:
        lines.append(f"and {len(shown) - SHOWN_POINTS} more depths, in the tables")
    if spot.lacking:
        lines.append(f"not analysed: {', '.join(spot.lacking)}")
    if not spot.points:
        lines.append("planned, no result")
    depths = list(dict.fromkeys(point.depth for point in spot.points if point.depth))
    brief = f"{spot.id}, {' / '.join(depths)}" if depths and not shown else spot.id
    if len(lines) == 1:
        lines = [spot.id, *filter(None, (", ".join(depths) + when,))]
        lines[1:] = [lines[1].removeprefix(", ")] if len(lines) > 1 else []
    worst = max(
        (float(item["ratio"] or 0) for point in spot.points for item in (*point.of("exceeds"), *point.of("open"))), default=0.0
    )
    return Told(spot.id, spot.sign, tuple(lines), brief, spot, worst)


def _untaken(contents: Contents) -> list[Told]:
    """Samples that a rule asks for at a component, beyond the planned places that are drawn themselves."""
    made = []
    for one in contents.answer.get("coverage", {}).get("requirements", ()):
        missing = (one["missing"] or 0) - len(one["planned"])
        if one["decides"] and not one["waived"] and missing > 0:
            text = f"{missing} of {one['required']} {one['what']} missing"
            made.append(
                Told(f"{one['component']}: {one['what']}", "missing", (one["component"], text), one["component"], None, missing)
            )
    return made


def _shapes(ground: Ground, seen: View, drawing: Drawing) -> None:
    for shape in ground.shapes:
        drawing.below.append(outline(shape, seen))
        points = seen.way(shape.points)
        drawing.room.avoid([*points, points[0]] if shape.closed else points)


def _marks(told: Sequence[Told], ground: Ground, seen: View, drawing: Drawing) -> tuple[dict[str, Box], list[Told]]:
    """Draw the marks, gravest first; those that would cover each other are moved apart and tied to their place."""
    boxes: dict[str, Box] = {}
    unplaced = []
    for one in told:
        component = one.id.split(": ")[0]
        at = ground.places.get(one.id) if one.spot else ground.of(component) or _centre(ground)
        if at is None:
            unplaced.append(one)
            continue
        x, y = seen.at(at)
        points = one.spot.points if one.spot else ()
        high = STEP * max(1, len(points)) + (3 if any(point.medium in WATERS for point in points) else 0)
        more = any(_clear_but_unlisted(point) for point in points) or bool(one.spot and one.spot.lacking)
        wide = SIZE + (2 * SATELLITE if more else 2)
        wanted = Box(x - wide / 2, y - high / 2, wide, high)
        if one.spot is None:  # beside the middle of its component, where no sample may be thought
            wanted = Box(wanted.x, wanted.y + 1.4 * STEP, wanted.width, wanted.height)
        taken = drawing.room.spread(wanted, 3)
        drawing.room.take(taken)
        boxes[one.id] = taken
        if one.spot and (taken.x, taken.y) != (wanted.x, wanted.y):
            end = taken.nearest(x, y)
            drawing.leaders += [line(x, y, *end, stroke_width=0.5), circle(x, y, 1.2, fill=INK)]
            drawing.room.leaders.append((x, y, *end))
        drawing.marks.append(_stack(one, *taken.middle))
    return boxes, unplaced


def _centre(ground: Ground) -> tuple[float, float] | None:
    points = list(ground.places.values())
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)) if points else None


def _stack(one: Told, x: float, y: float) -> Element:
    """The marks of a place, shallow on top."""
    points = one.spot.points if one.spot else ()
    if not points:
        return group([mark(one.sign, x, y, SIZE)], ". ".join(one.lines), data_place=one.id, data_sign=one.sign)
    begin = y - STEP * (len(points) - 1) / 2
    drawn: list[Element] = []
    for at, point in enumerate(points):
        drawn += _sampled(point, x, begin + STEP * at, one.spot is not None and one.spot.taken_out)
    if one.spot and one.spot.lacking:
        title = f"not analysed: {', '.join(one.spot.lacking)}"
        drawn.append(mark("missing", x + SIZE * 0.62, y + SIZE * 0.42, SIZE * 0.7, title))
    return group(drawn, ". ".join(one.lines), data_place=one.id, data_sign=one.sign)


def _clear_but_unlisted(point: Point) -> bool:
    return point.sign == "does_not_exceed" and point.unlisted > 0


def _sampled(point: Point, x: float, y: float, taken_out: bool) -> list[Element]:
    title = f"{', '.join(point.samples)}: {SIGNS[point.sign].words}" + (f", {point.depth}" if point.depth else "")
    exceeding = {"data_exceeding": " | ".join(point.exceeding)} if point.exceeding else {}
    drawn = [mark(point.sign, x, y, SIZE, title, data_samples=" | ".join(point.samples), **exceeding)]
    if _clear_but_unlisted(point):
        drawn.append(
            mark("no_level", x + SIZE * 0.62, y - SIZE * 0.4, SIZE * 0.62, f"{point.unlisted} detected, no level listed")
        )
    if point.medium in WATERS:
        drawn.append(wave(x, y + SIZE * 0.62, SIZE))
    return drawn + ([strike(x, y, SIZE)] if taken_out else [])


def _names(ground: Ground, seen: View, drawing: Drawing) -> None:
    """The names of components and features: inside where they fit, else near, where nothing is covered."""
    unnamed = []
    for shape in ground.shapes:
        xs, ys = zip(*seen.way(shape.points), strict=True)
        around = Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
        if shape.kind == "dispenser":
            around = Box(around.x - 9, around.y - 9, 18, 18)
        one_line, two_lines = [cut(shape.words, WIDTHS[0])], wrap(shape.words, max(44.0, width(shape.words) * 0.6), most=2)
        for lines, inside in ((one_line, True), (two_lines, True), (one_line, False), (two_lines, False)):
            seek = _inside if inside else _beside
            free = seek(shape.closed, around, max(map(width, lines)), LINE * len(lines), drawing.room)
            if free:
                drawing.room.put(around, free)
                texts = [words(free.x, free.y + 8 + LINE * row, text, 8, fill=FAINT) for row, text in enumerate(lines)]
                drawing.texts.append(group(texts, data_name=shape.id))
                break
        else:
            unnamed.append(shape.words)
    if unnamed:
        drawing.listed.append(Entry(f"drawn without a name for want of room: {'; '.join(unnamed)}"))


def _inside(closed: bool, around: Box, wide: float, high: float, room: Room) -> Box | None:
    x, y = around.middle
    if not closed or wide + 4 > around.width:
        return None
    rows = [y - high / 2, y - SIZE - high, y + SIZE, around.y + 2, around.y + around.height - high - 2]
    inside = [Box(x - wide / 2, at, wide, high) for at in rows if around.y < at < around.y + around.height - high]
    return next((one for one in inside if room.free(one, 1)), None)


def _beside(closed: bool, around: Box, wide: float, high: float, room: Room) -> Box | None:
    x, y = around.middle
    return room.place(around if closed else Box(x - 8, y - 4, 16, 8), wide, high, 90)


def _label(one: Told, at: Box, drawing: Drawing) -> None:
    """A label in full, or shorter, or a number that the list explains."""
    whole = [_broken(one.lines, wide) for wide in WIDTHS]
    short = _broken((one.brief,) if len(one.lines) == 1 else one.lines[:2], WIDTHS[1])
    for lines, far in ((whole[0], 90.0), (whole[1], 120.0), (whole[0], 270.0), (short, 160.0)):
        wide = max(width(text, 8, row == 0) for row, text in enumerate(lines))
        found = drawing.room.place(at, wide, LINE * len(lines), far)
        if found:
            if lines == short and len(one.lines) > 2:
                drawing.listed.append(Entry(_one_line(one), one.sign))
            _write(one, at, found, lines, drawing)
            return
    drawing.numbers += 1
    number = str(drawing.numbers)
    found = drawing.room.place(at, width(number, 8, True), LINE)
    drawing.listed.append(Entry(_one_line(one), one.sign, drawing.numbers))
    if found:
        _write(one, at, found, [number], drawing)


def _broken(lines: Sequence[str], wide: float) -> list[str]:
    """The lines of a label, each broken in two at most; the first is the name, in bold."""
    return [part for row, text in enumerate(lines) for part in wrap(text, wide, 8, row == 0, 1 if row == 0 else 2)]


def _one_line(one: Told) -> str:
    return ": ".join(filter(None, (one.lines[0], ". ".join(one.lines[1:]))))


def _write(one: Told, at: Box, found: Box, lines: Sequence[str], drawing: Drawing) -> None:
    leader = drawing.room.put(at, found)
    if leader:
        drawing.leaders.append(line(*leader[0], *leader[1], stroke=FAINT, stroke_width=0.5))
    texts = [words(found.x, found.y + 8 + LINE * row, text, 8, row == 0) for row, text in enumerate(lines)]
    drawing.texts.append(group(texts, data_label=one.id))


def _panel(
    contents: Contents, ground: Ground, seen: View, drawing: Drawing, unplaced: Sequence[Told], panel: Box
) -> tuple[list[Element], list[Entry]]:
    """Arrow, scale, key, then the lists as far as there is room; also what is left of them."""
    drawn: list[Element] = []
    y = panel.y
    if ground.scaled:
        drawn += north_arrow(panel.x + 18, y + 30, float(contents.site.site.north_deg))
        drawn += scale_bars(panel.x + 48, y + 4, PANEL - 76, seen)
        y += 56
        text = f"1:{seen.scale:g} where this sheet is printed 11 in wide"
    else:
        text = "SKETCH, NOT TO SCALE"
    drawn.append(words(panel.x, y + 9, text, 8, not ground.scaled))
    y += 18
    flow_deg = contents.site.field.flow_deg
    if ground.scaled and flow_deg is not None:
        drawn += north_arrow(panel.x + 18, y + 16, float(flow_deg + contents.site.site.north_deg), 20, "")
        drawn.append(words(panel.x + 36, y + 19, "groundwater flows this way"))
        y += 32
    drawn += _key(panel.x, y)
    y += LINE * 1.25 * (len(SIGNS) + 3) + 12
    entries = list(drawing.listed)
    if entries:
        entries.insert(0, Entry("Labels in full", bold=True))
    if unplaced:
        entries.append(Entry("Without coordinates, not on the plan", bold=True))
        entries += [Entry(_one_line(one), one.sign) for one in unplaced]
    notes = [*ground.notes, *_offered(contents)]
    if notes:
        entries += [Entry("Notes", bold=True), *(Entry(note, most=6) for note in notes)]
    column = Box(panel.x, y, panel.width, panel.y + panel.height - y)
    placed, rest = flow(entries, [column])
    if rest:
        column = Box(column.x, column.y, column.width, column.height - LINE)
        placed, rest = flow(entries, [column])
        drawn.append(words(panel.x, panel.y + panel.height - 2, "The list goes on: next sheet of the plan", 8, True))
    return [*drawn, *_entries(placed)], rest


def _offered(contents: Contents) -> list[str]:
    """What general practice would ask for where no rule was read."""
    lacking = [
        f"{one['component']} {one['taken']} of {one['required']} {one['what']}"
        for one in contents.answer.get("coverage", {}).get("requirements", ())
        if not one["decides"] and one["missing"]
    ]
    return [f"no number of samples was read for this place; common practice, no source: {'; '.join(lacking)}"] if lacking else []


def _key(x: float, y: float) -> list[Element]:
    step = LINE * 1.25
    drawn = [words(x, y + 8, "Key: the gravest outcome at each depth", 8, True)]
    for row, (name, sign) in enumerate(SIGNS.items()):
        at = y + step * (row + 1)
        letter = f" ({sign.letter})" if sign.letter else ""
        drawn += [mark(name, x + 7, at + 5, SIZE), words(x + 18, at + 8, sign.words + letter)]
    at = y + step * (len(SIGNS) + 1)
    drawn += [
        mark("does_not_exceed", x + 7, at + 5, SIZE), mark("no_level", x + 7 + SIZE * 0.62, at + 5 - SIZE * 0.4, SIZE * 0.62),
        words(x + 18, at + 8, "the same, some detected without level"),
        wave(x + 7, at + step + 7, SIZE), words(x + 18, at + step + 8, "water"),
        strike(x + 70, at + step + 5, SIZE), words(x + 80, at + step + 8, "soil taken out"),
    ]  # fmt: skip
    return [group(drawn, data_layer="key")]


def _entries(placed: Sequence[tuple[Entry, float, float, float]]) -> list[Element]:
    drawn = []
    for entry, x, y, room in placed:
        if entry.number is not None:
            drawn.append(words(x + 14, y, str(entry.number), 8, True, text_anchor="end"))
        if entry.sign:
            drawn.append(mark(entry.sign, x + entry.indent - 7, y - 3, 8))
        drawn += [words(x + entry.indent, y + LINE * row, text, 8, entry.bold) for row, text in enumerate(entry.lines(room))]
    return [group(drawn, data_layer="list")]


def _more(contents: Contents, rest: list[Entry]) -> list[str]:
    """Further sheets of the list, three columns each."""
    made: list[str] = []
    while rest:
        title = f"Sampling plan, list continued, sheet {len(made) + 2}"
        top, begin = head(contents, title, about(contents))
        caution, end = foot(contents)
        wide = (LETTER[0] - 2 * EDGE - 2 * 14) / 3
        columns = [Box(EDGE + at * (wide + 14), begin, wide, end - begin) for at in range(3)]
        placed, left = flow(rest, columns)
        if len(left) == len(rest):
            break
        rest = left
        children = [*top, *caution, *_entries(placed)]
        described = "Labels of the plan that found no room on its first sheet."
        made.append(sheet(f"plan-list-{len(made) + 2}", *LETTER, title, described, children))
    return made
