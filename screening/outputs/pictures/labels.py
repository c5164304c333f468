"""Where labels go: none covers another, a mark or a leader; what finds no room is told to the caller.

Greedy and in the order given, so that the same input gives the same plan.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Edges = tuple[float, float, float, float]
"""Of a box: left, top, right, bottom; of a line: its two ends."""


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

    def edges(self, wider: float = 0) -> Edges:
        """Left, top, right and bottom, moved outwards."""
        return self.x - wider, self.y - wider, self.x + self.width + wider, self.y + self.height + wider

    def within(self, other: Box) -> bool:
        """Whether it lies in another box."""
        left, top, right, bottom = self.edges()
        return left >= other.x and top >= other.y and right <= other.x + other.width and bottom <= other.y + other.height

    def covers(self, other: Box) -> bool:
        """Whether two boxes have a part in common."""
        left, top, right, bottom = self.edges()
        return left < other.x + other.width and right > other.x and top < other.y + other.height and bottom > other.y

    def nearest(self, x: float, y: float) -> tuple[float, float]:
        """Its point nearest to another."""
        left, top, right, bottom = self.edges()
        return min(max(x, left), right), min(max(y, top), bottom)


DISTANCES = (1.5, 6, 11, 17, 24, 32, 42, 54, 68, 84, 104, 128, 156, 190, 230, 280)
"""How far from its mark a label is tried, nearest first."""
SIDES = (0, 0.5, -0.5, 1, -1)
WAYS = (
    *((1, side) for side in SIDES), *((-1, side) for side in SIDES), *((side, -1) for side in SIDES[:3]), *((side, 1) for side in SIDES[:3]),
    (1, 0.25), (1, -0.25), (1, 0.75), (1, -0.75), (-1, 0.25), (-1, -0.25), (-1, 0.75), (-1, -0.75),
    (0.25, -1), (-0.25, -1), (0.75, -1), (-0.75, -1), (0.25, 1), (-0.25, 1), (0.75, 1), (-0.75, 1),
)  # fmt: skip
"""In which direction: to the right first, as people read."""
HIDING, CUTTING = 35.0, 4.0
"""What hiding a point of an outline costs, and leading a line over it, in points of distance."""
LED = 4.0
"""From this distance on a leader ties the label to its mark."""
TRIED = 80
"""Of how many free places, the cheapest first, the leaders are looked at."""
CLEARANCE = np.array([-1.0, -1.0, 1.0, 1.0])
"""How much wider than itself a label keeps free."""


@dataclass
class Room:
    """The room of a drawing: what is taken, the leaders that run through it, points that should stay visible.

    ``boxes`` and ``leaders`` have shape (n, 4), ``soft`` has shape (n, 2).
    """

    window: Box
    boxes: Floats = field(default_factory=lambda: np.empty((0, 4)))
    leaders: Floats = field(default_factory=lambda: np.empty((0, 4)))
    soft: Floats = field(default_factory=lambda: np.empty((0, 2)))

    def copy(self) -> Room:
        """The same room, to try something in; arrays are replaced, never changed."""
        return Room(self.window, self.boxes, self.leaders, self.soft)

    def take(self, box: Box) -> None:
        """Keep a box free of everything that comes later."""
        self.boxes = np.vstack([self.boxes, box.edges()])

    def lead(self, way: Edges) -> None:
        """Keep a leader free of everything that comes later."""
        self.leaders = np.vstack([self.leaders, way])

    def avoid(self, points: Sequence[tuple[float, float]], step: float = 6) -> None:
        """Let labels rather not cover a line."""
        found = [self.soft]
        for one, other in pairwise(points):
            parts = min(400, max(1, math.ceil(math.dist(one, other) / step)))
            found.append(np.linspace(one, other, parts + 1))
        self.soft = np.vstack(found)

    def free(self, box: Box, gap: float = 0) -> bool:
        """Whether a box lies in the window and covers nothing taken."""
        return bool(self._free(np.array([box.edges()]), gap)[0])

    def _free(self, edges: Floats, gap: float = 0) -> NDArray[np.bool_]:
        left, top, right, bottom = self.window.edges()
        fits = (edges[:, 0] >= left) & (edges[:, 1] >= top) & (edges[:, 2] <= right) & (edges[:, 3] <= bottom)
        wider = edges + gap * CLEARANCE
        return np.asarray(fits & ~_over(wider, self.boxes).any(axis=1) & ~_through(self.leaders, wider).any(axis=0))

    def spread(self, box: Box, step: float) -> Box:
        """The box, or its copy moved as little as it takes to be free; the box itself where the drawing is full."""
        for first in (0, 1, 4, 10, 20, 40):
            rings = (
                [(0, 0.0)] if not first else [(ring, at / ring) for ring in range(first, 2 * first + 2) for at in range(8 * ring)]
            )
            moves = np.array([(ring * math.cos(turn * math.pi / 4), ring * math.sin(turn * math.pi / 4)) for ring, turn in rings])
            edges = np.array(box.edges()) + step * np.hstack([moves, moves])
            free = np.flatnonzero(self._free(edges))
            if len(free):
                return Box(float(edges[free[0], 0]), float(edges[free[0], 1]), box.width, box.height)
        return box

    def place(self, mark: Box, width: float, height: float, far: float = DISTANCES[-1]) -> tuple[Box, float] | None:
        """The best free place for a label of a mark and its cost; None where there is none within reach. It is not yet taken."""
        edges, cost = _beside(mark, width, height, far)
        free = self._free(edges, 1)
        edges, cost = edges[free], cost[free]
        cost = np.round(cost + HIDING * _inside(edges, self.soft), 6)  # no machine's last bit decides
        cheapest = np.argsort(cost, kind="stable")[:TRIED]
        edges, cost = edges[cheapest], cost[cheapest]
        ways = _ties(mark, edges)
        clear = self._clear(mark, ways)
        edges, cost, ways = edges[clear], cost[clear], ways[clear]
        if not len(edges):
            return None
        cost = cost + CUTTING * _through(ways, self._in_the_way(ways)).sum(axis=1)
        best = int(np.argmin(np.round(cost, 6)))
        x, y = float(edges[best, 0]), float(edges[best, 1])
        return Box(x, y, width, height), float(cost[best])

    def put(self, mark: Box, box: Box) -> Edges | None:
        """Take a label's place; returns the leader from mark to label where one is needed."""
        self.take(box)
        start_x, start_y, end_x, end_y = map(float, _ties(mark, np.array([box.edges()]))[0])
        if math.hypot(end_x - start_x, end_y - start_y) < LED:
            return None
        way = start_x, start_y, end_x, end_y
        self.lead(way)
        return way

    def _in_the_way(self, ways: Floats) -> Floats:
        """Small boxes around the points to keep visible that lie where the lines run."""
        low, high = np.minimum(ways[:, :2], ways[:, 2:]).min(axis=0) - 2, np.maximum(ways[:, :2], ways[:, 2:]).max(axis=0) + 2
        at = self.soft[((self.soft > low) & (self.soft < high)).all(axis=1)]
        return np.concatenate([at - 2, at + 2], axis=1)

    def _clear(self, mark: Box, ways: Floats) -> NDArray[np.bool_]:
        """For each leader from a mark whether it runs through nothing and over no other."""
        led = np.hypot(ways[:, 2] - ways[:, 0], ways[:, 3] - ways[:, 1]) >= LED
        others = self.boxes[(self.boxes != mark.edges()).any(axis=1)]
        return np.asarray(~led | ~(_through(ways, others).any(axis=1) | _crossing(ways, self.leaders).any(axis=1)))


