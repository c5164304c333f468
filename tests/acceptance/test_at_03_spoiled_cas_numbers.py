"""AT-03: CAS numbers that a spreadsheet spoiled are held with a proposal, and a person's decision is on record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest

from screening.vocabulary.analytes import Vocabulary
from tests.conftest import Office

ROWS = [
    ("Dichloromethane", "1975-09-02"), ("Methoxychlor", "2-43-5"), ("Arsenic", "744038-2"),
    ("Benzo[a]pyrene", "50-32-8"), ("1,2-DCA", ""),
]  # fmt: skip
BENZOPYRENE = Vocabulary.load().identify("Benzo(a)pyrene", "").analyte


@pytest.fixture(scope="module", params=["csv", "xlsx with a date cell"])
def begun(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, workbook: Callable[..., Path]
) -> tuple[Office, dict[str, Any]]:
    """The import and its document; in the xlsx the first CAS number is a date, as a spreadsheet leaves it."""
    office = Office(tmp_path_factory.mktemp("begun"))
    office.plain_site()
    same = {"sample_id": "CE-1", "medium": "soil", "result": "0.02", "unit": "mg/kg", "basis": "dry"}
    rows = [{**same, "analyte": name, "cas": cas} for name, cas in ROWS]
    if request.param == "csv":
        path = office.deliverable("cas.csv", rows)
    else:
        cells = [list(rows[0]), *(list(row.values()) for row in rows)]
        cells[1][-1] = dt.date(1975, 9, 2)
        path = workbook("cas.xlsx", cells)
    said = office.run("import", path, "--site", "one")
    assert said.status == 3
    return office, dict(said.document["deliverables"][0])


@pytest.fixture
def document(office: Office, begun: tuple[Office, dict[str, Any]]) -> dict[str, Any]:
    """The document, and the store as a test's own."""
    office.takes(begun[0])
    return begun[1]


def test_three_rows_are_held_with_proposals(document: dict[str, Any]) -> None:
    assert document["rows"] == {"read": 5, "results": 2, "quality_control": 0, "held_back": 3, "ignored": 0}
    held = {item["row"]: item for item in document["held_back"]}
    assert sorted(held) == [2, 3, 6]
    assert (held[2]["text"], held[2]["proposal"]) == ("1975-09-02", "75-09-2")
    assert (held[3]["text"], held[3]["proposal"]) == ("2-43-5", "72-43-5")
    assert "check digit" in held[3]["reason"]
    assert "7" in held[3]["reason"] and "5" in held[3]["reason"]
    assert (held[6]["text"], held[6]["field"]) == ("1,2-DCA", "analyte")
    assert "1,2-Dichloroethane" in held[6]["proposal"]


def test_lost_hyphens_are_restored_with_a_note(document: dict[str, Any], office: Any) -> None:
    results = {item["analyte"]: item for item in office.run("results", "--site", "one").document["results"]}
    assert results["Arsenic"]["cas"] == "7440-38-2"
    assert any("hyphens restored" in note for note in document["assumptions"])
    assert results[BENZOPYRENE]["cas"] == "50-32-8"


def test_no_held_row_is_screened_before_it_is_accepted(document: dict[str, Any], office: Any) -> None:
    answer = office.run("screen", "--site", "one").document
    assert {item["analyte"] for item in answer["outcomes"]} == {"Arsenic", BENZOPYRENE}
    assert len(answer["held_back"]) == 3
    assert answer["recommendation"]["status"] == "undetermined"


def test_accepting_leaves_name_time_old_and_new_text(document: dict[str, Any], office: Any) -> None:
    held = {item["row"]: item["id"] for item in document["held_back"]}
    before = dt.datetime.now(dt.UTC).replace(tzinfo=None, microsecond=0)
    for row in (2, 3):
        said = office.run("held", "accept", held[row], "--by", "M. Okafor", "--why", "name and report agree")
        assert said.status == 0, said.error
    with duckdb.connect(office.database, read_only=True) as store:
        log = store.execute("SELECT by_whom, why, old_text, new_text, made_at FROM decision ORDER BY number").fetchall()
    assert [entry[:4] for entry in log] == [
        ("M. Okafor", "name and report agree", "1975-09-02", "75-09-2"),
        ("M. Okafor", "name and report agree", "2-43-5", "72-43-5"),
    ]
    assert all(entry[4] >= before for entry in log)
    answer = office.run("screen", "--site", "one").document
    assert len(answer["held_back"]) == 1
    assert {(item["analyte"], item["cas"]) for item in answer["outcomes"]} >= {
        ("Methylene chloride", "75-09-2"), ("Methoxychlor", "72-43-5"),
    }  # fmt: skip
    assert "1,2-Dichloroethane" not in {item["analyte"] for item in answer["outcomes"]}


def test_the_delivered_text_stays(document: dict[str, Any], office: Any) -> None:
    held = document["held_back"][0]
    office.run("held", "accept", held["id"], "--by", "M. Okafor", "--why", "name and report agree")
    with duckdb.connect(office.database, read_only=True) as store:
        texts = store.execute("SELECT cas FROM delivered ORDER BY row").fetchall()
    assert [text for (text,) in texts] == [cas for _, cas in ROWS]
