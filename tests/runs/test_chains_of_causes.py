"""Two runs between which everything changed: each outcome is laid to what changed it, one change at a time (all invented)."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from screening.store.database import opened
from tests.conftest import Office
from tests.runs.conftest import NEW, OLD

SITE = '[site]\nid = "one"\nname = "One"\nplace = "us-oh"\n[screening]\nlevels = ["xx/made-up"]\n[conditions]\nsoil_class = "{soil_class}"\n'
REVIEW = Path(__file__).resolve().parents[2] / "standards" / "review" / "published-criteria"


@pytest.fixture(scope="module")
def compared(tmp_path_factory: pytest.TempPathFactory, add_levels: Any, soil: Any) -> dict[str, Any]:
    """The comparison of a run with a later one on other data, levels, conditions, settings, review criteria and program."""
    office = Office(tmp_path_factory.mktemp("chains"))
    house = Path(shutil.copytree(REVIEW, office.folder / "house"))
    add_levels(office, {"2020-01-01": OLD})
    office.site(SITE.format(soil_class="1"))
    water = {
        "sample_id": "EDITION", "location": "EDITION", "medium": "groundwater", "analyte": "Benzene", "result": "<0.4", "unit": "ug/L",
        "sampled_at": "2025-05-01", "analysed_at": "2025-05-17",
    }  # fmt: skip
    rows = [
        soil("LEVEL", "0.2"), soil("CONDITION", "7", "Naphthalene"), soil("SETTING", "0.01", basis=""), soil("SOFTWARE", "0.02"), water,
        soil("NOTHING", "0.03", "Toluene"),
    ]  # fmt: skip
    revised = {"DATA": ("0.1", "0.9"), "BOTH": ("0.1", "0.2"), "BACK": ("0.3", "0.2")}
    assert office.run("import", office.deliverable("all.csv", rows), "--site", "one").status == 0
    first = office.deliverable("r0.csv", [soil(sample, old) for sample, (old, _) in revised.items()])
    number = office.run("import", first, "--site", "one").document["deliverables"][0]["id"]
    before = office.run("screen", "--site", "one", "--setting", f"review={house}").document["run"]
    with opened(office.database) as connection:  # as if an earlier version had made the run and judged a sample otherwise
        connection.execute("UPDATE run_asked SET software = '0.0.9' WHERE run = ?", [before])
        text = connection.execute("SELECT answer FROM run WHERE id = ?", [before]).fetchone()[0]  # type: ignore[index]
        answer = json.loads(text)
        for item in answer["outcomes"]:
            if item["sample_id"] == "SOFTWARE":
                item["outcome"] = "open"
        connection.execute("UPDATE run SET answer = ? WHERE id = ?", [json.dumps(answer), before])
    second = office.deliverable("r1.csv", [soil(sample, new) for sample, (_, new) in revised.items()])
    assert office.run("import", second, "--site", "one", "--replaces", number).status == 0
    add_levels(office, {"2025-07-01": NEW})
    criteria = house / "criteria" / "holding_times.csv"
    text = criteria.read_text(encoding="utf-8")
    assert "BTEX,,water,,collection > analysis 14 d" in text
    criteria.write_text(text.replace("collection > analysis 14 d", "collection > analysis 21 d"), encoding="utf-8")
    office.site(SITE.format(soil_class="2"))
    words = ["--setting", f"review={house}", "--setting", "missing_basis=dry", "--levels-on", "2025-08-01"]
    after = office.run("screen", "--site", "one", *words).document["run"]
    said = office.run("compare", before, after)
    assert said.status == 0, said.error
    return {"document": said.document, "text": said.error, "before": before, "after": after, "office": office}


@pytest.fixture(scope="module")
def changes(compared: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The changes by sample."""
    return {one["sample_id"]: one for one in compared["document"]["changes"]}


