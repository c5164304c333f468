"""From metres on the ground to points on the sheet: a round scale, its bar, the arrow to the north, outlines of what is there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from screening.outputs.pictures.ground import FOOT, XY, Ground, Shape
from screening.outputs.pictures.labels import Box
from screening.outputs.pictures.svg import FAINT, INK, PAPER, Element, box, group, line, path, words

POINT = 0.0254 / 72
"""Metres in a point of the sheet."""
ROUND = (1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8)
STYLES: dict[str, dict[str, str | float]] = {
    "tank": {"stroke_width": 1.2},
    "piping": {"stroke_width": 1.6},
    "dispenser": {"stroke_width": 1.2},
    "pit": {"stroke_width": 0.9, "stroke": FAINT, "stroke_dasharray": "7 2 1.5 2"},
    "excavation": {"stroke_width": 0.9, "stroke": FAINT, "stroke_dasharray": "7 2 1.5 2"},
    "stockpile": {"stroke_width": 0.9, "stroke": FAINT, "stroke_dasharray": "1.5 2"},
    "building": {"stroke_width": 0.9, "stroke": FAINT, "fill": "#EEF0F2"},
    "canopy": {"stroke_width": 0.7, "stroke": FAINT, "stroke_dasharray": "5 3"},
    "property_line": {"stroke_width": 0.9, "stroke": FAINT, "stroke_dasharray": "14 3 2 3 2 3"},
    "utility": {"stroke_width": 0.7, "stroke": FAINT, "stroke_dasharray": "9 2 2 2"},
    "fence": {"stroke_width": 0.7, "stroke": FAINT, "stroke_dasharray": "2 2"},
    "surface_water": {"stroke_width": 0.7, "stroke": FAINT, "fill": "#E8EEF5"},
}
PLAIN: dict[str, str | float] = {"stroke_width": 0.7, "stroke": FAINT}


@dataclass(frozen=True)
class View:
    """A window onto the ground: ``scale`` is the n of 1:n at print size, None for a sketch."""

    window: Box
    factor: float
    middle: XY
    scale: float | None

    def at(self, point: XY) -> XY:
        """A point of the ground on the sheet, where y runs downwards."""
        x, y = self.window.middle
        return x + (point[0] - self.middle[0]) * self.factor, y - (point[1] - self.middle[1]) * self.factor

    def way(self, points: Sequence[XY]) -> list[XY]:
        """Points of the ground on the sheet."""
        return [self.at(point) for point in points]


def view(ground: Ground, window: Box, edge: float = 38) -> View:
    """The window at the largest round scale that shows everything, ``edge`` points of room left on each side for labels."""
    points = [*ground.places.values(), *(point for shape in ground.shapes for point in shape.points)] or [(0.0, 0.0)]
    xs, ys = zip(*points, strict=True)
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    middle = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
    edge = edge if ground.scaled else 14.0
    room = window.width - 2 * edge, window.height - 1.4 * edge
    if not ground.scaled:
        return View(window, min(room[0] / max(wide, 1), room[1] / max(high, 1)), middle, None)
    needed = max(wide / room[0], high / room[1], 6 / room[0]) / POINT
    power = 10.0 ** math.floor(math.log10(needed))
    scale = next((step * power for step in ROUND if step * power >= needed), 10 * power)
    return View(window, 1 / (POINT * scale), middle, scale)


DISPENSER = 18.0
"""Width of the square that stands for a dispenser, whatever the scale."""


def edge(shape: Shape, seen: View) -> list[XY]:
    """The line that is drawn for a shape; its first point comes again where it is closed."""
    if len(shape.points) == 1:
        (x, y), half = seen.at(shape.points[0]), DISPENSER / 2
        return [(x + across * half, y + down * half) for across, down in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))]
    points = seen.way(shape.points)
    return [*points, points[0]] if shape.closed else points


def outline(shape: Shape, seen: View) -> Element:
    """A component or feature as it is drawn: dashed where it stays in place."""
    style = {"fill": "none", **(STYLES.get(shape.kind, PLAIN) if seen.scale else PLAIN)}
    if shape.stays or (seen.scale and shape.kind == "piping" and not shape.sure):
        style |= {"stroke_dasharray": "5 2.5"}
    title = shape.words if shape.sure else f"{shape.words} (place or form assumed)"
    points = edge(shape, seen)
    drawn = [path(points[:-1] if shape.closed else points, shape.closed, **style)]
    if shape.kind == "piping" and seen.scale:  # two thin lines side by side: a pipe, not a border
        drawn.append(path(points, False, stroke=PAPER, stroke_width=0.6))
    return group(drawn, title, data_component=shape.id, data_kind=shape.kind)


def scale_bars(x: float, y: float, room: float, seen: View) -> list[Element]:
    """Two bars, feet above and metres below, no longer than ``room``; their upper left corner is the point."""
    drawn = []
    for at, (unit, size) in enumerate((("ft", FOOT), ("m", 1.0))):
        length = _round_below(room / (seen.factor * size))
        step = length * seen.factor * size / 4
        top = y + 9 + at * 22
        drawn += [
            box(x + part * step, top, step, 4, stroke=INK, stroke_width=0.6, fill=INK if part % 2 == 0 else PAPER)
            for part in range(4)
        ]
        drawn += [
            words(
                x + share * 4 * step, top - 2.5, f"{length * share:g}" + (f" {unit}" if share == 1 else ""), 8, text_anchor=anchor
            )
            for share, anchor in ((0, "start"), (0.5, "middle"), (1, "middle"))
        ]
    return drawn


def _round_below(most: float) -> float:
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1, 2, 4, 5) if step * power <= most * 1.0000001)


def north_arrow(x: float, y: float, degrees: float, size: float = 34, letter: str = "N") -> list[Element]:
    """An arrow around a point, turned clockwise from the top of the sheet."""

    def turned(across: float, up: float) -> XY:
        turn = math.radians(degrees)
        return x + across * math.cos(turn) + up * math.sin(turn), y + across * math.sin(turn) - up * math.cos(turn)

    half = size / 2
    tail, tip = turned(0, -half), turned(0, half)
    left, right, notch = turned(-size * 0.16, half * 0.1), turned(size * 0.16, half * 0.1), turned(0, half * 0.3)
    name = turned(0, half + 6)
    return [
        line(*tail, *notch, stroke_width=1.1),
        path([tip, left, notch], True, fill=INK, stroke_width=0.7),
        path([tip, right, notch], True, fill=PAPER, stroke_width=0.7),
        words(name[0], name[1] + 3.2, letter, 9, True, text_anchor="middle"),
    ]
