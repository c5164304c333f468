"""What stands beside the plan: arrow, scale, key, and the lists, which go on over further sheets where they must."""

from __future__ import annotations

from collections.abc import Sequence

from screening.decision.contents import Contents
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, Entry, about, flow, foot, head
from screening.outputs.pictures.ground import Ground
from screening.outputs.pictures.labels import Box
from screening.outputs.pictures.signs import SIGNS, mark, strike, wave
from screening.outputs.pictures.svg import Element, group, sheet, words
from screening.outputs.pictures.view import View, north_arrow, scale_bars

SIZE = 10.0
"""A mark's size."""


def panel(
    contents: Contents, ground: Ground, seen: View, entries: Sequence[Entry], column: Box
) -> tuple[list[Element], list[Entry]]:
    """The whole column, and the entries for which it has no room."""
    drawn, y = _bearings(contents, ground, seen, column)
    drawn += key(column.x, y)
    y += LINE * 1.25 * (len(SIGNS) + 3) + 12
    room = Box(column.x, y, column.width, column.y + column.height - y)
    placed, rest = flow(entries, [room])
    if rest:
        placed, rest = flow(entries, [Box(room.x, room.y, room.width, room.height - LINE)])
        drawn.append(words(column.x, column.y + column.height - 2, "The list goes on: next sheet of the plan", 8, True))
    return [*drawn, *listed(placed)], rest


def _bearings(contents: Contents, ground: Ground, seen: View, column: Box) -> tuple[list[Element], float]:
    x, y = column.x, column.y
    if not ground.scaled:
        return [words(x, y + 9, "SKETCH, NOT TO SCALE", 9, True)], y + 20
    north = float(contents.site.site.north_deg)
    drawn = [
        *north_arrow(x + 18, y + 30, north),
        group(scale_bars(x + 48, y + 4, column.width - 76, seen), data_layer="scale"),
    ]
    drawn.append(words(x, y + 65, f"1:{seen.scale:g} where this sheet is printed 11 in wide", 8))
    y += 74
    flow_deg = contents.site.field.flow_deg
    if flow_deg is not None:
        drawn += north_arrow(x + 18, y + 12, float(flow_deg) + north, 20, "")
        drawn.append(words(x + 36, y + 15, "groundwater flows this way"))
        y += 28
    return drawn, y


def key(x: float, y: float) -> list[Element]:
    """The signs and their words, downwards from a point."""
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


def listed(placed: Sequence[tuple[Entry, float, float, float]]) -> list[Element]:
    """Entries of a list where `flow` put them."""
    drawn = []
    for entry, x, y, room in placed:
        if entry.number is not None:
            drawn.append(words(x + 14, y, str(entry.number), 8, True, text_anchor="end"))
        if entry.sign:
            drawn.append(mark(entry.sign, x + entry.indent - 7, y - 3, 8))
        drawn += [words(x + entry.indent, y + LINE * row, text, 8, entry.bold) for row, text in enumerate(entry.lines(room))]
    return [group(drawn, data_layer="list")]


def further_sheets(contents: Contents, rest: Sequence[Entry]) -> list[str]:
    """The rest of the list, three columns a sheet."""
    made: list[str] = []
    while rest:
        number = len(made) + 2
        top, begin = head(contents, f"Sampling plan, list continued, sheet {number}", about(contents))
        caution, end = foot(contents)
        wide = (LETTER[0] - 2 * EDGE - 2 * 14) / 3
        placed, rest = flow(rest, [Box(EDGE + at * (wide + 14), begin, wide, end - begin) for at in range(3)])
        children = [*top, *caution, *listed(placed)]
        described = "Labels and notes of the plan that found no room on its first sheet."
        made.append(sheet(f"plan-list-{number}", *LETTER, f"Sampling plan, list, sheet {number}", described, children))
    return made
