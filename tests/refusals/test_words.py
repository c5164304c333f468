"""Words that name nothing: sites, tables, versions, conditions, settings, rows, runs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

UNKNOWN: dict[str, tuple[list[str], list[str]]] = {
    "site of an import": (["import", "{good}", "--site", "ones"], ["site 'ones' is unknown", "did you mean 'one'"]),
    "site of a screen": (["screen", "--site", "nowhere"], ["site 'nowhere' is unknown", "one"]),
    "site of the held rows": (["held", "list", "--site", "nowhere"], ["site 'nowhere' is unknown"]),
    "site of the results": (["results", "--site", "nowhere"], ["site 'nowhere' is unknown"]),
    "site to show": (["site", "show", "nowhere"], ["site 'nowhere' is unknown"]),
    "table": (["screen", "--site", "one", "--levels", "us-oh/closing"], ["'us-oh/closing' is unknown", "us-oh/closure"]),
    "table to show": (["levels", "show", "us-xx/none"], ["'us-xx/none' is unknown"]),
    "no table at all": (["screen", "--site", "one", "--levels", "@2017-01-01"], ["names no table"]),
    "version": (["screen", "--site", "one", "--levels", "us-oh/closure@2016-01-01"], ["has no version '2016-01-01'", "2017-01-01"]),
    "no version in force": (
        ["screen", "--site", "one", "--levels", "us-oh/closure", "--levels-on", "2010-01-01"], ["in force on 2010-01-01", "2017-01-01"],
    ),
    "condition": (["screen", "--site", "one", "--condition", "soil=1"], ["--condition soil", "soil_class"]),
    "value of a condition": (["screen", "--site", "one", "--condition", "soil_class=4"], ["soil_class=4", "1, 2, 3"]),
    "setting": (["screen", "--site", "one", "--setting", "rounding=up"], ["--setting rounding", "missing_basis"]),
    "value of a setting": (["screen", "--site", "one", "--setting", "missing_basis=wet"], ["missing_basis=wet", "as_received"]),
    "field to set": (["import", "{good}", "--site", "one", "--set", "colour=red"], ["--set colour", "is no field"]),
    "layout": (["import", "{good}", "--site", "one", "--layout", "nobody"], ["--layout nobody"]),
    "deliverable to replace": (["import", "{good}", "--site", "one", "--replaces", "d0"], ["--replaces d0", "no such deliverable"]),
    "held row to accept": (["held", "accept", "d0-1", "--by", "A", "--why", "B"], ["d0-1", "no such row is waiting"]),
    "held row to reject": (["held", "reject", "d0-1", "--by", "A", "--why", "B"], ["d0-1", "no such row is waiting"]),
    "run to show": (["runs", "show", "r0"], ["run 'r0' is unknown"]),
    "run to reproduce": (["runs", "reproduce", "r0"], ["run 'r0' is unknown"]),
    "run to compare": (["compare", "r0", "r1"], ["run 'r0' is unknown"]),
    "run to explain": (["explain", "r0", "--sample", "S1", "--analyte", "Benzene"], ["run 'r0' is unknown"]),
}  # fmt: skip


@pytest.mark.parametrize(("words", "told"), UNKNOWN.values(), ids=UNKNOWN)
def test_a_word_that_names_nothing(filled: Any, refused: Callable[..., str], words: list[str], told: list[str]) -> None:
    line = refused(*(word.format(good=filled.folder / "good.csv") for word in words))
    for part in told:
        assert part in line, line


def test_a_value_without_its_key_is_misuse(filled: Any, refused: Callable[..., str]) -> None:
    assert "KEY=VALUE" in refused("screen", "--site", "one", "--condition", "soil_class", status=2)
    assert "KEY=VALUE" in refused("import", filled.folder / "good.csv", "--site", "one", "--set", "unit", status=2)


@pytest.mark.parametrize("words", [
    ["import", "good.csv"], ["screen"], ["held", "list"], ["results"], ["import", "--site", "one"], ["runs", "show"],
    ["screen", "--site", "one", "--levels-on", "soon"], ["unheard"], ["held", "accept", "d0-1", "--by", "A"],
])  # fmt: skip
def test_wrong_usage_is_status_2_and_writes_nothing(filled: Any, words: list[str]) -> None:
    before = filled.database.read_bytes()
    said = filled.run(*words)
    assert (said.status, said.document) == (2, None)
    assert "Traceback" not in said.error
    assert said.error.rstrip("\n").splitlines()[-1].startswith(("Error: ", "screening: "))
    assert filled.database.read_bytes() == before


def test_a_decision_wants_a_name_and_a_reason(filled: Any, refused: Callable[..., str]) -> None:
    row = {"sample_id": "S2", "medium": "soil", "analyte": "1,2-DCA", "result": "0.1", "unit": "mg/kg", "basis": "dry"}
    said = filled.run("import", filled.deliverable("held.csv", [row]), "--site", "one")
    held = said.document["deliverables"][0]["held_back"][0]["id"]
    assert "--why" in refused("held", "accept", held, "--by", "A. Reyes", "--why", " ", "--as", "1,2-Dichloroethane")
    assert "--as TEXT" in refused("held", "accept", held, "--by", "A. Reyes", "--why", "by its CAS number", "--as", "1,2-DCA")
