"""What a row must fulfil to take part: pandera schemas at the boundary of the store.

The rules are written once. Each distinct text is held against them first; only rows at fault are given to pandera, which
tells the reasons. A deliverable without a fault never waits for pandera to start.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

import pandas as pd

from screening.normal.dates import may_follow
from screening.normal.spread import spread

if TYPE_CHECKING:
    import pandera.pandas as pa

AMOUNT = r"\d+(\.\d+)?"
SIGNED_AMOUNT = rf"-?{AMOUNT}"
LONGEST = 200

NAMES = {
    "sample_id": "the sample number is longer than 200 characters",
    "analyte": "no analyte is named",
}
WORDS = {
    "medium": (
        ("soil", "groundwater", "sediment", "surface_water", "other_water", "other"),
        "the medium is none of ours",
    ),
    "detected": (("true", "false"), "neither detected nor not detected"),
}
NUMBERS = {
    "value": (SIGNED_AMOUNT, "the result is no plain number"),
    "nondetect_limit": (AMOUNT, "the limit of the non-detect is no plain number"),
    "reporting_limit": (AMOUNT, "the reporting limit is below 0 or no number"),
    "quantitation_limit": (AMOUNT, "the quantitation limit is below 0 or no number"),
    "detection_limit": (AMOUNT, "the detection limit is below 0 or no number"),
    "dilution": (rf"(?!0+(?:\.0+)?$){AMOUNT}", "the dilution is not above 0"),
    "percent_solids": (
        r"(?!0+(?:\.0+)?$)(?:100(?:\.0+)?|\d{1,2}(?:\.\d+)?)",
        "the percent solids are not between 0 and 100",
    ),
    "depth_top": (SIGNED_AMOUNT, "the upper depth is no number"),
    "depth_bottom": (SIGNED_AMOUNT, "the lower depth is no number"),
}
"""Column -> the form of its text, which may be blank as well, and the reason shown to the chemist."""
DEEPER = "the sample ends above where it begins: depths exchanged?"
MOMENTS_IN_ORDER = {
    ("sampled_at", "received_at"): "received before it was sampled: a date is wrong",
    ("sampled_at", "analysed_at"): "analysed before it was sampled: a date is wrong",
}
FIELD_AT_FAULT = {
    "the sample ends": "depth_bottom",
    "received before": "received_at",
    "analysed before": "analysed_at",
}


@dataclass(frozen=True)
class _Order:
    possible: bool


def _in_order(frame: pd.DataFrame, first: str, second: str) -> pd.Series:
    columns = [frame[name] for name in (first, f"{first}_known", second, f"{second}_known")]
    return spread(columns, lambda *texts: _Order(may_follow(*texts)), ["possible"])["possible"].astype(bool)


def _deeper(frame: pd.DataFrame) -> pd.Series:
    def below(top: str, bottom: str) -> _Order:
        numbers = [re.fullmatch(SIGNED_AMOUNT, text) for text in (top, bottom)]  # what is no number is told by its own column
        return _Order(not all(numbers) or Decimal(top) <= Decimal(bottom))

    return spread([frame["depth_top"], frame["depth_bottom"]], below, ["possible"])["possible"].astype(bool)


@functools.lru_cache(maxsize=1)
def result_schema() -> pa.DataFrameSchema:
    """The schema of rows that will be held against levels; each check's error is the reason shown to the chemist."""
    import pandera.pandas as pa

    columns = {
        **{name: pa.Column(str, pa.Check.str_length(1, LONGEST, error=reason)) for name, reason in NAMES.items()},
        **{name: pa.Column(str, pa.Check.isin(words, error=reason)) for name, (words, reason) in WORDS.items()},
        **{
            name: pa.Column(str, pa.Check.str_matches(rf"^(?:{form})?$", error=reason))
            for name, (form, reason) in NUMBERS.items()
        },
    }
    orders = [
        pa.Check(functools.partial(_in_order, first=first, second=second), error=reason)
        for (first, second), reason in MOMENTS_IN_ORDER.items()
    ]
    return pa.DataFrameSchema(columns, checks=[pa.Check(_deeper, error=DEEPER), *orders], strict=False)


def at_fault(frame: pd.DataFrame) -> pd.Series:
    """Which rows break a rule of the schema; each distinct text is looked at once."""
    found = pd.Series(False, index=frame.index)

    def seek(name: str, forbidden: list[str]) -> None:
        if forbidden:
            found.loc[frame[name].isin(forbidden)] = True

    for name in NAMES:
        seek(name, [text for text in frame[name].unique() if not 1 <= len(text) <= LONGEST])
    for name, (words, _) in WORDS.items():
        seek(name, [text for text in frame[name].unique() if text not in words])
    for name, (form, _) in NUMBERS.items():
        allowed = re.compile(rf"^(?:{form})?$")
        seek(name, [text for text in frame[name].unique() if not allowed.match(text)])
    found |= ~_deeper(frame)
    for first, second in MOMENTS_IN_ORDER:
        found |= ~_in_order(frame, first, second)
    return found


def faults(frame: pd.DataFrame) -> pd.DataFrame:
    """The rows that break the schema: index, held_field, reason; one row each, the first fault found.

    Every fault is collected in one pass (lazy validation); an empty frame means that all rows pass.
    """
    if frame.empty or not (wrong := at_fault(frame)).any():
        return pd.DataFrame({"held_field": [], "reason": []})
    import pandera.errors

    try:
        result_schema().validate(frame[wrong], lazy=True)
    except pandera.errors.SchemaErrors as error:
        found = error.failure_cases.dropna(subset=["index"]).drop_duplicates("index").set_index("index")
        by_reason = found["check"].map(
            lambda reason: next((field for words, field in FIELD_AT_FAULT.items() if str(reason).startswith(words)), "")
        )
        fields = found["column"].where(found["schema_context"] == "Column", by_reason)
        return pd.DataFrame({"held_field": fields, "reason": found["check"].astype("str")})
    return pd.DataFrame({"held_field": [], "reason": []})