def _ties(mark: Box, edges: Floats) -> Floats:
    """From the mark's edge to each label's, the shortest way from the mark's middle."""
    left, top, right, bottom = mark.edges()
    x, y = mark.middle
    end_x, end_y = np.clip(x, edges[:, 0], edges[:, 2]), np.clip(y, edges[:, 1], edges[:, 3])
    return np.stack([np.clip(end_x, left, right), np.clip(end_y, top, bottom), end_x, end_y], axis=1)


def _beside(mark: Box, width: float, height: float, far: float) -> tuple[Floats, Floats]:
    """The edges of every place that is tried for a label, and how far each is."""
    x, y = mark.middle
    near = np.array([distance for distance in DISTANCES if distance <= far])
    ways = np.array(WAYS)
    across = x + ways[None, :, 0] * (mark.width / 2 + near[:, None] + width / 2) - width / 2
    down = y + ways[None, :, 1] * (mark.height / 2 + near[:, None] + height / 2) - height / 2
    left, top = across.ravel(), down.ravel()
    return np.stack([left, top, left + width, top + height], axis=1), np.repeat(near, len(WAYS))


def _over(one: Floats, other: Floats) -> NDArray[np.bool_]:
    """For each pair whether the boxes cover each other."""
    a, b = one[:, None, :], other[None, :, :]
    return np.asarray((a[..., 0] < b[..., 2]) & (a[..., 2] > b[..., 0]) & (a[..., 1] < b[..., 3]) & (a[..., 3] > b[..., 1]))


