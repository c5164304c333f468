"""The pictures of the page: those that stand in it, and those that wait until a location is chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from screening.outputs.page.rows import OUTCOMES, ResultRow
from screening.outputs.pictures import plan
from screening.outputs.pictures.signs import mark
from screening.outputs.texts import natural

if TYPE_CHECKING:
    from screening.decision.contents import Contents

MOST_SERIES = 12
"""Time series of one well that the page carries, the gravest analytes first."""
SIGN_NAMES = ("exceeds", "open", "no_level", "does_not_exceed", "held", "missing")


def signs() -> dict[str, Markup]:
    """The signs of outcomes, drawn in a square of 16."""
    return {name: Markup(mark(name, 8, 8, 13).write()) for name in SIGN_NAMES}


def standing(contents: Contents) -> dict[str, Markup]:
    """The pictures that stand in the page, by the section they stand in."""
    drawn = {
        "plan": plan.site_plan(contents),
    }
    return {name: Markup(text) for name, text in drawn.items()}


def by_location(contents: Contents, rows: Sequence[ResultRow]) -> Mapping[str, Any]:
    """Depth profile and time series of each location, as they are shown when it is chosen."""
    made: dict[str, Any] = {}
    for location, own in sorted(_grouped(rows).items(), key=lambda pair: natural(pair[0])):
        series: list[Any] = []
        any(row.sample.depth for row in own)
        made[location] = {
            "profile": "",
            "series": series,
            "left": max(0, len(_followed(own)) - MOST_SERIES),
        }
    return made


def _grouped(rows: Sequence[ResultRow]) -> dict[str, list[ResultRow]]:
    grouped: dict[str, list[ResultRow]] = {}
    for row in rows:
        grouped.setdefault(row.location, []).append(row)
    return grouped


def _followed(rows: Sequence[ResultRow]) -> list[str]:
    """Analytes of groundwater that were sampled on two days or more and exceed or are open on one, the gravest first."""
    order = list(OUTCOMES)
    days: dict[str, set[str]] = {}
    worst: dict[str, int] = {}
    for row in rows:
        if row.table.medium == "groundwater":
            name = row.analyte.analyte
            days.setdefault(name, set()).add(row.sample.sampled_at[:10])
            worst[name] = min(worst.get(name, len(order)), order.index(row.outcome))
    grave = [name for name in worst if worst[name] <= order.index("open") and len(days[name] - {""}) > 1]
    return sorted(grave, key=lambda name: (worst[name], natural(name)))
