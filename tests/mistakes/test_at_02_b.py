"""AT-02 (b): a legend that calls ppb parts per million holds the whole table, and nothing of it is screened."""

from __future__ import annotations

from typing import Any

import pytest

LEGEND = "ppb: parts per million (or ug/kg)"
UNIT_COLUMN = f"""Soil results,,,
"{LEGEND}",,,
Analyte,Unit,AL-1,AL-2
Benzene,ppb,312,100
Toluene,ppb,12,5
"""
COLUMN_HEADS = f"""Soil results,,
"{LEGEND}",,
Sample,Benzene (ppb),Toluene (ppb)
AL-1,312,12
AL-2,100,5
"""
LONG_ABOVE = f"""Soil results,,,,
"{LEGEND}",,,,
Sample,Matrix,Parameter,Result,Units
AL-1,Soil,Benzene,312,ppb
AL-2,Soil,Benzene,100,ppb
AL-1,Soil,Toluene,12,ppb
AL-2,Soil,Toluene,5,ppb
"""
LONG_BELOW = f"""Sample,Matrix,Parameter,Result (ppb)
AL-1,Soil,Benzene,312
AL-2,Soil,Benzene,100
AL-1,Soil,Toluene,12
AL-2,Soil,Toluene,5
"{LEGEND}",,,
"""


@pytest.mark.parametrize(
    "table",
    [UNIT_COLUMN, COLUMN_HEADS, LONG_ABOVE, LONG_BELOW],
    ids=["unit column", "column heads", "long form, legend above", "long form, legend below"],
)
def test_the_whole_table_is_held_with_the_contradiction_quoted(tell: Any, table: str) -> None:
    told = tell(table, "--set", "medium=soil", "--set", "basis=dry")
    assert (told.imported["status"], told.imported["rows"]["held_back"], told.imported["rows"]["results"]) == ("held", 4, 0)
    for item in told.imported["held_back"]:
        assert item["text"] == LEGEND
        assert f"the text '{LEGEND}' contradicts itself" in item["reason"]
        assert "'ppb', 'parts per million'" in item["reason"]
    assert (told.results, told.screen["outcomes"]) == ([], [])
    assert told.status == "undetermined"
