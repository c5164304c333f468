"""AT-08: custody record, plan and report disagree; what was asked and did not come is never passed over."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from screening.cli.main import commands

PLAN = "".join(f'[[location]]\nid = "EL-{number}"\n' for number in range(1, 9))
DELIVERED = ["EL-1", "EL-2", "EL-3", "EL-4", "EL-5", "EL-6", "EL7", "EL-9"]
VOLATILES = ["Benzene", "Toluene", "Naphthalene"]


def report(office: Any, name: str = "report.csv", samples: list[str] = DELIVERED) -> Path:
    """VOC on all samples, PAH on EL-4; everything below its limit."""
    same = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "result": "<0.0010"}
    rows = [{"sample_id": sample, "analyte": analyte, **same} for sample in samples for analyte in VOLATILES]
    if "EL-4" in samples:
        rows += [{"sample_id": "EL-4", "analyte": "Anthracene", **same}]
    return Path(office.deliverable(name, rows))


@pytest.fixture
def imported(office: Any) -> Any:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n' + PLAN)
    record = office.deliverable(
        "custody.csv",
        [
            {
                "Sample": f"EL-{number}", "Analyses asked for": "VOC, PAH" if number in (4, 7) else "VOC",
                "Collected": "2025-05-06", "Depth": "12.5", "Medium": "soil",
            }
            for number in range(1, 9)
        ],
    )  # fmt: skip
    said = office.run("custody", "add", record, "--site", "one")
    assert said.status == 0, said.error
    assert (said.document["custody"]["samples"], said.document["custody"]["sample_analyses"]) == (8, 10)
    said = office.run("import", report(office), "--site", "one")
    assert said.status == 3, said.error
    return said.document["deliverables"][0]


def test_the_five_counts(office: Any, imported: Any) -> None:
    said = office.run("custody", "match", "--site", "one")
    assert said.status == 3
    match = said.document["match"]
    assert match["counts"] == {"asked": 10, "delivered": 7, "waiting": 1, "missing": 2, "unasked": 1}
    assert match["never_delivered"] == [{"sample": "EL-8", "on": "custody record and plan"}]
    assert match["missing"] == [{"sample": "EL-7", "analysis": "PAH"}, {"sample": "EL-8", "analysis": "VOC"}]
    assert match["waiting"] == [{"sample": "EL-7", "analysis": "VOC"}]
    assert match["unasked"] == [{"sample": "EL-9", "analysis": "VOC"}]
    assert match["near_names"] == [{"delivered": "EL7", "proposed": "EL-7"}]
    assert match["on_neither"] == ["EL-9"]


def test_the_strangers_are_held(imported: Any) -> None:
    assert imported["rows"] == {"read": 25, "results": 19, "quality_control": 0, "held_back": 6, "ignored": 0}
    held = {(row["text"], row["field"], row["proposal"]) for row in imported["held_back"]}
    assert held == {("EL7", "sample_id", "EL-7"), ("EL-9", "sample_id", "")}
    assert "on neither custody record nor plan" in imported["held_back"][0]["reason"]


def test_nothing_of_el_7_is_screened_before_acceptance(office: Any, imported: Any) -> None:
    answer = office.run("screen", "--site", "one").document
    assert {item["sample_id"] for item in answer["outcomes"]} == {f"EL-{number}" for number in range(1, 7)}
    assert answer["recommendation"]["status"] == "undetermined"
    gaps = [item["text"] for item in answer["recommendation"]["open_items"] if item["kind"] == "gap"]
    assert any("EL-8" in text and "never delivered" in text for text in gaps)
    assert any("PAH" in text and "EL-7" in text for text in gaps)


def test_all_like_it_are_accepted_in_one_act_and_the_verdict_waits_for_what_is_missing(office: Any, imported: Any) -> None:
    row = next(row for row in imported["held_back"] if row["text"] == "EL7")
    said = office.run("held", "accept", row["id"], "--by", "R. Lind", "--why", "field notes", "--all-like-it")
    assert said.status == 0, said.error
    assert len(said.document["held"]) == 3
    other = next(row for row in imported["held_back"] if row["text"] == "EL-9")
    said = office.run("held", "reject", other["id"], "--by", "R. Lind", "--why", "another site's", "--all-like-it")
    assert len(said.document["held"]) == 3
    assert office.run("held", "list", "--site", "one").document["held"] == []
    match = office.run("custody", "match", "--site", "one").document["match"]
    assert match["counts"] == {"asked": 10, "delivered": 8, "waiting": 0, "missing": 2, "unasked": 0}
    answer = office.run("screen", "--site", "one").document
    assert {item["location"] for item in answer["outcomes"] if item["sample_id"] == "EL-7"} == {"EL-7"}
    assert answer["counts"]["open"] == 0
    assert answer["counts"]["exceeds"] == 0
    assert answer["recommendation"]["status"] == "undetermined"
    run = answer["run"]
    assert office.run("runs", "reproduce", run).document["identical"] is True


def test_once_everything_came_the_data_decide(office: Any, imported: Any) -> None:
    for text, verb, more in (("EL7", "accept", []), ("EL-9", "reject", [])):
        row = next(row for row in imported["held_back"] if row["text"] == text)
        assert office.run("held", verb, row["id"], "--by", "R", "--why", "w", "--all-like-it", *more).status == 0
    assert office.run("import", report(office, "el8.csv", ["EL-8"]), "--site", "one").status == 0
    same = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "result": "<0.0010"}
    late = office.deliverable("pah.csv", [{"sample_id": "EL-7", "analyte": "Pyrene", **same}])
    assert office.run("import", late, "--site", "one").status == 0
    said = office.run("custody", "match", "--site", "one")
    assert said.status == 0
    assert said.document["match"]["counts"] == {"asked": 10, "delivered": 10, "waiting": 0, "missing": 0, "unasked": 0}
    answer = office.run("screen", "--site", "one").document
    assert not [item for item in answer["recommendation"]["open_items"] if item["kind"] == "gap"]


def test_the_match_is_told_in_people_s_words(office: Any, imported: Any) -> None:
    shown = CliRunner().invoke(commands(), ["--database", str(office.database), "custody", "match", "--site", "one"])
    assert shown.exit_code == 3
    assert "EL7 may be EL-7" in shown.stdout
    assert "EL-8 (on custody record and plan)" in shown.stdout
