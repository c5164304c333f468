"""Where things lie on a site, in metres to the east and north: sampling places and the outlines of what stands in the ground."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from screening.closure.geometry import GALLONS_IN_CUBIC_FOOT
from screening.site.parts import Centred, Location, Tank
from screening.site.site_file import SiteFile

XY = tuple[float, float]
FOOT = 0.3048
"""Metres in an international foot."""
DEGREE = 111_320.0
"""Metres in a degree of latitude, near enough (0.6 %) for a plan of one property."""
LENGTH_TO_DIAMETER = 2.5
"""Shape of a tank of which only the capacity is known (common practice, no source)."""
FAR = 1e8


@dataclass(frozen=True)
class Shape:
    """An outline or a line; ``words`` is what the plan writes at it, ``sure`` is false where its place or form was assumed."""

    kind: str
    id: str
    words: str
    points: tuple[XY, ...]
    closed: bool = True
    stays: bool = False
    sure: bool = True

    @property
    def middle(self) -> XY:
        """The middle of its extent, or of its course."""
        if not self.closed:
            return along(self.points)
        xs, ys = zip(*self.points, strict=True)
        return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


@dataclass(frozen=True)
class Ground:
    """Places and shapes; ``scaled`` is false for a sketch made without coordinates, ``notes`` tell what was assumed."""

    places: Mapping[str, XY]
    shapes: tuple[Shape, ...]
    scaled: bool
    notes: tuple[str, ...]

    def of(self, component: str) -> XY | None:
        """The middle of a component, if it is drawn."""
        return next((shape.middle for shape in self.shapes if shape.id == component), None)


def along(points: Sequence[XY]) -> XY:
    """The point halfway along a line."""
    lengths = [math.dist(one, other) for one, other in pairwise(points)]
    rest = sum(lengths) / 2
    for (one, other), length in zip(pairwise(points), lengths, strict=True):
        if length and rest <= length:
            share = rest / length
            return one[0] + (other[0] - one[0]) * share, one[1] + (other[1] - one[1]) * share
        rest -= length
    return points[0]


def surveyed(site: SiteFile) -> Ground | None:
    """The ground by the site file's coordinates; None where no place and no component has any."""
    grid = _Grid(site)
    places = {one.id: at for one in site.location if (at := grid.of(one)) is not None}
    shapes = [*_features(site, grid), *_components(site, grid, places)]
    if not places and not any(shape.kind not in _FEATURES for shape in shapes):
        return None
    return Ground(places, tuple(shapes), True, tuple(dict.fromkeys(grid.notes)))


_FEATURES = ("building", "excavation", "canopy", "property_line", "road", "utility", "fence", "surface_water", "other")


class _Grid:
    """The site's grid turned into metres; remembers what it assumed.

    Places of a projected system and of a local grid keep their x and y; those in degrees are laid on a plane around the first.
    """

    def __init__(self, site: SiteFile) -> None:
        self.notes: list[str] = []
        self.turned = float(site.site.north_deg)
        spheric_only = any(one.longitude is not None and one.latitude is not None for one in site.location)
        self.on_grid = not spheric_only or any(one.x is not None and one.y is not None for one in site.location)
        self.unit, degrees = self._unit_of(site)
        self.from_xy = self.on_grid and degrees
        spheric = [at for one in site.location if (at := self._degrees(one)) is not None]
        self.start = spheric[0] if spheric else (0.0, 0.0)
        self.narrowed = math.cos(math.radians(self.start[1]))
        if spheric and not self.on_grid:
            self.notes.append("places by longitude and latitude")

    def _unit_of(self, site: SiteFile) -> tuple[float, bool]:
        """Metres in the unit of x and y, and whether they are degrees instead."""
        named, stated = site.site.coordinates, site.site.grid_unit
        if named != "local" and self.on_grid:
            from pyproj import CRS
            from pyproj.exceptions import CRSError

            try:
                system = CRS.from_user_input(named)
            except CRSError:
                self.notes.append(f"{named} is not known: its x and y are taken in {stated or 'm'}")
            else:
                self.notes.append(f"x and y in {named}, {system.name}")
                return system.axis_info[0].unit_conversion_factor, system.is_geographic
        elif self.on_grid:
            taken = "" if stated else "; its unit is not stated and taken as metres"
            self.notes.append(f"local grid, x to the right and y up{taken}")
        return (FOOT if stated == "ft" else 1.0), False

    def _degrees(self, one: Location) -> XY | None:
        if self.from_xy and one.x is not None and one.y is not None:
            return float(one.x), float(one.y)
        if not self.on_grid and one.longitude is not None and one.latitude is not None:
            return float(one.longitude), float(one.latitude)
        return None

    def point(self, x: object, y: object) -> XY:
        across, up = float(str(x)), float(str(y))
        if self.from_xy or not self.on_grid:
            return (across - self.start[0]) * DEGREE * self.narrowed, (up - self.start[1]) * DEGREE
        return across * self.unit, up * self.unit

    def of(self, one: Location | Centred) -> XY | None:
        """A place on the plan, None where it has no coordinates that can be drawn beside the others."""
        if one.x is not None and one.y is not None:
            at = self.point(one.x, one.y)
        elif isinstance(one, Location) and not self.on_grid and one.longitude is not None and one.latitude is not None:
            at = self.point(one.longitude, one.latitude)
        else:
            return None
        if all(math.isfinite(part) and abs(part) < FAR for part in at):
            return at
        self.notes.append("coordinates beyond any site are not drawn")
        return None

    def way(self, points: Sequence[tuple[object, object]]) -> tuple[XY, ...]:
        found = tuple(self.point(x, y) for x, y in points)
        return found if all(abs(x) < FAR and abs(y) < FAR for x, y in found) else ()


