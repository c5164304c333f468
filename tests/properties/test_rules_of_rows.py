"""The quick look at distinct texts finds the rows that pandera finds, and no others."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pandera.errors
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from screening.deliverable.columns import Column, Frame
from screening.validation.schema import NUMBERS, at_fault, faults, result_schema

DAYS = st.sampled_from(["", "2025-05-06", "2025-05-07"])
MOMENTS = st.sampled_from([("", ""), ("2025-05-06", "day"), ("2025-05-07 10:00:00", "local"), ("2025-05-05 22:00:00", "-05:00")])
AMOUNTS = st.sampled_from(["", "0", "0.0", "1", "-1", "3.5", "100", "100.0", "101", "1,2", "1e3", ".5", "5.", "x", "5\n"])


@st.composite
def row(draw: st.DrawFn) -> dict[str, str]:
    made = {
        "sample_id": draw(st.sampled_from(["A", "", "a" * 200, "a" * 201])),
        "analyte": draw(st.sampled_from(["Benzene", "", "b" * 201])),
        "medium": draw(st.sampled_from(["soil", "other", "air", ""])),
        "detected": draw(st.sampled_from(["true", "false", "", "yes"])),
        **{name: draw(AMOUNTS) for name in NUMBERS},
    }
    for name in ("sampled_at", "received_at", "analysed_at"):
        made[name], made[f"{name}_known"] = draw(MOMENTS)
    return made


@settings(
    max_examples=4, deadline=None, phases=(Phase.explicit, Phase.generate)
)  # pandera takes long, whether of few rows or many
@given(st.lists(row(), min_size=90, max_size=110))
def test_the_quick_look_and_pandera_agree(rows: list[dict[str, str]]) -> None:
    frame = pd.DataFrame(rows, dtype="str")
    try:
        result_schema().validate(frame, lazy=True)
        expected = set()
    except pandera.errors.SchemaErrors as error:
        expected = set(error.failure_cases["index"].dropna().astype(int))
    columns = Frame({name: Column.of(row[name] for row in rows) for name in rows[0]}, np.arange(len(rows)))
    assert set(np.flatnonzero(at_fault(columns)).tolist()) == expected
    assert {fault.at for fault in faults(columns, np.ones(len(rows), dtype=bool))} == expected
