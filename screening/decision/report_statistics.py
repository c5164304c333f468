"""Which analytes of a run a package of outputs shows statistics of, and the documents of them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from screening.decision.statistics import Wanted, statistics_beside
from screening.levels.versions import Standards
from screening.screen.statistics.trend import least_rounds

ALLOWED_MOST, TOLD_MOST = 6, 3
"""Analytes of which the table's rule allows a statistic; others, shown for information only (own choice)."""
LEAST = 10
"""Samples of a medium below which nothing is shown for information (own choice)."""


def statistics_worth_showing(answer: Mapping[str, Any], standards: Standards) -> list[dict[str, Any]]:
    """Documents as of `statistics`, the worst analyte first: those with a result that exceeds or is open.

    A rule that allows statistics comes first; without one, an analyte needs an exceedance, and samples enough or a well
    with rounds enough for a trend.
    """
    found: dict[str, list[Mapping[str, Any]]] = {}
    for item in answer["outcomes"]:
        found.setdefault(item["analyte"], []).append(item)
    allowed, told = [], []
    for analyte, items in found.items():
        over = [item for item in items if item["outcome"] == "exceeds"]
        unsure = [item for item in items if item["outcome"] == "open"]
        worst = max((Decimal(item["ratio"] or 0) for item in over or unsure), default=Decimal(0))
        if any(item["detected"] for item in items) and (over or unsure):
            if any(_allows(standards, item) for item in items):
                allowed.append((not over, -worst, analyte))
            elif over and (_most_of_a_medium(items) >= LEAST or _most_rounds(items) >= least_rounds()):
                told.append((not over, -worst, analyte))
    chosen = [*sorted(allowed)[:ALLOWED_MOST], *sorted(told)[:TOLD_MOST]]
    return [statistics_beside(answer, standards, Wanted(analyte, short=True)) for _, _, analyte in chosen]


def _allows(standards: Standards, item: Mapping[str, Any]) -> bool:
    return any(not rule.media or item["medium"] in rule.media for rule in standards.table(item["table"]).statistics)


def _most_of_a_medium(items: list[Mapping[str, Any]]) -> int:
    """Samples of the medium that has most of them."""
    samples: dict[str, set[str]] = {}
    for item in items:
        samples.setdefault(item["medium"], set()).add(item["sample_id"])
    return max(map(len, samples.values()))


def _most_rounds(items: list[Mapping[str, Any]]) -> int:
    """Sampling days of the place that has most of them."""
    rounds: dict[str, set[str]] = {}
    for item in items:
        if item["sampled_at"]:
            rounds.setdefault(item["location"], set()).add(item["sampled_at"][:10])
    return max(map(len, rounds.values()), default=0)