@pytest.mark.parametrize("cause", ["data", "level", "condition", "setting", "edition", "software"])
def test_each_cause_has_its_sample(changes: dict[str, dict[str, Any]], cause: str) -> None:
    one = changes[cause.upper()]
    moved = [step["causes"] for step in one["chain"] if step["before"]["outcome"] != step["after"]["outcome"]]
    assert one["cause"] == cause and moved == [[cause]]


def test_a_chain_of_two_steps_is_shown_as_a_chain(changes: dict[str, dict[str, Any]]) -> None:
    one = changes["BOTH"]
    assert (one["cause"], one["causes"]) == ("level", ["data", "level"]), "0.2 does not exceed 0.246 and exceeds 0.150"
    assert [(step["after"]["value"], step["after"]["level"], step["after"]["outcome"]) for step in one["chain"]] == [
        ("0.2", "0.246", "does_not_exceed"), ("0.2", "0.150", "exceeds"),
    ]  # fmt: skip


def test_an_outcome_that_turned_and_turned_back_is_laid_to_the_data_and_the_level(changes: dict[str, dict[str, Any]]) -> None:
    one = changes["BACK"]
    assert (one["before"]["outcome"], one["after"]["outcome"], one["flip"]) == ("exceeds", "exceeds", None)
    assert [step["after"]["outcome"] for step in one["chain"]] == ["does_not_exceed", "exceeds"]
    assert one["causes"] == ["data", "level"]


def test_what_did_not_change_is_not_named(changes: dict[str, dict[str, Any]]) -> None:
    assert "NOTHING" not in changes and len(changes) == 8


def test_counts_and_chains_add_up(compared: dict[str, Any], changes: dict[str, dict[str, Any]]) -> None:
    document = compared["document"]
    assert sum(document["counts"].values()) == sum(one["changes"] for one in document["chains"]) == len(changes)
    assert document["counts"]["condition"] == document["counts"]["edition"] == 1
    assert {"causes": ["data", "level"], "changes": 3} in document["chains"]


def test_what_differs_is_told_in_words(compared: dict[str, Any]) -> None:
    told = {one["cause"]: one["text"] for one in compared["document"]["differs_in"]}
    assert list(told) == ["data", "level", "condition", "setting", "edition", "software"]
    assert told["data"] == "with r1.csv in place of r0.csv"
    assert told["level"] == "xx/made-up@2020-01-01 to xx/made-up@2025-07-01"
    assert told["condition"] == "soil_class: 1 to 2; the site file was revised"
    assert told["setting"] == "missing_basis: open to dry"
    assert told["software"].startswith("version 0.0.9 to ")
    text = " ".join(compared["text"].split())
    assert "data revised, then level changed" in text and "STALE: data changed since, site file changed since" in text


def test_sides_carry_the_level_and_where_it_stands(changes: dict[str, dict[str, Any]]) -> None:
    for side, level, version in (("before", "0.246", "2020-01-01"), ("after", "0.150", "2025-07-01")):
        one = changes["LEVEL"][side]
        assert (one["level"], one["level_normal"], one["version"], one["transcription"]) == (
            level,
            level.rstrip("0"),
            version,
            "read",
        )
        assert one["citation"] == "made up"


def test_the_same_run_twice_differs_in_nothing(compared: dict[str, Any]) -> None:
    document = compared["office"].run("compare", compared["after"], compared["after"]).document
    assert (document["changes"], document["differs_in"], document["counts"]) == ([], [], {})


def test_runs_of_two_sites_are_not_compared(compared: dict[str, Any], soil: Any) -> None:
    office = compared["office"]
    office.plain_site("two", levels="xx/made-up")
    assert office.run("import", office.deliverable("two.csv", [soil("T", "0.1")]), "--site", "two").status == 0
    other = office.run("screen", "--site", "two").document["run"]
    said = office.run("compare", compared["before"], other)
    assert said.status == 1 and "of the sites 'one' and 'two'" in said.error
