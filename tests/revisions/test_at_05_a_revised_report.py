"""AT-05, import part: a revised report is recognised, asked about, listed against the first; the first stays readable."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from screening.cli.main import commands
from tests.conftest import Office

SAMPLES = {"CE-1": "<0.0050", "CE-2": "0.011", "CE-3": "<0.0050", "CE-4": "0.19", "CE-5": "0.074", "CE-6": "<0.0050"}


def report(office: Any, name: str, results: dict[str, str] = SAMPLES, **more: str) -> Path:
    same = {"medium": "soil", "analyte": "Benzene", "unit": "mg/kg", "basis": "dry", "lab": "25-0417", **more}
    return Path(office.deliverable(name, [{"sample_id": sample, "result": result, **same} for sample, result in results.items()]))


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> tuple[Office, dict[str, Any]]:
    office = Office(tmp_path_factory.mktemp("begun"))
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    said = office.run("import", report(office, "r0.csv"), "--site", "one", "--received", "2025-05-30")
    assert said.status == 0
    run = office.run("screen", "--site", "one", "--levels-on", "2025-06-02", "--data-on", "2025-06-02").document
    assert run["counts"]["exceeds"] == 0
    return office, {"id": said.document["deliverables"][0]["id"], "run": run}


@pytest.fixture
def first(office: Office, begun: tuple[Office, dict[str, Any]]) -> dict[str, Any]:
    office.takes(begun[0])
    return begun[1]


def bring(office: Any, path: Path, *words: str) -> Any:
    return office.run("import", path, "--site", "one", "--received", "2025-06-20", *words)


def test_unstated_it_is_asked_with_the_three_answers(office: Any, first: dict[str, Any]) -> None:
    said = bring(office, report(office, "r1.csv", {**SAMPLES, "CE-4": "0.91"}))
    assert said.status == 1
    for words in (
        "6 of its 6 values stand in r0.csv", f"--replaces {first['id']} (", f"--replaces {first['id']} --replaces-only-contents",
        "--adds",
    ):  # fmt: skip
        assert words in said.error
    assert len(office.run("results", "--site", "one").document["results"]) == 6


def test_the_difference_list_and_the_verdicts(office: Any, first: dict[str, Any]) -> None:
    said = bring(office, report(office, "r1.csv", {**SAMPLES, "CE-4": "0.91"}), "--replaces", first["id"])
    assert said.status == 0, said.error
    document = said.document["deliverables"][0]
    changes = document["changes"]
    assert document["replaces"] == first["id"]
    assert {name: changes[name] for name in ("added", "removed", "same", "waiting")} == {
        "added": 0, "removed": 0, "same": 5, "waiting": 0,
    }  # fmt: skip
    (changed,) = changes["changed"]
    assert (changed["sample_id"], changed["analyte"], changed["what"]) == ("CE-4", "Benzene", ["value"])
    assert (changed["before"]["result"], changed["after"]["result"]) == ("0.19", "0.91")
    answer = office.run("screen", "--site", "one", "--levels-on", "2025-07-01").document
    assert answer["counts"]["exceeds"] == 1
    assert answer["recommendation"]["status"] == "triggered"


def test_revision_0_stays_readable_and_its_screen_is_marked(office: Any, first: dict[str, Any]) -> None:
    bring(office, report(office, "r1.csv", {**SAMPLES, "CE-4": "0.91"}), "--replaces", first["id"])

    def benzene(*words: str) -> str:
        found = office.run("results", "--site", "one", *words).document["results"]
        assert len(found) == 6
        return str(next(item["value"] for item in found if item["sample_id"] == "CE-4"))

    assert (benzene("--data-on", "2025-06-02"), benzene()) == ("0.19", "0.91")
    run = first["run"]["run"]
    shown = office.run("runs", "show", run).document
    assert shown["stale"] is True
    assert {name: shown[name] for name in first["run"]} == first["run"]
    assert office.run("runs", "reproduce", run).document["identical"] is True
    text = CliRunner().invoke(commands(), ["--database", str(office.database), "runs", "show", run]).stdout
    assert "STALE: data changed since" in text
    told = CliRunner().invoke(commands(), ["--database", str(office.database), "runs", "show", fresh_run(office)]).stdout
    assert "STALE" not in told


def fresh_run(office: Any) -> str:
    return str(office.run("screen", "--site", "one").document["run"])


def test_only_its_contents_are_replaced(office: Any, first: dict[str, Any]) -> None:
    said = bring(office, report(office, "r1.csv", {"CE-4": "0.91"}), "--replaces", first["id"], "--replaces-only-contents")
    changes = said.document["deliverables"][0]["changes"]
    assert (len(changes["changed"]), changes["removed"]) == (1, 0)
    found = {item["sample_id"]: item["value"] for item in office.run("results", "--site", "one").document["results"]}
    assert len(found) == 6
    assert (found["CE-4"], found["CE-5"]) == ("0.91", "0.074")


def test_a_whole_revision_takes_the_partial_one_before_it_away(office: Any, first: dict[str, Any]) -> None:
    bring(office, report(office, "r1.csv", {"CE-4": "0.91"}), "--replaces", first["id"], "--replaces-only-contents")
    said = bring(office, report(office, "r2.csv", {**SAMPLES, "CE-4": "0.92"}), "--replaces", first["id"])
    assert said.status == 0, said.error
    found = office.run("results", "--site", "one", "--all").document["results"]
    assert [item["value"] for item in found if item["sample_id"] == "CE-4"] == ["0.92"]


def test_what_was_replaced_is_not_replaced_again(office: Any, first: dict[str, Any]) -> None:
    second = bring(office, report(office, "r1.csv", {**SAMPLES, "CE-4": "0.91"}), "--replaces", first["id"])
    identity = second.document["deliverables"][0]["id"]
    said = bring(office, report(office, "r2.csv", {**SAMPLES, "CE-4": "0.92"}), "--replaces", first["id"])
    assert said.status == 1
    assert f"say --replaces {identity}" in said.error


def test_a_further_analysis_of_the_same_samples_is_told_with_adds(office: Any, first: dict[str, Any]) -> None:
    said = bring(office, report(office, "r1.csv", {**SAMPLES, "CE-4": "0.91"}), "--adds")
    assert said.status == 0, said.error
    assert any("adds to" in note for note in said.document["deliverables"][0]["assumptions"])
    assert len(office.run("results", "--site", "one", "--all").document["results"]) == 12


@pytest.mark.parametrize("more", [{"analyte": "Toluene"}, {"dilution": "50"}, {"run_no": "2"}, {"sampled_at": "2025-08-01"}])
def test_ordinary_second_deliverables_pass(office: Any, first: dict[str, Any], more: dict[str, str]) -> None:
    said = bring(office, report(office, "other.csv", dict.fromkeys(SAMPLES, "0.2"), **more))
    assert said.status == 0, said.error


def test_fewer_than_half_of_the_values_pass(office: Any, first: dict[str, Any]) -> None:
    others = {f"CF-{number}": "0.1" for number in range(4)}
    assert bring(office, report(office, "other.csv", {**others, "CE-1": "0.1", "CE-2": "0.1"})).status == 0


def test_the_laboratory_s_number_shows_a_revision_under_another_sample_name(office: Any) -> None:
    office.plain_site()
    rows = {"medium": "soil", "analyte": "Benzene", "unit": "mg/kg", "basis": "dry", "lab_sample_id": "25-0417-04"}
    one = office.deliverable("one.csv", [{"sample_id": "CE-4", "result": "0.19", "sampled_at": "2025-05-06", **rows}])
    two = office.deliverable("two.csv", [{"sample_id": "CE-4A", "result": "0.19", "sampled_at": "2025-05-07", **rows}])
    assert office.run("import", one, "--site", "one").status == 0
    assert office.run("import", two, "--site", "one").status == 1


def test_added_and_removed_are_counted(office: Any, first: dict[str, Any]) -> None:
    results = {**{sample: SAMPLES[sample] for sample in ("CE-1", "CE-2", "CE-3")}, "CE-7": "0.1"}
    changes = bring(office, report(office, "r1.csv", results), "--replaces", first["id"]).document["deliverables"][0]["changes"]
    assert (changes["changed"], changes["added"], changes["removed"], changes["same"]) == ([], 1, 3, 3)


def test_words_that_contradict_each_other(office: Any, first: dict[str, Any]) -> None:
    path = report(office, "r1.csv", {**SAMPLES, "CE-4": "0.91"})
    assert bring(office, path, "--replaces", first["id"], "--adds").status == 2
    assert bring(office, path, "--replaces-only-contents").status == 2
