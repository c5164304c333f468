"""Whatever a deliverable holds: every row is accounted for, no order changes an outcome, nothing comes in twice."""

from __future__ import annotations

import csv
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

NO_SHRINKING = (Phase.explicit, Phase.generate)  # an example takes half a second
TEXT = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), max_size=12)
RESULTS = st.sampled_from(
    [
        "0.2",
        "0.246",
        "0.3",
        "<0.005",
        "< 0.5 U",
        "ND",
        "NA",
        "--",
        "",
        "0",
        "-1",
        "1,200",
        "1.2 J",
        "Trace",
        ">2000",
        "five",
        "1,5",
    ]
)
ROW = st.fixed_dictionaries(
    {
        "sample_id": st.sampled_from(["S1", "S2", "S3", "", "MB-1"]),
        "location": st.sampled_from(["", "L1"]),
        "sample_kind": st.sampled_from(
            ["", "field", "method blank", "surrogate", "matrix spike", "field duplicate", "who knows"]
        ),
        "medium": st.sampled_from(["soil", "Soil", "groundwater", "water", "", "cheese"]),
        "analyte": st.one_of(
            st.sampled_from(
                ["Benzene", "Toluene", "1,2-DCA", "o-Xylene", "m,p-Xylene", "Total xylenes", "unknown hydrocarbon", ""]
            ),
            TEXT,
        ),
        "cas": st.sampled_from(["", "71-43-2", "71-43-3", "1975-09-02", "108-88-3"]),
        "result": st.one_of(RESULTS, TEXT),
        "unit": st.sampled_from(["mg/kg", "ug/kg", "ug/L", "mg/L", "%", "", "ppb", "furlong"]),
        "basis": st.sampled_from(["dry", "as received", "", "?"]),
        "qualifiers": st.sampled_from(["", "J", "U", "R", "E", "Q9"]),
        "reporting_limit": st.sampled_from(["", "0.005", "<0.5", "x"]),
        "dilution": st.sampled_from(["", "1", "50", "0"]),
        "percent_solids": st.sampled_from(["", "81.0", "0", "140"]),
        "depth_top": st.sampled_from(["", "3.0", "10-12 ft", "deep"]),
        "depth_bottom": st.sampled_from(["", "2", "4"]),
        "sampled_at": st.sampled_from(["", "2025-05-06", "03/04/2025", "31.12.2025", "yesterday"]),
        "comment": TEXT,
    }
)
SETTLED = st.fixed_dictionaries(
    {
        "sample_id": st.sampled_from(["S1", "S2"]),
        "medium": st.just("soil"),
        "analyte": st.sampled_from(["Benzene", "o-Xylene", "m,p-Xylene", "Toluene"]),
        "result": st.sampled_from(["0.2", "0.21", "0.246", "0.3", "<0.005", "<0.5", "ND", "60", "1.2 J", ">0.1", "Trace"]),
        "unit": st.sampled_from(["mg/kg", "ug/kg"]),
        "qualifiers": st.sampled_from(["", "", "J", "E", "D", "R"]),
        "dilution": st.sampled_from(["1", "50"]),
        "run_no": st.sampled_from(["", "1", "2"]),
        "depth_top": st.sampled_from(["", "3.0"]),
        "method": st.sampled_from(["8260", "8021"]),
    }
).map(lambda row: {**row, **({"basis": "dry", "percent_solids": ""} if row["sample_id"] == "S1" else WET)})
WET = {"basis": "as received", "percent_solids": "81.0"}
ANALYSIS = ("sample_id", "depth_top", "analyte", "dilution", "run_no", "method")


def _analysis(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(row[key] for key in ANALYSIS)


DELIVERED = """
SELECT v.row, v.class FROM delivered AS v JOIN deliverable AS d ON d.number = v.deliverable WHERE d.site = ? ORDER BY v.row
"""


def _write(path: Path, rows: list[dict[str, str]], fields: list[str]) -> Path:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fields)
        writer.writeheader()
        writer.writerows(rows)
    return path


@settings(max_examples=5, phases=NO_SHRINKING)  # an example takes as long with many rows as with few
@given(rows=st.lists(ROW, min_size=1, max_size=48))
def test_the_account_balances(office: Any, new_site: Callable[[], str], rows: list[dict[str, str]]) -> None:
    site = new_site()
    path = _write(office.folder / "any.csv", rows, list(rows[0]))
    said = office.run("import", path, "--site", site)
    with duckdb.connect(office.database, read_only=True) as store:
        stored = store.execute(DELIVERED, [site]).fetchall()
    if said.status == 1:  # nothing but notes below the header, or decimal marks that contradict each other
        assert said.error.count("\n") == 1
        assert stored == []
        noted = not any(row["analyte"] or row["cas"] or row["result"] for row in rows)
        assert noted or "decimal comma" in said.error, said.error
        return
    assert said.status in (0, 3)
    document = said.document["deliverables"][0]
    account = document["rows"]
    parts = {key: account[key] for key in ("results", "quality_control", "held_back", "ignored")}
    assert account["read"] == sum(parts.values()) == len(rows)
    assert account["held_back"] == len(document["held_back"])
    assert [row for row, _ in stored] == list(range(2, len(rows) + 2))
    names = {"result": "results", "quality_control": "quality_control", "held": "held_back", "ignored": "ignored"}
    assert parts == {name: sum(one == key for _, one in stored) for key, name in names.items()}
    answer = office.run("screen", "--site", site).document
    assert len(answer["held_back"]) == account["held_back"]
    if account["held_back"] or not answer["outcomes"]:
        assert answer["recommendation"]["status"] != "not_triggered"


