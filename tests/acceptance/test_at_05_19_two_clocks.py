"""AT-05 and AT-19: a revised report arrives and a level changes; every earlier answer stays what it was."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from screening.cli.main import commands
from tests.conftest import Office

SAMPLES = {"CE-1": "<0.0050", "CE-2": "0.011", "CE-3": "<0.0050", "CE-4": "0.19", "CE-5": "0.074", "CE-6": "<0.0050"}
HELD_THEN, REVISED, LATER = "2025-06-02", "2025-07-01", "2026-02-01"


def _report(office: Any, name: str, benzene_of_ce_4: str) -> Path:
    return Path(
        office.deliverable(
            name,
            [
                {
                    "sample_id": sample, "medium": "soil", "analyte": "Benzene",
                    "result": benzene_of_ce_4 if sample == "CE-4" else result, "unit": "mg/kg", "basis": "dry",
                }
                for sample, result in SAMPLES.items()
            ],
        )
    )  # fmt: skip


Begun = tuple[Office, dict[str, Any]]


@pytest.fixture(scope="module")
def with_first(tmp_path_factory: pytest.TempPathFactory) -> Begun:
    office = Office(tmp_path_factory.mktemp("first"))
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    said = office.run("import", _report(office, "25-0417-r0.csv", "0.19"), "--site", "one", "--received", "2025-05-30")
    assert said.status == 0
    deliverable = said.document["deliverables"][0]["id"]
    said = office.run("screen", "--site", "one", "--levels-on", HELD_THEN, "--data-on", HELD_THEN)
    assert said.status == 0
    return office, {"deliverable": deliverable, "answer": said.document}


@pytest.fixture(scope="module")
def with_revised(tmp_path_factory: pytest.TempPathFactory, with_first: Begun) -> Begun:
    office, first = Office(tmp_path_factory.mktemp("revised")).takes(with_first[0]), with_first[1]
    path = _report(office, "25-0417-r1.csv", "0.91")
    said = office.run("import", path, "--site", "one", "--received", "2025-06-20", "--replaces", first["deliverable"])
    assert said.status == 0, said.error
    return office, {**first, "second": said.document["deliverables"][0]}


@pytest.fixture(scope="module")
def with_later(tmp_path_factory: pytest.TempPathFactory, with_revised: Begun) -> Begun:
    office = Office(tmp_path_factory.mktemp("later")).takes(with_revised[0])
    path = office.deliverable(
        "2026-01-01.csv",
        [{"analyte": "Benzene", "cas": "71-43-2", "medium": "soil", "level": "0.150", "unit": "mg/kg", "soil_class": "1"}],
    )
    said = office.run(
        "levels", "add", path, "--table", "us-oh/closure", "--version", "2026-01-01", "--by", "R. Lind", "--why", "test"
    )
    assert said.status == 0, said.error
    return office, with_revised[1]


@pytest.fixture
def first(office: Office, with_first: Begun) -> dict[str, Any]:
    """Revision 0, received 2025-05-30, screened with levels and data of 2025-06-02."""
    office.takes(with_first[0])
    return with_first[1]


@pytest.fixture
def revised(office: Office, with_revised: Begun) -> dict[str, Any]:
    """Revision 1 replaces revision 0 entirely on 2025-06-20."""
    office.takes(with_revised[0])
    return with_revised[1]


@pytest.fixture
def later(office: Office, with_later: Begun) -> dict[str, Any]:
    """A new version of the level table (invented) in force from 2026-01-01."""
    office.takes(with_later[0])
    return with_later[1]


def test_the_screen_of_revision_0_has_no_exceedance(first: dict[str, Any], find: Any) -> None:
    answer = first["answer"]
    assert (answer["counts"]["exceeds"], answer["counts"]["does_not_exceed"]) == (0, 6)
    assert answer["recommendation"]["status"] == "not_triggered"
    assert find(answer, "CE-4", "Benzene")["value"] == "0.19"


def test_an_exact_replacement_changes_one_value(office: Any, revised: dict[str, Any], find: Any) -> None:
    said = office.run("screen", "--site", "one", "--levels-on", REVISED)
    assert said.status == 3
    answer = said.document
    assert (answer["counts"]["exceeds"], answer["counts"]["does_not_exceed"]) == (1, 5)
    item = find(answer, "CE-4", "Benzene")
    assert (item["value"], item["level"], item["outcome"]) == ("0.91", "0.246", "exceeds")
    assert answer["recommendation"]["status"] == "triggered"
    changes = office.run("compare", revised["answer"]["run"], answer["run"]).document["changes"]
    assert [(change["sample_id"], change["before"]["value"], change["after"]["value"]) for change in changes] == [
        ("CE-4", "0.19", "0.91")
    ]


@pytest.mark.parametrize(("soil_class", "level", "outcome"), [
    ("1", "0.246", "exceeds"), ("2", "0.437", "exceeds"), ("3", "1.63", "does_not_exceed"),
])  # fmt: skip
def test_above_class_2_and_not_above_class_3(
    office: Any, revised: dict[str, Any], find: Any, soil_class: str, level: str, outcome: str
) -> None:
    answer = office.run("screen", "--site", "one", "--levels-on", REVISED, "--condition", f"soil_class={soil_class}").document
    item = find(answer, "CE-4", "Benzene")
    assert (item["level"], item["outcome"]) == (level, outcome)


def test_the_old_screen_is_stale_and_still_readable(office: Any, revised: dict[str, Any], find: Any) -> None:
    run = revised["answer"]["run"]
    listed = {item["run"]: item for item in office.run("runs", "list").document["runs"]}
    assert listed[run]["stale"] is True
    shown = office.run("runs", "show", run).document
    assert {key: shown[key] for key in revised["answer"]} == revised["answer"]
    assert (shown["stale"], shown["stale_because"]) == (True, ["data changed since"])
    assert find(shown, "CE-4", "Benzene")["value"] == "0.19"
    assert shown["counts"]["exceeds"] == 0
    assert office.run("runs", "reproduce", run).document["identical"] is True


@pytest.mark.parametrize(("levels_on", "data_on", "value", "level", "outcome"), [
    (HELD_THEN, HELD_THEN, "0.19", "0.246", "does_not_exceed"),
    (HELD_THEN, REVISED, "0.91", "0.246", "exceeds"),
    (LATER, HELD_THEN, "0.19", "0.150", "exceeds"),
    (LATER, LATER, "0.91", "0.150", "exceeds"),
])  # fmt: skip
def test_levels_on_one_day_and_data_as_known_on_another(
    office: Any, later: dict[str, Any], find: Any, levels_on: str, data_on: str, value: str, level: str, outcome: str
) -> None:
    answer = office.run("screen", "--site", "one", "--levels-on", levels_on, "--data-on", data_on).document
    item = find(answer, "CE-4", "Benzene")
    assert (item["value"], item["level"], item["outcome"]) == (value, level, outcome)


def test_the_same_question_gives_the_same_bytes(office: Any, later: dict[str, Any]) -> None:
    words = ["--json", "--database", str(office.database), "screen", "--site", "one", "--levels-on", HELD_THEN]
    once, again = (CliRunner().invoke(commands(), [*words, "--data-on", HELD_THEN]) for _ in range(2))
    assert once.stdout == again.stdout
    assert json.loads(once.stdout) == later["answer"]
    run = later["answer"]["run"]
    assert office.run("runs", "reproduce", run).document == {"run": run, "identical": True, "differences": []}
    assert len(office.run("runs", "list").document["runs"]) == 1


def test_each_difference_has_its_cause(office: Any, later: dict[str, Any]) -> None:
    def screened(levels_on: str, data_on: str) -> str:
        return str(office.run("screen", "--site", "one", "--levels-on", levels_on, "--data-on", data_on).document["run"])

    one, two, three = screened(HELD_THEN, HELD_THEN), screened(HELD_THEN, REVISED), screened(LATER, HELD_THEN)
    by_data = office.run("compare", one, two).document["changes"]
    assert [(change["sample_id"], change["cause"]) for change in by_data] == [("CE-4", "data")]
    by_level = office.run("compare", one, three).document["changes"]
    assert {change["cause"] for change in by_level} == {"level"}
    ce_4 = next(change for change in by_level if change["sample_id"] == "CE-4")
    assert (ce_4["before"]["outcome"], ce_4["after"]["outcome"]) == ("does_not_exceed", "exceeds")
    four = screened(LATER, LATER)
    both = office.run("compare", one, four)
    ce_4 = next(change for change in both.document["changes"] if change["sample_id"] == "CE-4")
    assert (ce_4["cause"], ce_4["causes"]) == ("data", ["data", "level"]), "0.91 exceeds 0.246 already; then the level moved"
    assert [step["after"]["level"] for step in ce_4["chain"]] == ["0.246", "0.150"]
    assert "data revised, then level changed" in " ".join(both.error.split())
