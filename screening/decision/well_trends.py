"""Trends of an analyte at each location over its sampling days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from screening.decision.sample_groups import Group, One
from screening.errors import Refused
from screening.screen.statistics.observed import Observed
from screening.screen.statistics.shown import figures
from screening.screen.statistics.trend import least_rounds, mann_kendall, significant, slope_a_year

CITATION = "Mann (1945), Kendall (1975); slope by Theil (1950), Sen (1968)"


def trends_of(groups: Sequence[Group]) -> list[dict[str, Any]]:
    """One trend a location and group with at least two sampling days; those that cannot be shown say why."""
    made = []
    for group in groups:
        places = dict.fromkeys(one.location for one in group.samples)
        for place in places:
            rounds = sorted(
                (one for one in group.samples if one.location == place and one.sampled_at), key=lambda one: str(one.sampled_at)
            )
            if len({str(one.sampled_at)[:10] for one in rounds}) > 1:
                made.append(_trend(group, place, rounds))
    return made


def _trend(group: Group, place: str, rounds: Sequence[One]) -> dict[str, Any]:
    document: dict[str, Any] = {
        "table": group.table, "version": group.version, "level": group.printed, "medium": group.medium, "fraction": group.fraction, "location": place, "unit": group.unit, "rounds": len(rounds),
        "detected": sum(not one.censored for one in rounds), "first": str(rounds[0].sampled_at)[:10],
        "last": str(rounds[-1].sampled_at)[:10], "least_rounds": least_rounds(), "s": None, "p_one_sided": None,
        "direction": "not shown", "slope_a_year": None, "slope_low": None, "slope_high": None, "citation": CITATION, "note": "",
    }  # fmt: skip
    try:
        if any(not one.counts for one in rounds):
            raise Refused("a round without an upper bound: no order of the rounds is known")
        days = [dt.date.fromisoformat(str(one.sampled_at)[:10]).toordinal() for one in rounds]
        observed = Observed.of([one.bounds.upper or 0 for one in rounds], [one.censored for one in rounds])
        found = mann_kendall(observed, days)
        shown = significant(found)
        document |= {
            "s": found.s, "p_one_sided": figures(found.p),
            "direction": ("rising" if found.s > 0 else "falling") if shown else "not shown",
            "note": "" if shown else f"no trend shown at 5 % one-sided; {least_rounds()} rounds are the least that can show one",
        }  # fmt: skip
        if observed.limits:
            document["note"] = "; ".join(filter(None, [document["note"], "everything below the highest limit is taken as tied"]))
        slope, low, high = slope_a_year(days, observed)
        document |= {"slope_a_year": figures(slope), "slope_low": figures(low), "slope_high": figures(high)}
    except Refused as error:
        document["note"] = "; ".join(filter(None, [document["note"], str(error)]))
    return document