@settings(max_examples=3, phases=NO_SHRINKING)
@given(rows=st.lists(SETTLED, min_size=6, max_size=20, unique_by=_analysis), seed=st.integers(0, 2**16))
def test_no_order_changes_an_outcome(
    office: Any, new_site: Callable[[], str], outcomes: Callable[[Any], Any], rows: list[dict[str, str]], seed: int
) -> None:
    shuffled = random.Random(seed)
    answers = []
    for turn in range(2):
        site = new_site()
        fields, parts = list(rows[0]), [rows[: len(rows) // 2], rows[len(rows) // 2 :]]
        if turn:
            shuffled.shuffle(fields)
            parts = [shuffled.sample(part, len(part)) for part in parts][::-1]
        for number, part in enumerate(parts):
            assert office.run("import", _write(office.folder / f"{number}.csv", part, fields), "--site", site).status in (0, 3)
        answers.append(office.run("screen", "--site", site).document)
    assert outcomes(answers[0]) == outcomes(answers[1])
    assert answers[0]["counts"] == answers[1]["counts"]
    assert answers[0]["recommendation"]["status"] == answers[1]["recommendation"]["status"]


@settings(max_examples=3, phases=NO_SHRINKING)
@given(rows=st.lists(ROW, min_size=1, max_size=6).filter(lambda rows: any(row["analyte"] and row["result"] for row in rows)))
def test_importing_twice_changes_nothing(office: Any, new_site: Callable[[], str], rows: list[dict[str, str]]) -> None:
    site = new_site()
    path = _write(office.folder / "any.csv", rows, list(rows[0]))
    first = office.run("import", path, "--site", site).document["deliverables"][0]
    answer = office.run("screen", "--site", site).document
    copy = _write(office.folder / "the same under another name.csv", rows, list(rows[0]))
    for again in (path, copy):
        second = office.run("import", again, "--site", site).document["deliverables"][0]
        assert second["status"] == "already_imported"
        assert (second["id"], second["rows"]) == (first["id"], first["rows"])
    assert office.run("screen", "--site", site).document == answer
    assert [run["site"] for run in office.run("runs", "list").document["runs"]].count(site) == 1


SAME = {"sample_id": "S1", "medium": "soil", "analyte": "Benzene", "result": "0.21", "unit": "mg/kg", "basis": "dry"}
TIES = {
    "dry and as received": ({}, {"basis": "as received", "percent_solids": "81"}),
    "two percent solids": ({**WET}, {**WET, "percent_solids": "84.0"}),
    "with and without percent solids": ({**WET}, {"basis": "as received"}),
    "with and without a flag": ({"qualifiers": "J"}, {}),
    "two limits behind a trace": ({"result": "Trace", "reporting_limit": "0.5"}, {"result": "Trace", "reporting_limit": "0.005"}),
    "as many figures and one more": ({"result": "0.30"}, {"result": "0.3"}),
}


@pytest.fixture(scope="module")
def both_ways(desk: Any) -> list[dict[str, Any]]:
    """What the pairs say, a sample each, as written and with their rows turned round."""
    fields = [*SAME, "qualifiers", "percent_solids", "reporting_limit"]
    rows = [
        {**dict.fromkeys(fields, ""), **SAME, "sample_id": f"S{at}", **more}
        for at, pair in enumerate(TIES.values())
        for more in pair
    ]
    answers = []
    for site, part in (("written", rows), ("turned", rows[::-1])):
        assert desk.plain_site(site, more='[conditions]\nsoil_class = "1"\n').status == 0
        assert desk.run("import", _write(desk.folder / "ties.csv", part, fields), "--site", site).status == 0
        answers.append(desk.run("screen", "--site", site).document)
    return answers


@pytest.mark.parametrize("pair", TIES.values(), ids=TIES)
def test_of_two_equal_analyses_the_order_of_rows_picks_none(
    both_ways: list[dict[str, Any]], outcomes: Callable[[Any], Any], pair: tuple[dict[str, str], dict[str, str]]
) -> None:
    sample = f"S{list(TIES.values()).index(pair)}"
    told = [[one for one in outcomes(answer) if one[0] == sample] for answer in both_ways]
    assert len(told[0]) == 1 and told[0] == told[1]
