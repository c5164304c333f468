"""What a row must fulfil to take part: pandera schemas at the boundary of the store."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from screening.normal.dates import may_follow
from screening.normal.spread import spread

if TYPE_CHECKING:
    import pandera.pandas as pa

AMOUNT = r"\d+(\.\d+)?"
SIGNED_AMOUNT = rf"-?{AMOUNT}"


@dataclass(frozen=True)
class _Order:
    possible: bool


@functools.lru_cache(maxsize=1)
def result_schema() -> pa.DataFrameSchema:
    """The schema of rows that will be held against levels; each check's error is the reason shown to the chemist."""
    import pandera.pandas as pa

    def text(pattern: str, reason: str) -> pa.Column:
        return pa.Column(str, pa.Check.str_matches(rf"^(?:{pattern})?$", error=reason))

    def known(values: list[str], reason: str) -> pa.Column:
        return pa.Column(str, pa.Check.isin(values, error=reason))

    def ordered(first: str, second: str, reason: str) -> pa.Check:
        columns = (first, f"{first}_known", second, f"{second}_known")

        def in_order(frame: pd.DataFrame) -> pd.Series:
            read = spread([frame[name] for name in columns], lambda *texts: _Order(may_follow(*texts)), ["possible"])
            return read["possible"].astype(bool)

        return pa.Check(in_order, error=reason)

    def deeper(frame: pd.DataFrame) -> pd.Series:
        top, bottom = pd.to_numeric(frame["depth_top"]), pd.to_numeric(frame["depth_bottom"])
        return ~(top > bottom)

    return pa.DataFrameSchema(
        {
            "sample_id": pa.Column(str, pa.Check.str_length(1, 200, error="the sample number is longer than 200 characters")),
            "analyte": pa.Column(str, pa.Check.str_length(1, 200, error="no analyte is named")),
            "medium": known(
                ["soil", "groundwater", "sediment", "surface_water", "other_water", "other"], "the medium is none of ours"
            ),
            "detected": known(["true", "false"], "neither detected nor not detected"),
            "value": text(SIGNED_AMOUNT, "the result is no plain number"),
            "nondetect_limit": text(AMOUNT, "the limit of the non-detect is no plain number"),
            "reporting_limit": text(AMOUNT, "the reporting limit is below 0 or no number"),
            "quantitation_limit": text(AMOUNT, "the quantitation limit is below 0 or no number"),
            "detection_limit": text(AMOUNT, "the detection limit is below 0 or no number"),
            "dilution": text(rf"(?!0+(?:\.0+)?$){AMOUNT}", "the dilution is not above 0"),
            "percent_solids": text(
                r"(?!0+(?:\.0+)?$)(?:100(?:\.0+)?|\d{1,2}(?:\.\d+)?)", "the percent solids are not between 0 and 100"
            ),
            "depth_top": text(SIGNED_AMOUNT, "the upper depth is no number"),
            "depth_bottom": text(SIGNED_AMOUNT, "the lower depth is no number"),
        },
        checks=[
            pa.Check(deeper, error="the sample ends above where it begins: depths exchanged?"),
            ordered("sampled_at", "received_at", "received before it was sampled: a date is wrong"),
            ordered("sampled_at", "analysed_at", "analysed before it was sampled: a date is wrong"),
        ],
        strict=False,
    )


FIELD_AT_FAULT = {
    "the sample ends": "depth_bottom",
    "received before": "received_at",
    "analysed before": "analysed_at",
}


def faults(frame: pd.DataFrame) -> pd.DataFrame:
    """The rows that break the schema: index, held_field, reason; one row each, the first fault found.

    Every fault is collected in one pass (lazy validation); an empty frame means that all rows pass.
    """
    import pandera.errors

    if frame.empty:
        return pd.DataFrame({"held_field": [], "reason": []})
    try:
        result_schema().validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as error:
        found = error.failure_cases.dropna(subset=["index"]).drop_duplicates("index").set_index("index")
        by_reason = found["check"].map(
            lambda reason: next((field for words, field in FIELD_AT_FAULT.items() if str(reason).startswith(words)), "")
        )
        fields = found["column"].where(found["schema_context"] == "Column", by_reason)
        return pd.DataFrame({"held_field": fields, "reason": found["check"].astype("str")})
    return pd.DataFrame({"held_field": [], "reason": []})
