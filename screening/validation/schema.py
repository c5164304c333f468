"""What a row must fulfil to take part: pandera schemas at the boundary of the store.

The rules are written once. Each distinct text is held against them first; only rows at fault are given to pandera, which
tells the reasons. A deliverable without a fault never waits for pandera to start.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Column, Frame, spread
from screening.normal.dates import may_follow

if TYPE_CHECKING:
    import pandas as pd
    import pandera.pandas as pa

    from screening.deliverable.columns import Flags

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
USED = (
    *NAMES, *WORDS, *NUMBERS, *dict.fromkeys(part for pair in MOMENTS_IN_ORDER for name in pair for part in (name, f"{name}_known"))
)  # fmt: skip
FIELD_AT_FAULT = {
    "the sample ends": "depth_bottom",
    "received before": "received_at",
    "analysed before": "analysed_at",
}


def _in_order(frame: Frame, first: str, second: str) -> Flags:
    columns = [frame[name] for name in (first, f"{first}_known", second, f"{second}_known")]
    return spread(columns, may_follow).flags(bool)


def _deeper(frame: Frame) -> Flags:
    def below(top: str, bottom: str) -> bool:
        numbers = [re.fullmatch(SIGNED_AMOUNT, text) for text in (top, bottom)]  # what is no number is told by its own column
        return not all(numbers) or Decimal(top) <= Decimal(bottom)

    return spread([frame["depth_top"], frame["depth_bottom"]], below).flags(bool)


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
        pa.Check(lambda rows, first=first, second=second: _answers(rows, _in_order(_columns(rows), first, second)), error=reason)
        for (first, second), reason in MOMENTS_IN_ORDER.items()
    ]
    deeper = pa.Check(lambda rows: _answers(rows, _deeper(_columns(rows))), error=DEEPER)
    return pa.DataFrameSchema(columns, checks=[deeper, *orders], strict=False)


def _columns(rows: pd.DataFrame) -> Frame:
    return Frame({str(name): Column.of(rows[name]) for name in rows}, np.arange(len(rows)))


def _answers(rows: pd.DataFrame, flags: Flags) -> pd.Series:
    import pandas as pd

    return pd.Series(flags, index=rows.index)


def at_fault(frame: Frame) -> Flags:
    """Which rows break a rule of the schema; each distinct text is looked at once."""
    found = ~_deeper(frame)
    for name in NAMES:
        found |= ~frame[name].flags(lambda text: 1 <= len(text) <= LONGEST)
    for name, (words, _) in WORDS.items():
        found |= ~frame[name].isin(words)
    for name, (form, _) in NUMBERS.items():
        found |= ~frame[name].flags(re.compile(rf"^(?:{form})?$").match)
    for first, second in MOMENTS_IN_ORDER:
        found |= ~_in_order(frame, first, second)
    return found


@dataclass(frozen=True)
class Fault:
    """The first rule that a row breaks: the number of the row in its frame, the field at fault, the reason."""

    at: int
    field: str
    reason: str


def faults(frame: Frame, within: Flags) -> list[Fault]:
    """The rows that break the schema, of those flagged ``within``; one fault a row.

    Every fault is collected in one pass (lazy validation).
    """
    asked = np.flatnonzero(within)
    wrong = asked[at_fault(frame.take(asked, USED))]
    if not len(wrong):
        return []
    import pandas as pd
    import pandera.errors

    rows = pd.DataFrame({name: frame[name].take(wrong).tolist() for name in USED}, index=wrong, dtype="str")
    try:
        result_schema().validate(rows, lazy=True)
    except pandera.errors.SchemaErrors as error:
        found = error.failure_cases.dropna(subset=["index"]).drop_duplicates("index")
        return [
            Fault(
                int(one["index"]),
                str(one["column"]) if one["schema_context"] == "Column" else _field_at_fault(str(one["check"])),
                str(one["check"]),
            )
            for one in found.to_dict("records")
        ]
    raise AssertionError("pandera passes rows that break a rule")


def hold_for(frame: Frame, found: Sequence[Fault]) -> None:
    """Hold the rows at fault, each for its fault."""
    if not found:
        return
    rows = np.asarray([fault.at for fault in found])
    for name, texts in (
        ("class", ["held"] * len(found)),
        ("held_field", [one.field for one in found]),
        ("reason", [one.reason for one in found]),
    ):
        frame[name] = frame[name].put(rows, Column.of(texts))


def _field_at_fault(reason: str) -> str:
    return next((field for words, field in FIELD_AT_FAULT.items() if reason.startswith(words)), "")
