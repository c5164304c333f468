"""Where labels go: none covers another, a mark or a leader; what finds no room is told to the caller.

One pass in the order given, so that the gravest places choose first; the same input gives the same plan.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Box:
    """A rectangle by its upper left corner, in points."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle."""
        return self.x + self.width / 2, self.y + self.height / 2

    def edges(self, wider: float = 0) -> tuple[float, float, float, float]:
        """Left, top, right and bottom, moved outwards."""
        return self.x - wider, self.y - wider, self.x + self.width + wider, self.y + self.height + wider

    def within(self, other: Box) -> bool:
        """Whether it lies in another box."""
        left, top, right, bottom = self.edges()
        return left >= other.x and top >= other.y and right <= other.x + other.width and bottom <= other.y + other.height

    def nearest(self, x: float, y: float) -> tuple[float, float]:
        """Its point nearest to another."""
        left, top, right, bottom = self.edges()
        return min(max(x, left), right), min(max(y, top), bottom)


DISTANCES = (1.5, 7, 14, 23, 34, 48, 66, 90, 120, 160, 210, 270)
"""How far from its mark a label is tried, nearest first."""
WAYS = (
    (1, 0), (1, -0.6), (1, 0.6), (1, -1), (1, 1), (-1, 0), (-1, -0.6), (-1, 0.6), (-1, -1), (-1, 1), (0, -1), (0, 1), (0.5, -1),
    (0.5, 1), (-0.5, -1), (-0.5, 1),
)  # fmt: skip
"""In which direction: to the right first, as people read."""
HIDING = 5.0
"""What hiding one point of an outline costs, in points of distance."""
LED = 4.0
"""From this distance on a leader ties the label to its mark."""


class Room:
    """The free room of a drawing."""

    def __init__(self, window: Box) -> None:
        self.window = window
        self.boxes: list[tuple[float, float, float, float]] = []
        self.leaders: list[tuple[float, float, float, float]] = []
        self.soft: list[tuple[float, float]] = []

    def take(self, box: Box) -> None:
        """Keep a box free of everything that comes later."""
        self.boxes.append(box.edges())

    def avoid(self, points: Sequence[tuple[float, float]], step: float = 6) -> None:
        """Let labels rather not cover a line."""
        for one, other in pairwise(points):
            parts = min(400, max(1, math.ceil(math.dist(one, other) / step)))
            self.soft += [
                (one[0] + (other[0] - one[0]) * at / parts, one[1] + (other[1] - one[1]) * at / parts) for at in range(parts + 1)
            ]

    def free(self, box: Box, gap: float = 0) -> bool:
        """Whether a box lies in the window and covers nothing taken."""
        return box.within(self.window) and bool(_clear(np.array([box.edges(gap)]), self._taken())[0]) and not self._led(box)

    def spread(self, box: Box, step: float) -> Box:
        """The box, or its copy moved as little as it takes to be free; the box itself where the drawing is full."""
        if self.free(box):
            return box
        for ring in range(1, 60):
            count = 8 * ring
            for at in range(count):
                turn = 2 * math.pi * at / count
                moved = Box(box.x + ring * step * math.cos(turn), box.y + ring * step * math.sin(turn), box.width, box.height)
                if self.free(moved):
                    return moved
        return box

    def place(self, mark: Box, width: float, height: float, far: float = DISTANCES[-1]) -> Box | None:
        """The best free place for a label of a mark; None where there is none within reach. It is not yet taken."""
        tried = [
            (distance, rank, self._beside(mark, width, height, distance, way))
            for distance in DISTANCES
            if distance <= far
            for rank, way in enumerate(WAYS)
        ]
        edges = np.array([box.edges(1) for _, _, box in tried])
        left, top, right, bottom = self.window.edges()
        fits = (edges[:, 0] >= left) & (edges[:, 1] >= top) & (edges[:, 2] <= right) & (edges[:, 3] <= bottom)
        fits &= _clear(edges, self._taken())
        covered = _covered(edges, self.soft)
        cost = [tried[at][0] + HIDING * covered[at] for at in range(len(tried))]
        best: tuple[float, Box] | None = None
        for at in sorted(np.flatnonzero(fits), key=lambda at: (cost[at], tried[at][1])):
            box = tried[at][2]
            if best and cost[at] >= best[0]:
                break
            if not self._led(box) and self._clear_leader(mark, box):
                crossed = cost[at] + HIDING * self._crossed(mark, box)
                if best is None or crossed < best[0]:
                    best = crossed, box
        return best[1] if best else None

    def put(self, mark: Box, box: Box) -> tuple[tuple[float, float], tuple[float, float]] | None:
        """Take a label's place; returns the leader from mark to label where one is needed."""
        self.take(box)
        start, end = tie(mark, box)
        if math.dist(start, end) < LED:
            return None
        self.leaders.append((*start, *end))
        return start, end

    @staticmethod
    def _beside(mark: Box, width: float, height: float, distance: float, way: tuple[float, float]) -> Box:
        x, y = mark.middle
        across = way[0] * (mark.width / 2 + distance + width / 2)
        down = way[1] * (mark.height / 2 + distance + height / 2)
        return Box(x + across - width / 2, y + down - height / 2, width, height)

    def _taken(self) -> Floats:
        return np.array(self.boxes, dtype=float).reshape(-1, 4)

    def _crossed(self, mark: Box, box: Box) -> float:
        """How many points that should stay visible a leader runs over."""
        start, end = tie(mark, box)
        if not self.soft or math.dist(start, end) < LED:
            return 0
        points = np.array(self.soft)
        near = np.concatenate([points - 2, points + 2], axis=1)
        return float(_through(np.array([(*start, *end)]), near).sum())

    def _led(self, box: Box) -> bool:
        """Whether a leader runs through a box."""
        return bool(self.leaders) and bool(np.any(_through(np.array(self.leaders), np.array([box.edges(1)]))))

    def _clear_leader(self, mark: Box, box: Box) -> bool:
        start, end = tie(mark, box)
        if math.dist(start, end) < LED:
            return True
        way = np.array([(*start, *end)])
        others = np.array([one for one in self.boxes if not _same(one, mark)], dtype=float).reshape(-1, 4)
        if others.size and np.any(_through(way, others)):
            return False
        return not any(_cross((*start, *end), other) for other in self.leaders)


