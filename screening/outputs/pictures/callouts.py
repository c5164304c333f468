"""What the labels of a plan say, and the best of a few arrangements of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from screening.decision.contents import Contents
from screening.outputs.pictures.frame import LINE
from screening.outputs.pictures.labels import Box, Edges, Room
from screening.outputs.pictures.letters import width, wrap
from screening.outputs.pictures.places import Point, Spot, results_words
from screening.outputs.pictures.signs import RANK, SIGNS

WIDTHS = (165.0, 112.0)
"""A label's width at most, and where that finds no room."""
MANY = 45
"""Places above which labels begin shorter and fewer arrangements are tried; the list tells the rest."""
SHOWN_POINTS = 3
"""Points of one place that a label tells of."""
LOST, SHORTENED = 400.0, 150.0
"""What a label costs that becomes a number, or that tells less than all, in points of distance."""
GRAVE = 3.0
"""How much more that costs where a result exceeds."""

AGAIN = 4
"""How often those that found no room for all go first in another try."""


@dataclass(frozen=True)
class Told:
    """One thing with a mark and a label: a place, or a sample that a rule asks for and nobody took.

    ``lines`` begin with its name; ``at`` is the place or component whose position it has.
    """

    id: str
    at: str
    sign: str
    lines: tuple[str, ...]
    spot: Spot | None
    worst: float = 0

    @property
    def order(self) -> tuple[int, float, str]:
        """The gravest first."""
        return RANK[self.sign], -self.worst, self.id

    @property
    def tight(self) -> tuple[str, ...]:
        """Its name, and the worst result as a multiple of the level, or its second line where there is none."""
        if not self.lines[1:] or self.sign == "does_not_exceed":
            return (self.spot.id if self.spot else self.lines[0],)
        if self.spot is None or not self.spot.points:
            return self.lines[:2]
        worst = min(self.spot.points, key=lambda point: (RANK[point.sign], -_ratio(point)))
        times = f" {worst.worst['ratio']} ×" if worst.worst and worst.worst["ratio"] else ""
        return self.spot.id, ", ".join(filter(None, (worst.depth, SIGNS[worst.sign].letter + times)))

    @property
    def whole(self) -> str:
        """All of it as one line of a list."""
        return ": ".join(filter(None, (self.lines[0], ". ".join(self.lines[1:]))))


def of_spot(spot: Spot, dated: bool = False) -> Told:
    """The label of a place; with its days of sampling where the site has several."""
    days = spot.days if dated else ()
    when = days[0] if len(days) == 1 else f"{len(days)} rounds, {days[0]} to {days[-1]}" if days else ""
    shown = [point for point in spot.points if results_words(point)]
    told = [line for point in shown[:SHOWN_POINTS] for line in results_words(point)]
    told += [f"and {len(shown) - SHOWN_POINTS} more depths, in the tables"] if len(shown) > SHOWN_POINTS else []
    told += [f"not analysed: {', '.join(spot.lacking)}"] if spot.lacking else []
    told += [] if spot.points else ["planned, no result"]
    if told:
        lines = [", ".join(filter(None, (spot.id, when))), *told]
    else:
        depths = dict.fromkeys(point.depth for point in spot.points if point.depth)
        lines = [spot.id, *filter(None, (", ".join(filter(None, (*depths, when))),))]
    return Told(spot.id, spot.id, spot.sign, tuple(lines), spot, max(map(_ratio, spot.points), default=0.0))


def _ratio(point: Point) -> float:
    return float(point.worst["ratio"] or 0) if point.worst else 0.0


def untaken(contents: Contents) -> list[Told]:
    """Samples that a rule asks for at a component, beyond the planned places that are drawn themselves."""
    made = []
    for number, one in enumerate(contents.answer.get("coverage", {}).get("requirements", ())):
        missing = (one["missing"] or 0) - len(one["planned"])
        if one["decides"] and not one["waived"] and missing > 0:
            text = f"{missing} of {one['required']} {one['what']} missing"
            made.append(
                Told(f"{one['component']} {number}", one["component"], "missing", (one["component"], text), None, missing)
            )
    return made


@dataclass
class Arranged:
    """Labels with their boxes and leaders, and what is only a number, or shortened, on the plan."""

    room: Room
    labels: list[tuple[Told, Box, list[str], Edges | None]] = field(default_factory=list)
    listed: list[tuple[Told, int | None]] = field(default_factory=list)
    cost: float = 0


def arranged(told: Sequence[Told], boxes: Mapping[str, Box], room: Room) -> Arranged:
    """The cheapest of the arrangements that a few orders of placing give."""
    here = [one for one in told if one.id in boxes]
    orders: list[Callable[[Told], tuple[Any, ...]]] = [
        lambda one: one.order,
        lambda one: (len(one.lines), *one.order),
        lambda one: (boxes[one.id].y, boxes[one.id].x, one.id),
        lambda one: (boxes[one.id].x, boxes[one.id].y, one.id),
        lambda one: (-boxes[one.id].y, boxes[one.id].x, one.id),
        lambda one: (-boxes[one.id].x, boxes[one.id].y, one.id),
    ]
    if len(here) > MANY:
        orders = orders[:1]
    tried = [(_one_by_one(sorted(here, key=order), boxes, room.copy()), sorted(here, key=order)) for order in orders]
    best, row = min(tried, key=lambda pair: pair[0].cost)
    for _ in range(AGAIN if len(here) <= MANY else 1):
        unlucky = {one.id for one, _ in best.listed}
        if not unlucky:
            break
        row = sorted(row, key=lambda one: one.id not in unlucky)
        again = _one_by_one(row, boxes, room.copy())
        if again.cost < best.cost:
            best = again
    return best


def _one_by_one(told: Sequence[Told], boxes: Mapping[str, Box], room: Room) -> Arranged:
    made = Arranged(room)
    waiting = [one for one in told if not _label(one, boxes[one.id], made, len(told) > MANY)]
    for number, one in enumerate(sorted(waiting, key=lambda one: one.order), start=1):
        made.cost += LOST * (GRAVE if one.sign == "exceeds" else 1)
        made.listed.append((one, number))
        found = room.place(boxes[one.id], width(str(number), 8, True), LINE)
        if found:
            made.labels.append((one, found[0], [str(number)], room.put(boxes[one.id], found[0])))
    made.listed.sort(key=lambda pair: (pair[1] is None, pair[1] or 0, pair[0].order))
    return made


def _label(one: Told, at: Box, made: Arranged, crowded: bool) -> bool:
    """A label in full, or a shorter one; False where neither finds room."""
    whole = [broken(one.lines, wide) for wide in WIDTHS]
    tight = broken(one.tight, WIDTHS[1])
    tries = [(whole[0], 60.0), (whole[1], 90.0), (whole[0], 280.0), (whole[1], 280.0), (tight, 200.0)]
    if crowded:
        tries = [(tight, 70.0)]
    for lines, far in tries:
        wide = max(width(text, 8, row == 0) for row, text in enumerate(lines))
        found = made.room.place(at, wide, LINE * len(lines), far)
        if found:
            if lines is tight and one.tight != one.lines:
                made.listed.append((one, None))
                made.cost += SHORTENED * (GRAVE if one.sign == "exceeds" else 1)
            made.cost += found[1]
            made.labels.append((one, found[0], lines, made.room.put(at, found[0])))
            return True
    return False


def broken(lines: Sequence[str], wide: float) -> list[str]:
    """The lines of a label, each broken in two at most; the first is the name, in bold."""
    return [part for row, text in enumerate(lines) for part in wrap(text, wide, 8, row == 0, 1 if row == 0 else 2)]
