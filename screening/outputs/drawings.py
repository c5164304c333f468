"""The pictures of a run for those outputs that hold them beside their tables: drawn once, however many ask."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING
from xml.etree.ElementTree import fromstring

from screening.outputs.texts import readable

if TYPE_CHECKING:
    from screening.decision.contents import Contents

NAMES = ("plan", "levels", "profiles", "wells", "deadlines", "checks")
"""The kinds of picture in the order in which they are read."""
_SVG = "{http://www.w3.org/2000/svg}"


@lru_cache(maxsize=2)
def drawings(contents: Contents) -> Mapping[str, tuple[str, ...]]:
    """The sheets of each kind as svg; a kind that the run has nothing for has none."""
    from screening.outputs.pictures import checks, deadlines, levels, plan, profile, wells

    dated = any(one["due"] for one in contents.deadlines["deadlines"])
    made = {
        "plan": plan.sheets(contents), "levels": levels.dot_plots(contents) if contents.answer["outcomes"] else [],
        "profiles": profile.profiles(contents), "wells": wells.all_series(contents),
        "deadlines": [deadlines.strip(contents)] if dated else [],
        "checks": checks.grids(contents) if contents.review["grid"] else [],
    }  # fmt: skip
    return {name: tuple(made[name]) for name in NAMES}


def pictures_of(contents: Contents, name: str) -> tuple[str, ...]:
    """The sheets of one kind as svg."""
    return drawings(contents)[name]


@lru_cache(maxsize=64)
def as_png(svg: str) -> bytes:
    """A picture at the resolution of print."""
    from screening.outputs.pictures.raster import png

    return png(svg)


def told_by(svg: str) -> tuple[str, str]:
    """The title of a picture and its description for who cannot see it."""
    root = fromstring(svg)
    return readable(root.findtext(f"{_SVG}title") or "picture", 200), readable(root.findtext(f"{_SVG}desc") or "", 4000)