def _features(site: SiteFile, grid: _Grid) -> list[Shape]:
    made = []
    for one in site.feature:
        if way := grid.way(one.way):
            closed = len(way) > 3 and way[0] == way[-1]
            made.append(Shape(one.kind, "", one.name or one.kind.replace("_", " "), way, closed))
    return made


def _components(site: SiteFile, grid: _Grid, places: Mapping[str, XY]) -> list[Shape]:
    own: dict[str, list[XY]] = {}
    for one in site.location:
        if one.component and one.id in places:
            own.setdefault(one.component, []).append(places[one.id])
    made = []
    for pit in site.pit:
        if pit.outline and (way := grid.way(pit.outline)):
            made.append(Shape("pit", pit.id, f"excavation {pit.id}", way))
    for heap in site.stockpile:
        if heap.outline and (way := grid.way(heap.outline)):
            made.append(Shape("stockpile", heap.id, f"stockpile {heap.id}", way))
    for run in site.piping:
        words = f"{run.id}, {run.length_ft} ft" if run.length_ft is not None else run.id
        stays = run.closure == "in_place"
        if run.route and (way := grid.way(run.route)):
            made.append(Shape("piping", run.id, words, way, False, stays))
        elif run.id in own:
            grid.notes.append("piping drawn as a short double line through its samples: the site file states no route")
            made.append(Shape("piping", run.id, words, _course(own[run.id]), False, stays, False))
    for tank in site.tank:
        middle = grid.of(tank) or _mean(own.get(tank.id, ()))
        if middle:
            made.append(_tank(tank, middle, own.get(tank.id, ()), grid))
    for part in site.dispenser:
        middle = grid.of(part) or _mean(own.get(part.id, ()))
        if middle:
            made.append(Shape("dispenser", part.id, part.id, (middle,), True, False, part.x is not None))
    return made


def _mean(points: Sequence[XY]) -> XY | None:
    if not points:
        return None
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _axis(points: Sequence[XY]) -> float:
    """The direction, in radians from the east, in which points lie furthest apart; 0 where they lie together."""
    pairs = [(math.dist(one, other), one, other) for at, one in enumerate(points) for other in points[at + 1 :]]
    far, one, other = max(pairs, default=(0.0, (0.0, 0.0), (0.0, 0.0)))
    return math.atan2(other[1] - one[1], other[0] - one[0]) if far else 0.0


def _course(points: Sequence[XY]) -> tuple[XY, ...]:
    """A straight course through the places of a run, a metre and a half beyond the outer ones."""
    turn, middle = _axis(points), _mean(points) or (0.0, 0.0)
    east, north = math.cos(turn), math.sin(turn)
    reach = max(abs((x - middle[0]) * east + (y - middle[1]) * north) for x, y in points) + 1.5
    return (
        (middle[0] - east * reach, middle[1] - north * reach),
        (middle[0] + east * reach, middle[1] + north * reach),
    )


def _tank(tank: Tank, middle: XY, own: Sequence[XY], grid: _Grid) -> Shape:
    words = [f"{tank.id}:"]
    words += [f"{tank.capacity_gal:,f} gal"] if tank.capacity_gal is not None else []
    words += [tank.product.replace("_", " "), "in place" if tank.closure == "in_place" else "removed"]
    sure = tank.x is not None
    if not sure:
        grid.notes.append("tanks without x and y are drawn at the middle of their samples, along them")
    if tank.length_ft is not None and tank.diameter_ft is not None:
        long, wide = float(tank.length_ft) * FOOT, float(tank.diameter_ft) * FOOT
    elif tank.capacity_gal:
        content = float(tank.capacity_gal / GALLONS_IN_CUBIC_FOOT) * FOOT**3
        wide = (4 * content / (math.pi * LENGTH_TO_DIAMETER)) ** (1 / 3)
        long, sure = wide * LENGTH_TO_DIAMETER, False
        grid.notes.append(
            f"tanks without length and diameter are drawn {LENGTH_TO_DIAMETER} times as long as wide, by their capacity "
            "(common practice, no source)"
        )
    else:
        long, wide, sure = 4.0, 2.0, False
        grid.notes.append("tanks without capacity or measures are drawn as a neutral sign")
    turn = _axis(own) if tank.bearing_deg is None else math.radians(90 - float(tank.bearing_deg) - grid.turned)
    return Shape("tank", tank.id, " ".join(words), _rectangle(middle, long, wide, turn), True, tank.closure == "in_place", sure)


def _rectangle(middle: XY, long: float, wide: float, turn: float) -> tuple[XY, ...]:
    east, north = math.cos(turn), math.sin(turn)
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return tuple(
        (
            middle[0] + side * long / 2 * east - up * wide / 2 * north,
            middle[1] + side * long / 2 * north + up * wide / 2 * east,
        )
        for side, up in corners
    )
