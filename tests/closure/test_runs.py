"""Runs keep the rules of closure they used: made again after the folder changed, and as they were before rules were joined."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from screening.closure.library import Library
from screening.decision.answer import Texts, answer_to, dump
from screening.decision.request import JOINS_COVERAGE
from screening.decision.runs import stored
from screening.levels.versions import standards_folder
from screening.store.database import opened
from screening.store.level_texts import kept_standards
from screening.store.snapshot import load

SITE = """
[site]
id = "one"
name = "One"
place = "us-mt"
[screening]
levels = ["us-oh/closure@2017-01-01"]
[[tank]]
id = "T1"
capacity_gal = 5000
product = "gasoline"
[[location]]
id = "A"
component = "T1"
[field]
groundwater_met = false
signs = ["odour"]
"""


@pytest.fixture
def run(office: Any) -> str:
    """A run with one clean sample where Montana asks for two."""
    assert office.site(SITE).status == 0
    row = {
        "sample_id": "A",
        "location": "A",
        "medium": "soil",
        "analyte": "Benzene",
        "result": "0.01",
        "unit": "mg/kg",
        "basis": "dry",
    }
    assert office.run("import", office.deliverable("a.csv", [row]), "--site", "one").status == 0
    return str(office.run("screen", "--site", "one").document["run"])


def test_the_rule_files_used_are_in_the_request_with_their_hashes(office: Any, run: str) -> None:
    with opened(office.database) as connection:
        request, _, _ = stored(connection, run)
        kept = dict(connection.execute("SELECT kind || '/' || name, sha256 FROM rule_text").fetchall())
    beside = ("deadlines/", "papers/", "safety/")
    deciding = {name: sha256 for name, sha256 in kept.items() if not name.startswith(beside)}
    assert {f"{used.kind}/{used.name}": used.sha256 for used in request.rule_files} == deciding
    assert {"deadlines/us/closure", "papers/general/practice"} <= set(kept)
    assert {"sampling/us-mt/closure", "sampling/general/practice", "signs/us/closure"} <= set(kept)


def test_a_run_outlives_the_folder_of_rules(office: Any, run: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The rules on disk are gone; what the store keeps is enough."""
    monkeypatch.setattr("screening.decision.runs.standards_folder", lambda: tmp_path)
    assert office.run("runs", "reproduce", run).document == {"run": run, "identical": True, "differences": []}


def test_another_text_of_a_rule_is_another_run(office: Any, run: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A rule changed to one sample (invented) gives another run, and the old one stays what it was."""
    for kind in ("sampling", "products", "signs"):
        for path in (Path(__file__).resolve().parents[2] / "standards" / kind).glob("*/*.toml"):
            to = tmp_path / kind / path.parent.name / path.name
            to.parent.mkdir(parents=True, exist_ok=True)
            text = path.read_text(encoding="utf-8")
            to.write_text(text.replace("number = 2", "number = 1") if path.parent.name == "us-mt" else text, encoding="utf-8")
    shutil.copytree(standards_folder() / "review", tmp_path / "review")
    monkeypatch.setattr("screening.decision.runs.standards_folder", lambda: tmp_path)
    later = office.run("screen", "--site", "one").document
    assert later["run"] != run and not later["coverage"]["requirements"][0]["missing"]
    assert office.run("runs", "reproduce", run).document["identical"] is True


def test_a_run_made_before_the_rules_were_joined_stays_what_it_was(office: Any, run: str) -> None:
    with opened(office.database) as connection:
        request, snapshot, answer = stored(connection, run)
        old = replace(request, rules=JOINS_COVERAGE - 1, rule_files=(), sampling=(), review=None)
        load(connection, snapshot)
        before = answer_to(connection, Texts(kept_standards(connection, old.levels), Library(None), None), old, snapshot)
        assert "coverage" not in before and before["recommendation"]["status"] == "not_triggered"
        assert answer["recommendation"]["status"] == "undetermined"
        kept = json.loads(connection.execute("SELECT request FROM run WHERE id = ?", [run]).fetchone()[0])  # type: ignore[index]
        for key in ("rule_files", "sampling", "review"):  # as runs were stored then
            del kept[key]
        values = [old.run_id, 99, "one", dt.datetime(2025, 1, 1), dump({**kept, "rules": 1}), dump(before)]
        connection.execute("INSERT INTO run VALUES (?, ?, ?, ?, ?, ?)", values)
    assert office.run("runs", "reproduce", old.run_id).document["identical"] is True
