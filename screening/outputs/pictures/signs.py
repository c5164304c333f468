"""The signs that stand for outcomes in every picture: the shape tells, the colour only repeats it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from screening.outputs.pictures.svg import BLUE, FAINT, INK, ORANGE, PAPER, Element, box, circle, group, line, path


@dataclass(frozen=True)
class Sign:
    """A sign: its words in the key, the letter that stands for it in tables, its colour."""

    words: str
    letter: str
    colour: str


SIGNS: Mapping[str, Sign] = {
    "exceeds": Sign("exceeds a level", "E", ORANGE),
    "open": Sign("open: cannot be shown", "?", FAINT),
    "held": Sign("held back until a person decides", "h", INK),
    "missing": Sign("required, and no result", "m", INK),
    "does_not_exceed": Sign("does not exceed", "", BLUE),
    "no_level": Sign("no level listed", "n", FAINT),
}
"""From the gravest; a place bears the first that any of its results earns."""
RANK = {name: rank for rank, name in enumerate(SIGNS)}


def mark(name: str, x: float, y: float, size: float = 9, title: str = "", **attributes: str | float) -> Element:
    """The sign of an outcome, centred on a point and ``size`` points wide and high."""
    half, colour = size / 2, SIGNS[name].colour
    stroke: dict[str, str | float] = {"stroke": colour, "stroke_width": size / 8}
    if name == "exceeds":
        corners = [(x, y - half), (x + half, y + half * 0.8), (x - half, y + half * 0.8)]
        drawn = [path(corners, True, **{**stroke, "stroke_width": size / 16}, fill=colour, stroke_linejoin="round")]
    elif name == "open":
        left, right = (x - half, y), (x + half, y)
        drawn = [
            path([(x, y - half), right, (x, y + half), left], True, **stroke, fill=PAPER),
            path([left, right, (x, y + half)], True, **stroke, fill=colour),
        ]
    elif name == "held":
        wide = size * 0.24
        drawn = [box(at - wide / 2, y - half * 0.9, wide, half * 1.8, fill=colour) for at in (x - half * 0.5, x + half * 0.5)]
    elif name == "missing":
        arm = half * 0.5
        drawn = [
            circle(x, y, half * 0.95, **{**stroke, "stroke_width": size / 11}, fill=PAPER, stroke_dasharray=f"{size * 0.22:.2f}"),
            line(x - arm, y - arm, x + arm, y + arm, **stroke),
            line(x - arm, y + arm, x + arm, y - arm, **stroke),
        ]
    elif name == "no_level":
        side = size * 0.62
        drawn = [
            box(
                x - side / 2, y - side / 2, side, side, **{**stroke, "stroke_width": size / 9}, fill=PAPER,
                stroke_dasharray=f"{size * 0.11:.2f}",
            )
        ]  # fmt: skip
    else:
        drawn = [circle(x, y, half * 0.85, **stroke, fill=PAPER)]
    return group(drawn, title, data_sign=name, **attributes)


def wave(x: float, y: float, size: float = 9) -> Element:
    """The line under a sign that tells of water."""
    step, high = size / 4, size / 8
    points = " ".join(f"q{step / 2:.2f} {high if turn % 2 else -high:.2f} {step:.2f} 0" for turn in range(4))
    way = f"M{x - size / 2:.2f} {y:.2f} {points}"
    return Element("path", {"d": way, "fill": "none", "stroke": BLUE, "stroke_width": size / 10})


def strike(x: float, y: float, size: float = 9) -> Element:
    """The stroke through a sign of soil that was taken out of the ground."""
    return line(x - size * 0.65, y + size * 0.45, x + size * 0.65, y - size * 0.45, stroke_width=size / 12)


def below(x: float, y: float, size: float, colour: str, turned: bool = False) -> Element:
    """The open arrow of a non-detect, from its limit to the left, or downwards where ``turned``: the truth lies that way."""
    long, barb = size * 1.3, size * 0.3
    points = [(x - long + barb, y - barb), (x - long, y), (x - long + barb, y + barb)]
    drawn = [
        line(x, y - size * 0.35, x, y + size * 0.35, stroke=colour, stroke_width=size / 8),
        line(x, y, x - long, y, stroke=colour, stroke_width=size / 11),
        path(points, stroke=colour, stroke_width=size / 11),
    ]
    return group(drawn, **({"transform": f"rotate(-90 {x:.2f} {y:.2f})"} if turned else {}))
