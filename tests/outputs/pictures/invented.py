"""Contents of an invented run, made without a store: what a picture takes from it, and nothing else."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from screening.decision.contents import Contents
from screening.levels.versions import Standards, standards_folder
from screening.site.site_file import parse_site

LEVEL = {"Benzene": "0.246", "Toluene": "70.7", "Naphthalene": "0.511"}
"""Levels of mg/kg as in the demo; the sites and amounts of these tests are invented."""


def outcome(location: str, analyte: str = "Benzene", amount: str = "0.1", **more: Any) -> dict[str, Any]:
    """One outcome against LEVEL; ``amount`` may begin with '<'. More keys override what follows from it."""
    detected, number = not amount.startswith("<"), amount.lstrip("<")
    level = LEVEL.get(analyte)
    over = level is not None and float(number) > float(level)
    kind = "no_level" if level is None else "does_not_exceed" if not over else "exceeds" if detected else "open"
    made = {
        "location": location, "sample_id": location, "sample_kind": "field", "depth_top": "4", "depth_bottom": None,
        "depth_unit": "ft", "sampled_at": "2025-06-10", "medium": "soil", "analyte": analyte, "cas": "", "fraction": "",
        "detected": detected, "value": number if detected else None, "lower": number if detected else "0", "upper": number,
        "limit": None if detected else number, "reporting_limit": None, "unit": "mg/kg", "qualifiers": "", "table": "us-oh/closure",
        "version": "2017-01-01", "level": level, "level_unit": "mg/kg" if level else None, "level_normal": level,
        "comparison": "above" if level else None, "conditions": {}, "outcome": kind, "because": "", "citation": "",
        "ratio": f"{float(number) / float(level):.3g}" if level else None, "transcription": "read", "source": {}, "parts": [],
        "beside": [], "review_qualifiers": "", "review_reasons": "", "duplicate": None, "outweighed": False,
    }  # fmt: skip
    return made | more


def contents_of(
    site: str, outcomes: Iterable[Mapping[str, Any]], held: Iterable[Mapping[str, Any]] = (), stale: bool = False, **more: Any
) -> Contents:
    """Contents with a site file's text (the [site] section is put before it) and outcomes."""
    head = '[site]\nid = "made-up"\nname = "Made-up yard (invented)"\nplace = "us-oh"\n'
    found = [dict(item) for item in outcomes]
    answer = {
        "run": "r0123456789ab", "site": "made-up", "site_name": "Made-up yard (invented)", "data": "0123456789ab",
        "levels": [{"table": "us-oh/closure", "version": "2017-01-01"}], "outcomes": found, "outweighed": [],
        "held_back": [dict(row) for row in held], "coverage": more.pop("coverage", {}),
        "counts": {}, "recommendation": {"status": "triggered", "caution": "A screening aid. It decides nothing."},
    }  # fmt: skip
    results = [{"sample_id": item["sample_id"], "location": item["location"]} for item in found]
    review = more.pop("review", {"grid": [], "findings": [], "edition": {"edition": "none", "version": ""}})
    deadlines = more.pop("deadlines", {"deadlines": []})
    return Contents(
        answer,
        parse_site(head + site, "site.toml"),
        dt.date(2025, 7, 1),
        stale,
        results,
        review,
        deadlines,
        {},
        [],
        {},
        Standards([standards_folder()]),
    )


def places(*at: tuple[str, float, float]) -> str:
    """Locations of a site file."""
    return "".join(f'[[location]]\nid = "{name}"\nx = {x}\ny = {y}\n' for name, x, y in at)