def tie(mark: Box, box: Box) -> tuple[tuple[float, float], tuple[float, float]]:
    """The ends of a leader: on the mark's edge and on the label's."""
    end = box.nearest(*mark.middle)
    return mark.nearest(*end), end


def _same(edges: tuple[float, float, float, float], box: Box) -> bool:
    return all(abs(one - other) < 1e-6 for one, other in zip(edges, box.edges(), strict=True))


def _clear(edges: Floats, taken: Floats) -> NDArray[np.bool_]:
    """For each box whether it covers none of those taken."""
    if not taken.size:
        return np.ones(len(edges), dtype=bool)
    one, other = edges[:, None, :], taken[None, :, :]
    over = (
        (one[..., 0] < other[..., 2])
        & (one[..., 2] > other[..., 0])
        & (one[..., 1] < other[..., 3])
        & (one[..., 3] > other[..., 1])
    )
    return np.asarray(~over.any(axis=1))


def _covered(edges: Floats, soft: Sequence[tuple[float, float]]) -> Floats:
    """For each box how many points that should stay visible it covers."""
    if not soft:
        return np.zeros(len(edges))
    points = np.array(soft)
    inside = (edges[:, None, 0] < points[None, :, 0]) & (edges[:, None, 2] > points[None, :, 0])
    inside &= (edges[:, None, 1] < points[None, :, 1]) & (edges[:, None, 3] > points[None, :, 1])
    return np.asarray(inside.sum(axis=1), dtype=float)


def _through(ways: Floats, boxes: Floats) -> NDArray[np.bool_]:
    """For each pair of a line and a box whether the line runs through the box (Liang and Barsky 1984)."""
    x, y = ways[:, 0, None], ways[:, 1, None]
    dx, dy = ways[:, 2, None] - x, ways[:, 3, None] - y
    enter, leave = np.zeros(np.broadcast(x, boxes[:, 0]).shape), np.ones(np.broadcast(x, boxes[:, 0]).shape)
    outside = np.zeros(enter.shape, dtype=bool)
    for step, near in ((-dx, x - boxes[:, 0]), (dx, boxes[:, 2] - x), (-dy, y - boxes[:, 1]), (dy, boxes[:, 3] - y)):
        step = np.broadcast_to(step, enter.shape)
        near = np.broadcast_to(near, enter.shape)
        outside |= (step == 0) & (near < 0)
        share = np.divide(near, step, out=np.zeros(enter.shape), where=step != 0)
        enter = np.where(step < 0, np.maximum(enter, share), enter)
        leave = np.where(step > 0, np.minimum(leave, share), leave)
    return np.asarray((enter < leave) & ~outside)


def _cross(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Whether two lines cross."""

    def side(line: tuple[float, float, float, float], x: float, y: float) -> float:
        return (line[2] - line[0]) * (y - line[1]) - (line[3] - line[1]) * (x - line[0])

    apart = side(one, other[0], other[1]) * side(one, other[2], other[3])
    return apart < 0 and side(other, one[0], one[1]) * side(other, one[2], one[3]) < 0
