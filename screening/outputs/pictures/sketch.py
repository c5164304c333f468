"""A sketch of a site whose file gives no coordinates: each component a box with its sampling places in it, not to scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

from screening.outputs.pictures.ground import XY, Ground, Shape
from screening.outputs.pictures.places import Spot
from screening.site.site_file import SiteFile

CELL = (14.0, 4.6)
"""Width and height that one sampling place takes, in the sketch's own unit; its label stands to the right of its mark."""
EDGE, NAME = 0.5, 1.2
"""Half the gap between boxes, and the height of the name in a box."""
MARK = 0.08
"""Where in the width of its place a mark stands."""


def sketched(site: SiteFile, spots: Sequence[Spot]) -> Ground:
    """The ground as a sketch: boxes in rows, in the order of the site file."""
    kinds = [
        *(("tank", one.id, f"{one.id}: {one.product.replace('_', ' ')}", one.closure == "in_place") for one in site.tank),
        *(("piping", one.id, one.id, one.closure == "in_place") for one in site.piping),
        *(("dispenser", one.id, one.id, False) for one in site.dispenser),
        *(("pit", one.id, f"excavation {one.id}", False) for one in site.pit),
        *(("sidewall", one.id, f"wall {one.id}", False) for one in site.sidewall),
        *(("stockpile", one.id, f"stockpile {one.id}", False) for one in site.stockpile),
    ]
    own: dict[str, list[str]] = {}
    for spot in spots:
        own.setdefault(spot.location.component if spot.location else "", []).append(spot.id)
    named = {part for _, part, _, _ in kinds}
    groups = [(kind, part, words, stays, own.get(part, [])) for kind, part, words, stays in kinds]
    for part, held in sorted(own.items()):
        if part not in named:
            groups.append(("other", part, part or "no component stated", False, held))
    return _packed([(_box(len(held)), kind, part, words, stays, held) for kind, part, words, stays, held in groups])


def _box(held: int) -> tuple[int, int]:
    """Columns and rows of cells that so many places take."""
    across = max(1, math.ceil(math.sqrt(held / 3)))
    return across, max(1, math.ceil(held / across))


def _packed(groups: Sequence[tuple[tuple[int, int], str, str, str, bool, list[str]]]) -> Ground:
    """Boxes side by side in rows that together are about three wide by two high."""
    area = sum((across * CELL[0] + 2 * EDGE) * (down * CELL[1] + NAME + 2 * EDGE) for (across, down), *_ in groups)
    room = max([math.sqrt(area * 1.5), *(across * CELL[0] + 2 * EDGE for (across, _), *_ in groups)])
    places: dict[str, XY] = {}
    shapes: list[Shape] = []
    left, top, high = 0.0, 0.0, 0.0
    for (across, down), kind, part, words, stays, held in groups:
        wide, tall = across * CELL[0], down * CELL[1] + NAME
        if left and left + wide > room:
            left, top, high = 0.0, top - high - 2 * EDGE, 0.0
        corners = ((left, top), (left + wide, top), (left + wide, top - tall), (left, top - tall))
        shapes.append(Shape(kind, part, words, corners, True, stays))
        for at, name in enumerate(held):
            places[name] = (left + (at % across + MARK) * CELL[0], top - NAME - (at // across + 0.5) * CELL[1])
        left, high = left + wide + 2 * EDGE, max(high, tall)
    return Ground(places, tuple(shapes), False, ("no coordinates are given: a sketch, not to scale",))
