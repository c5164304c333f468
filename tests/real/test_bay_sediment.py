"""15,137 sediment results of three campaigns, and the source's own comparison with two sediment screening levels.

The two levels stand in the file itself, in columns beside the results; the test adds them as a table of the user's own.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Mapping
from decimal import Context, Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.portfolio.same import hold_beside

FILES = ("metals.csv", "pcbs.csv")
TABLE = "us-me/sediment-check"

Lines = dict[int, dict[str, str]]


@pytest.fixture(scope="module")
def folder(reference: Path) -> Path:
    return reference / "real" / "o06_bay_sediment_metals_pcbs"


@pytest.fixture(scope="module")
def expected(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def delivered(folder: Path, lines: Callable[[Path], Lines]) -> dict[str, Lines]:
    return {name: lines(folder / name) for name in FILES}


@pytest.fixture(scope="module")
def imported(desk: Any, folder: Path, layout: Callable[[str], Path]) -> dict[str, dict[str, Any]]:
    desk.reviewed = False  # the source reviewed its results itself
    desk.plain_site("bay", place="us-me", levels=TABLE)
    found = {}
    for name in FILES:
        said = desk.run("import", folder / name, "--site", "bay", "--layout", layout("bay_sediment"))
        found[name] = said.document["deliverables"][0]
    return found


@pytest.fixture(scope="module")
def accepted(desk: Any, imported: dict[str, dict[str, Any]]) -> dict[str, str]:
    """The held figures with the tail of a binary float (0.21560000000000001), taken in with 15 digits: old -> new."""
    taken = {}
    for item in imported["pcbs.csv"]["held_back"]:
        taken[item["text"]] = f"{Context(prec=15).create_decimal(item['text']).normalize():f}"
        words = ("held", "accept", item["id"], "--as", taken[item["text"]], "--by", "test", "--why", "tail of a binary float")
        assert desk.run(*words).status == 0
    return taken


def level_file(desk: Any, metals: Lines, column: str, comparison: str) -> Path:
    """The levels that the file prints beside its results, as a csv of a level table."""
    printed = {(line["Parameter"], line["CASRN"], line[column]) for line in metals.values() if line[column] != "NA"}
    return Path(
        desk.deliverable(
            f"{column}-{comparison}.csv",
            [
                {
                    "analyte": analyte, "cas": cas, "medium": "sediment", "level": level, "unit": "µg/g",
                    "comparison": comparison,
                }
                for analyte, cas, level in sorted(printed)
            ],
        )
    )  # fmt: skip


@pytest.fixture(scope="module")
def screen(desk: Any, accepted: dict[str, str], delivered: dict[str, Lines]) -> Callable[[str, str, str], dict[str, Any]]:
    def run(column: str, comparison: str, version: str) -> dict[str, Any]:
        file = level_file(desk, delivered["metals.csv"], column, comparison)
        added = desk.run("levels", "add", file, "--table", TABLE, "--version", version)
        assert added.status == 0 and added.document["tables"][0]["levels"] == 9, added.error
        return dict(desk.run("screen", "--site", "bay", "--levels", f"{TABLE}@{version}").document)

    return run


@pytest.fixture(scope="module")
def lower(screen: Callable[[str, str, str], dict[str, Any]]) -> dict[str, Any]:
    """The screen against the lower of the two levels; a result equal to it is below it, as the source counts."""
    return screen("ERL", "above", "2000-01-01")


def every(answer: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each result held against the level: the outcomes that stand, and those that a duplicate or its parent outweighs."""
    return [*answer["outcomes"], *answer["outweighed"]]


def exceeding(answer: Mapping[str, Any]) -> int:
    return sum(item["outcome"] == "exceeds" for item in every(answer))


def limit(line: Mapping[str, str]) -> Decimal | None:
    """The limit of a non-detect: the reporting limit where one is given, else the detection limit."""
    for name in ("RL", "MDL"):
        if line[name] != "NA":
            return Decimal(line[name])
    return None


def test_rows_are_accounted_for(imported: dict[str, dict[str, Any]], balanced: Any, expected: dict[str, Any]) -> None:
    for name in FILES:
        rows = imported[name]["rows"]
        assert balanced(rows) and rows["read"] == expected["files"][name]["data_rows"]
        assert (rows["quality_control"], rows["ignored"]) == (0, 0)
    assert imported["metals.csv"]["rows"]["held_back"] == 0
    held = imported["pcbs.csv"]["held_back"]
    assert len(held) == imported["pcbs.csv"]["rows"]["held_back"] == 3
    assert all("more than 18 decimals" in item["reason"] for item in held)


