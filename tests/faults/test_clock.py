"""A clock set back: entries keep their order, or the command is refused with both moments and the way out."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from screening.store import clock
from screening.store.database import opened
from screening.store.ledger import decisions
from screening.store.level_texts import add_own, own_texts

ROW = {"sample_id": "S1", "medium": "soil", "analyte": "Benzene", "result": "0.1", "unit": "mg/kg", "basis": "dry"}
HELD = {**ROW, "sample_id": "S2", "analyte": "Bensene"}
WHO = ("--by", "A. Chemist", "--why", "misspelled")


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Set the machine's clock."""

    def set_to(moment: dt.datetime) -> None:
        monkeypatch.setattr(clock, "machine_clock", lambda: moment)

    return set_to


NOON = dt.datetime(2025, 6, 1, 12)


@pytest.fixture
def begun(office: Any, at: Any) -> Any:
    """An office at noon, with a deliverable of which a row waits, and a run."""
    at(NOON)
    office.plain_site(levels="us-oh/closure@2017-01-01")
    assert office.run("import", office.deliverable("a.csv", [ROW, HELD]), "--site", "one").status == 3
    assert office.run("screen", "--site", "one").status == 3
    return office


def test_a_clock_set_back_a_day_is_refused(begun: Any, at: Any) -> None:
    (held,) = begun.run("held", "list", "--site", "one").document["held"]
    levels = begun.folder / "levels.csv"
    levels.write_text("analyte,cas,medium,level,unit\nBenzene,71-43-2,soil,0.05,mg/kg\n")
    more = begun.deliverable("b.csv", [{**ROW, "sample_id": "S3"}])
    record = begun.folder / "record.csv"
    record.write_text("sample,analyses\nS1,BTEX\n")
    site = begun.folder / "site.toml"
    site.write_text(site.read_text() + "# revised\n")
    at(NOON - dt.timedelta(days=1))
    before = begun.database.read_bytes()
    for words in (
        ("import", more, "--site", "one"), ("held", "accept", held["id"], *WHO), ("held", "reject", held["id"], *WHO),
        ("levels", "add", levels, "--version", "2025-01-01"), ("custody", "add", record, "--site", "one"), ("site", "add", site),
        ("screen", "--site", "one"), ("rescreen", "--site", "one", "--levels-on", "2025-01-01"),
        ("review", "override", "--site", "one", "--sample", "S1", "--analyte", "benzene", "--as", "estimated", *WHO),
    ):  # fmt: skip
        said = begun.run(*words)
        assert said.status == 1, words
        assert "clock of this machine says 2025-05-31 12:00 UTC" in said.error and "of 2025-06-01 12:00 UTC" in said.error
        assert "decisions clock-is-right" in said.error
    assert begun.database.read_bytes() == before
    assert begun.run("results", "--site", "one").status == 0  # what only reads goes on


def test_clocks_that_differ_by_minutes_keep_the_order(begun: Any, at: Any) -> None:
    (held,) = begun.run("held", "list", "--site", "one").document["held"]
    at(NOON - dt.timedelta(minutes=9))
    assert begun.run("held", "accept", held["id"], *WHO).status == 0
    with opened(begun.database) as store:
        assert {one.made_at for one in decisions(store)} == {NOON}


def test_entries_of_a_wrong_clock_are_settled_by_a_named_person(begun: Any, at: Any) -> None:
    at(NOON + dt.timedelta(days=40_000))
    assert begun.run("import", begun.deliverable("b.csv", [{**ROW, "sample_id": "S3"}]), "--site", "one").status == 0
    at(NOON + dt.timedelta(days=1))
    more = begun.deliverable("c.csv", [{**ROW, "sample_id": "S4"}])
    assert "of 2134-12-07 12:00 UTC" in begun.run("import", more, "--site", "one").error
    assert begun.run("decisions", "clock-is-right", "--by", "", "--why", "").status == 1
    assert begun.run("decisions", "clock-is-right", "--by", "A. Chemist", "--why", "battery was flat").status == 0
    assert begun.run("import", more, "--site", "one").status == 0
    assert begun.run("decisions", "verify").document["whole"]
    assert begun.run("doctor").document["sound"]
    said = begun.run("decisions", "clock-is-right", "--by", "A. Chemist", "--why", "again")
    assert said.status == 1 and "nothing to settle" in said.error
    at(NOON)  # and a clock set back against the entries since is refused as before
    assert begun.run("import", begun.deliverable("d.csv", [{**ROW, "sample_id": "S5"}]), "--site", "one").status == 1


def test_own_levels_added_last_count_whatever_the_clock_says(tmp_path: Path, at: Any) -> None:
    with opened(tmp_path / "store.duckdb", create=True) as store:
        for minutes, text in ((0, "a"), (-5, "b"), (-5, "c"), (-9, "a")):
            at(NOON + dt.timedelta(minutes=minutes))
            add_own(store, "own/levels", "2025-01-01", text * 64, "facts", text)
            assert own_texts(store)["own/levels"][1]["2025-01-01"] == text
