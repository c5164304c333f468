"""Amounts that no sample can hold: more than the sample itself weighs. They are held, not questioned."""

from __future__ import annotations

import re

import pandas as pd

WHOLE = {
    "mg/kg": (7, "a kilogram has 1,000,000 mg", {"mg/kg": "ug/kg", "g/kg": "mg/kg", "ug/g": "ug/kg", "mg/g": "ug/g"}),
    "ug/L": (10, "a litre of water weighs about 1 kg, which is 1,000,000,000 ug", {"mg/L": "ug/L", "g/L": "mg/L", "ug/mL": "ug/L"}),
}  # fmt: skip
"""Kept unit -> digits of the whole in that unit (a one and zeros), the physical fact, and the unit that may have been meant.
Not source but arithmetic; for waters the density of water, which a sample heavier than water (a pure solvent) passes."""
AMOUNTS = ("value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit")


def beyond_the_whole(rows: pd.DataFrame, out: pd.DataFrame) -> tuple[pd.Series, pd.Series, pd.Series]:
    """Which rows have a result or limit above the whole sample; the reason and the proposed unit for each.

    ``rows`` holds the delivered texts, ``out`` the amounts as exact texts in the kept unit.
    """
    reason = pd.Series("", index=out.index, dtype="str")
    proposal = pd.Series("", index=out.index, dtype="str")
    for unit, (digits, fact, meant) in WHOLE.items():
        within = rf"-?0*(?:\d{{1,{digits - 1}}}|10{{{digits - 1}}}(?=\.0*$|$))(?:\.\d*)?|"
        for name in AMOUNTS:
            too_large = [text for text in out[name].unique() if not re.fullmatch(within, text)]
            over = (out["unit"] == unit) & (reason == "") & out[name].isin(too_large)
            if over.any():
                what = "the result" if name == "value" else "the " + name.replace("_", " ").replace("nondetect ", "")
                reason = reason.mask(over, f"{what} is more than the sample itself: {fact}; is the unit wrong?")
                proposal = proposal.mask(over, rows["unit"].map(lambda text, by=meant: by.get(text.strip(), "")).astype("str"))
    return reason != "", reason, proposal
