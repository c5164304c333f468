"""Column headings in the plain words of laboratories, and the field of the normal form each one means."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from screening.vocabulary.spelling import plain
from screening.vocabulary.tables import rows
from screening.vocabulary.units import read_unit

FIELDS = (
    "sample_id", "lab_sample_id", "location", "sample_kind", "parent_sample", "medium",
    "depth_top", "depth_bottom", "depth_unit", "sampled_at", "received_at", "prepared_at", "analysed_at",
    "received_temperature", "lab", "method", "batch", "analyte", "cas", "result", "unit", "basis", "fraction",
    "qualifiers", "reporting_limit", "quantitation_limit", "detection_limit", "limit_unit", "dilution",
    "percent_solids", "run_no", "recovery", "recovery_low", "recovery_high", "spike_amount", "comment",
    "reporting_limit_unit", "quantitation_limit_unit", "detection_limit_unit", "time_zone",
    "rpd_limit", "amount_taken", "final_volume",
)  # fmt: skip
_LENGTHS = {"ft": "ft", "feet": "ft", "foot": "ft", "ft bgs": "ft", "feet bgs": "ft", "m": "m", "metres": "m",
            "meters": "m", "m bgs": "m", "in": "in", "inches": "in", "cm": "cm"}  # fmt: skip


@dataclass(frozen=True)
class Heading:
    """The field a heading means and the unit it states; both None for a heading that is not listed."""

    field: str | None
    unit: str | None = None


_WITH_UNIT = tuple(
    (sign, re.compile(pattern, re.IGNORECASE))
    for sign, pattern in (
        (")", r"(.+?) ?[(\[](.+)[)\]]"), ("]", r"(.+?) ?[(\[](.+)[)\]]"), (",", r"(.+), ?(.+)"), (" ", r"(.+) in (.+)"),
        (" - ", r"(.+?) - (.+)"),
    )
)  # fmt: skip
"""A sign without which no unit is written in that way, and the heading with its unit."""


@lru_cache(maxsize=1)
def _table() -> dict[str, str]:
    table = {_key(row["heading"]): row["field"] for row in rows("headings.csv")}
    return table | {_key(field): field for field in FIELDS}


def _key(heading: str) -> str:
    words = plain(heading).replace("(s)", "").replace("_", " ").replace("#", " no ")
    return " ".join(re.sub(r"[.:?*]", " ", words).split())


@lru_cache(maxsize=4096)
def recognise(heading: str) -> Heading:
    """The field that a heading means, and a unit written in or behind it ("Result (mg/kg)", "RL, ug/L")."""
    whole = _table().get(_key(heading))
    if whole is not None:
        return Heading(whole)
    text = " ".join(heading.replace("_", " ").split())
    for sign, pattern in _WITH_UNIT:
        match = pattern.fullmatch(text) if sign in text else None
        if match is None:
            continue
        field, unit = _table().get(_key(match[1])), match[2].strip()
        if field is not None and _is_unit(unit):
            return Heading(field, unit)
    return Heading(None)


def _is_unit(text: str) -> bool:
    return plain(text) in _LENGTHS or read_unit(text, "soil").problem is None
