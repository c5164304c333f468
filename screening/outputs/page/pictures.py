"""The pictures of the page: those that stand in it, and those that wait until a location is chosen."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from screening.outputs.drawings import pictures_of
from screening.outputs.pictures import profile, wells
from screening.outputs.pictures.signs import mark
from screening.outputs.texts import natural

if TYPE_CHECKING:
    from screening.decision.contents import Contents

MOST_SERIES = 12
"""Time series of one place that the page carries, the gravest analytes first."""
_IDS = re.compile(r'\b(id|aria-labelledby)="([^"]*)"')
SIGN_NAMES = ("exceeds", "open", "no_level", "does_not_exceed", "held", "missing")


def signs() -> dict[str, Markup]:
    """The signs of outcomes, drawn in a square of 16."""
    return {name: Markup(mark(name, 8, 8, 13).write()) for name in SIGN_NAMES}


def standing(contents: Contents) -> dict[str, list[Markup]]:
    """The sheets that stand in the page, by the section they stand in."""
    return {
        name: [Markup(_apart(svg, f"{name}-{at}")) for at, svg in enumerate(pictures_of(contents, name), start=1)]
        for name in ("plan", "levels", "deadlines", "checks", "statistics")
    }


def _apart(svg: str, name: str) -> str:
    """A picture whose ids no other part of the page has."""
    return _IDS.sub(lambda found: f'{found[1]}="{" ".join(f"{name}-{one}" for one in found[2].split())}"', svg)


def by_location(contents: Contents) -> Mapping[str, Any]:
    """Depth profile and time series of each location that has any, as they are shown when it is chosen."""
    made: dict[str, dict[str, Any]] = {}
    for spot in profile.profiled(contents):
        made[spot.id] = {"profile": profile.depth_profile(contents, spot.id), "series": [], "left": 0}
    for one in wells.series(contents):
        if one.sign == "no_level" or not any(item["detected"] for _, item in one.rounds):
            continue
        own = made.setdefault(one.location, {"profile": "", "series": [], "left": 0})
        if len(own["series"]) < MOST_SERIES:
            own["series"].append(_apart(wells.time_series(contents, one.location, one.analyte), f"round-{len(own['series'])}"))
        else:
            own["left"] += 1
    return dict(sorted(made.items(), key=lambda pair: natural(pair[0])))