def _inside(edges: Floats, points: Floats) -> Floats:
    """How many points each box covers."""
    inside = (edges[:, None, 0] < points[None, :, 0]) & (edges[:, None, 2] > points[None, :, 0])
    inside &= (edges[:, None, 1] < points[None, :, 1]) & (edges[:, None, 3] > points[None, :, 1])
    return np.asarray(inside.sum(axis=1), dtype=float)


def _through(ways: Floats, boxes: Floats) -> NDArray[np.bool_]:
    """For each pair of a line and a box whether the line runs through the box (Liang and Barsky 1984)."""
    found = np.zeros((len(ways), len(boxes)), dtype=bool)
    if found.size:  # boxes that lie beyond all lines need no look
        low, high = np.minimum(ways[:, :2], ways[:, 2:]).min(axis=0), np.maximum(ways[:, :2], ways[:, 2:]).max(axis=0)
        near = np.flatnonzero(((boxes[:, :2] < high) & (boxes[:, 2:] > low)).all(axis=1))
        found[:, near] = _clipped(ways, boxes[near])
    return found


def _clipped(ways: Floats, boxes: Floats) -> NDArray[np.bool_]:
    x, y = ways[:, 0, None], ways[:, 1, None]
    dx, dy = ways[:, 2, None] - x, ways[:, 3, None] - y
    shape = (len(ways), len(boxes))
    enter, leave, outside = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
    for step, near in ((-dx, x - boxes[:, 0]), (dx, boxes[:, 2] - x), (-dy, y - boxes[:, 1]), (dy, boxes[:, 3] - y)):
        step = np.broadcast_to(step, shape)
        outside |= (step == 0) & (near <= 0)
        share = np.divide(near, step, out=np.zeros(shape), where=step != 0)
        enter = np.where(step < 0, np.maximum(enter, share), enter)
        leave = np.where(step > 0, np.minimum(leave, share), leave)
    return np.asarray((enter < leave) & ~outside)


def _crossing(ways: Floats, others: Floats) -> NDArray[np.bool_]:
    """For each pair of lines whether they cross."""
    one, other = ways[:, None, :], others[None, :, :]

    def side(line: Floats, x: Floats, y: Floats) -> Floats:
        return (line[..., 2] - line[..., 0]) * (y - line[..., 1]) - (line[..., 3] - line[..., 1]) * (x - line[..., 0])

    apart = side(one, other[..., 0], other[..., 1]) * side(one, other[..., 2], other[..., 3])
    parted = side(other, one[..., 0], one[..., 1]) * side(other, one[..., 2], one[..., 3])
    return np.asarray((apart < 0) & (parted < 0))
