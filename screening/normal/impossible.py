"""Amounts that no sample can hold: more than the sample itself weighs. They are held, not questioned."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from screening.deliverable.columns import Column, Frame

if TYPE_CHECKING:
    from screening.deliverable.columns import Flags

WHOLE = {
    "mg/kg": (7, "a kilogram has 1,000,000 mg", {"mg/kg": "ug/kg", "g/kg": "mg/kg", "ug/g": "ug/kg", "mg/g": "ug/g"}),
    "ug/L": (10, "a litre of water weighs about 1 kg, which is 1,000,000,000 ug", {"mg/L": "ug/L", "g/L": "mg/L", "ug/mL": "ug/L"}),
}  # fmt: skip
"""Kept unit -> digits of the whole in that unit (a one and zeros), the physical fact, and the unit that may have been meant.
Not source but arithmetic; for waters the density of water, which a sample heavier than water (a pure solvent) passes."""
AMOUNTS = ("value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit")


def beyond_the_whole(rows: Frame, out: Frame) -> tuple[Flags, Column, Column]:
    """Which rows have a result or limit above the whole sample; the reason and the proposed unit for each.

    ``rows`` holds the delivered texts, ``out`` the amounts as exact texts in the kept unit.
    """
    reason = proposal = Column.full("", len(out))
    for unit, (digits, fact, meant) in WHOLE.items():
        within = re.compile(rf"-?0*(?:\d{{1,{digits - 1}}}|10{{{digits - 1}}}(?=\.0*$|$))(?:\.\d*)?|")
        in_unit = out["unit"] == unit
        for name in AMOUNTS:
            over = in_unit & ~out[name].flags(within.fullmatch) & (reason == "")
            if over.any():
                what = "the result" if name == "value" else "the " + name.replace("_", " ").replace("nondetect ", "")
                reason = reason.mask(over, f"{what} is more than the sample itself: {fact}; is the unit wrong?")
                delivered = rows["unit"].map(str.strip)
                proposal = proposal.mask(over, delivered.where(delivered.isin(meant), "").replace(meant))
    return reason != "", reason, proposal
