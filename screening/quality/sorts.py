"""What sort of substance and material a criterion is for: analysis group, organic or not, water or solid."""

from __future__ import annotations

from functools import lru_cache

from screening.vocabulary.analysis_groups import answered_by, groups, root

SOLID = ("soil", "sediment")
WATER = ("groundwater", "surface_water", "other_water")


def media_class(medium: str) -> str:
    """'solid', 'water', or '' for a medium that is neither."""
    return "solid" if medium in SOLID else "water" if medium in WATER else ""


@lru_cache(maxsize=65536)
def sorts_of(analyte: str, method: str) -> tuple[tuple[str, ...], ...]:
    """The ways in which a row may have been analysed, each as its analysis groups, the narrowest first."""
    return tuple(
        tuple(sorted(way, key=lambda group: (-_depth(group), len(groups()[group].analytes) if group in groups() else 0, group)))
        for way in answered_by(analyte, method)
    )


def _depth(group: str) -> int:
    wider = groups()[group].part_of if group in groups() else ""
    return 1 + _depth(wider) if wider else 0


@lru_cache(maxsize=65536)
def is_inorganic(analyte: str, method: str) -> bool:
    """Whether the row is a metal; everything else counts as organic."""
    return any(root(group) == "Metals" for way in sorts_of(analyte, method) for group in way)