def test_outcomes_carry_the_counts_and_figures_of_the_source(
    lower: dict[str, Any], delivered: dict[str, Lines], accepted: dict[str, str], expected: dict[str, Any]
) -> None:
    factor = {"metals.csv": Decimal(1), "pcbs.csv": Decimal("0.001")}  # µg/g and ng/g in mg/kg
    for name in FILES:
        wanted = expected["files"][name]
        found = {item["source"]["row"]: item for item in every(lower) if item["source"]["file"] == name}
        assert found.keys() == delivered[name].keys()
        assert sum(not item["detected"] for item in found.values()) == wanted["nondetect"]
        without = sum(not item["detected"] and item["limit"] is None for item in found.values())
        assert without == wanted["nondetect_without_any_limit"]
        assert Counter(item["sample_kind"] for item in found.values())["field_duplicate"] == wanted["replicate_rows"]
        assert len({item["analyte"] for item in found.values()}) == wanted["distinct_analytes"]
        for row, item in found.items():
            line = delivered[name][row]
            assert item["detected"] is (line["Det_Flag"] == "1") and item["unit"] == "mg/kg"
            if item["detected"]:
                text = accepted.get(line["Result"], line["Result"])
                assert Decimal(item["value"]) == Decimal(text) * factor[name]
            else:
                given = limit(line)
                assert item["limit"] is None if given is None else Decimal(item["limit"]) == given * factor[name]
    assert len(every(lower)) == expected["summary"]["data_rows"]


def test_exceedances_are_those_of_the_source(
    lower: dict[str, Any], delivered: dict[str, Lines], expected: dict[str, Any]
) -> None:
    def wanted(line: Mapping[str, str]) -> str:
        if line["ERL"] == "NA":
            return "no_level"
        if line["Det_Flag"] == "1":
            return {"Below ERL": "does_not_exceed", "Between ERL and ERM": "exceeds"}[line["LVL"]]
        bound = limit(line)
        return "does_not_exceed" if bound is not None and bound <= Decimal(line["ERL"]) else "open"

    metals = [item for item in every(lower) if item["source"]["file"] == "metals.csv"]
    assert {item["source"]["row"]: item["outcome"] for item in metals} == {
        row: wanted(line) for row, line in delivered["metals.csv"].items()
    }
    source = expected["files"]["metals.csv"]["level_oracle"]
    assert exceeding(lower) == source["Between ERL and ERM"] == 479
    equal = [item for item in metals if item["ratio"] in ("1", "1.00") and item["detected"]]
    assert len(equal) == expected["files"]["metals.csv"]["results_exactly_equal_to_ERL"]
    assert {item["outcome"] for item in equal} == {"does_not_exceed"}
    waiting = [item for item in every(lower) if item["outcome"] == "open"]
    assert waiting and {item["because"] for item in waiting} == {"not detected, and no limit is given"}


def test_the_sign_of_the_table_decides_results_equal_to_the_level(
    screen: Callable[[str, str, str], dict[str, Any]], expected: dict[str, Any]
) -> None:
    answer = screen("ERL", "at_or_above", "2001-01-01")
    equal = expected["files"]["metals.csv"]["results_exactly_equal_to_ERL"]
    assert exceeding(answer) == 479 + equal


def test_a_portfolio_of_the_site_tells_every_outcome_alike(desk: Any, lower: dict[str, Any]) -> None:
    hold_beside(desk, ("screen", "--site", "bay", "--levels", f"{TABLE}@2000-01-01"), lower)


def test_nothing_lies_above_the_upper_level(screen: Callable[[str, str, str], dict[str, Any]]) -> None:
    assert screen("ERM", "above", "2002-01-01")["counts"]["exceeds"] == 0


def test_every_other_count_of_the_source(
    imported: dict[str, dict[str, Any]], delivered: dict[str, Lines], expected: dict[str, Any]
) -> None:
    for name in FILES:
        wanted, lines = expected["files"][name], delivered[name].values()
        assert imported[name]["rows"]["read"] == len(lines)
        for heading, key in (("Units", "units"), ("Qualifier", "qualifiers"), ("QA Qualifier", "qa_qualifiers")):
            assert Counter(line[heading] for line in lines) == wanted[key]
        assert len({line["CASRN"] for line in lines}) == wanted["distinct_cas"]
        assert (
            sum(line["Det_Flag"] == "0" and line["Result"] != "NA" for line in lines)
            == wanted["nondetect_with_a_value_in_Result"]
        )
        assert sum(line["Det_Flag"] == "1" and line["Result"] == "NA" for line in lines) == wanted["detected_without_value"] == 0
