"""What a rescreen answers and refuses, the status it ends with, and the answer before that it holds against the new one."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import duckdb
import pytest

from tests.conftest import Office
from tests.rescreen.conftest import FACTS

OLD, NEW = "2015-01-01", "2025-07-01"
ROWS = "analyte,cas,medium,level,unit,soil_class,citation,transcription\n"


def _add(office: Office, name: str, versions: dict[str, str], until: str = "") -> None:
    folder: Path = office.folder / "xx" / name
    folder.mkdir(parents=True)
    days = "".join(f'[versions."{day}"]\neffective = "made up"\n{until}' for day in versions)
    (folder / "table.toml").write_text(FACTS + days, encoding="utf-8")
    for day, rows in versions.items():
        (folder / f"{day}.csv").write_text(ROWS + rows, encoding="utf-8")
        assert office.run("levels", "add", folder / f"{day}.csv", "--by", "Nobody", "--why", "a test").status == 0


def _site(office: Office, site: str, table: str, result: str, more: str = "") -> None:
    text = (
        f'[site]\nid = "{site}"\nname = "=SUM(A1) <b>{site}</b>"\nplace = "us-oh"\n[screening]\nlevels = ["xx/{table}"]\n{more}'
    )
    assert office.site(text).status == 0
    row = {
        "sample_id": f"@{site}",
        "location": f"+{site}",
        "medium": "groundwater",
        "analyte": "Benzene",
        "result": result,
        "unit": "ug/L",
    }
    assert office.run("import", office.deliverable(f"{site}.csv", [row]), "--site", site).status == 0


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Office:
    """Three sites screened on the old levels, one on a table that has ended since, one never screened (all invented)."""
    made = Office(tmp_path_factory.mktemp("questions"))
    _add(
        made,
        "made-up",
        {OLD: "Benzene,,groundwater,5,ug/L,,old rule,read\n", NEW: "Benzene,,groundwater,0.5,ug/L,,new rule,memory\n"},
    )
    _add(made, "ended", {OLD: "Benzene,,groundwater,5,ug/L,,old rule,read\n"}, "until = 2024-12-31\n")
    for site, table, result in (
        ("high", "made-up", "3"),
        ("low", "made-up", "0.2"),
        ("gone", "ended", "3"),
        ("never", "made-up", "3"),
    ):
        _site(made, site, table, result)
        if site != "never":
            said = made.run("screen", "--site", site, "--levels-on", "2020-01-01")
            assert said.document["counts"]["does_not_exceed"] == 1, said.error
    return made


@pytest.fixture
def copy(office: Office, tmp_path: Path) -> Office:
    """A copy of the store."""
    made = Office(tmp_path / "copy")
    made.folder.mkdir()
    shutil.copy(office.database, made.database)
    return made


@pytest.fixture(scope="module")
def said(office: Office) -> Any:
    """`rescreen --all` on the new levels."""
    return office.run("rescreen", "--levels-on", NEW, "--all")


def test_refused_and_unscreened_sites_are_listed_and_stop_no_other(said: Any) -> None:
    document = said.document
    assert said.status == 3 and [one["site"] for one in document["sites"]] == ["high", "low"]
    assert document["without_run"] == [{"site": "never", "reason": "no run yet; 'screening screen' makes the first"}]
    (refused,) = document["refused"]
    assert refused["site"] == "gone" and "no version in force on 2025-07-01" in refused["reason"]
    text = " ".join(said.error.split())
    assert "never: no run yet" in text and "gone: level table 'xx/ended' has no version in force" in text
    (flip,) = document["flips"]["newly_exceeds"]
    assert (flip["site"], flip["factor"], flip["tenfold"], flip["after"]["ratio"]) == ("high", "10", True, "6.00")
    assert "recalled, unverified after" in text and "TEN-FOLD" in text


def test_what_was_rescreened_is_stored(office: Office, said: Any) -> None:
    with duckdb.connect(office.database, read_only=True) as connection:
        rows = connection.execute(
            "SELECT site, before_run, run, reason FROM rescreen_site WHERE rescreen = 1 ORDER BY site"
        ).fetchall()
        (question,) = connection.execute("SELECT question FROM rescreen WHERE number = 1").fetchone() or ("",)
    assert [row[0] for row in rows] == ["gone", "high", "low", "never"] and NEW in question
    for site, before, run, reason in rows:
        assert (run is None) == bool(reason) == (site in ("gone", "never")), (site, before)


def test_nothing_flips_and_the_scheduler_sleeps_on(copy: Office) -> None:
    again = copy.run("rescreen", "--levels-on", "2021-01-01", "--site", "high", "--site", "low")
    assert (again.status, again.document["flips"], again.document["refused"]) == (0, {}, [])
    assert all(one["run"] == one["before_run"] for one in again.document["sites"])
    assert "nothing flips" in again.error


def test_a_rescreen_is_no_answer_of_a_site_until_a_person_screens(copy: Office, said: Any) -> None:
    before = {one["site"]: one for one in said.document["sites"]}
    assert copy.run("deadlines", "--site", "high", "--today", "2025-07-02").document["run"] == before["high"]["before_run"]
    again = copy.run("rescreen", "--levels-on", NEW, "--site", "high").document["sites"][0]
    assert again == before["high"], "asked again, it is held against the same answer before"
    assert copy.run("screen", "--site", "high", "--levels-on", NEW).document["run"] == before["high"]["run"]
    later = copy.run("rescreen", "--levels-on", NEW, "--site", "high")
    assert (later.status, later.document["sites"][0]["before_run"]) == (0, before["high"]["run"])


def test_data_since_revised_are_taken_where_said_and_told_where_not(copy: Office) -> None:
    row = {"sample_id": "@low", "location": "+low", "medium": "groundwater", "analyte": "Toluene", "result": "9", "unit": "ug/L"}
    new = {**row, "sample_id": "L-2", "location": "L-2", "analyte": "Benzene"}
    assert copy.run("import", copy.deliverable("more.csv", [row, new]), "--site", "low", "--received", "2024-01-05").status == 0
    kept = copy.run("rescreen", "--levels-on", "2021-01-01", "--site", "low")
    (one,) = kept.document["sites"]
    assert (kept.status, one["stale_because"], one["changes"]) == (3, ["data changed since"], [])
    assert "low: data changed since" in " ".join(kept.error.split())
    taken = copy.run("rescreen", "--levels-on", NEW, "--data-on", "2030-01-01", "--site", "low")
    (one,) = taken.document["sites"]
    assert one["stale"] is False
    assert {(change["analyte"], change["flip"], change["cause"]) for change in one["changes"]} == {
        ("Benzene", "newly_exceeds", "data"), ("Benzene", None, "level"), ("Toluene", "comparison_appeared", "data"),
    }  # fmt: skip
    chain = next(change for change in one["changes"] if change["flip"] == "newly_exceeds")
    assert (chain["causes"], chain["also"]) == (["data", "level"], ["comparison_appeared"]), (
        "9 exceeds 5 at once; then the level moved"
    )


def test_conditions_and_settings_are_those_of_the_run_before_but_for_what_is_said(copy: Office) -> None:
    (one,) = copy.run(
        "rescreen", "--levels-on", NEW, "--condition", "soil_class=2", "--setting", "missing_basis=dry", "--site", "high"
    ).document["sites"]
    shown = copy.run("runs", "show", one["run"]).document
    assert (shown["conditions"], shown["settings"]["missing_basis"]) == ({"soil_class": "2"}, "dry")
    assert shown["made_by"] == "rescreen" and shown["rescreened_on"] == [NEW]
    bad = copy.run("rescreen", "--levels-on", NEW, "--condition", "colour=red", "--site", "high", "--site", "low")
    assert bad.status == 3 and len(bad.document["refused"]) == 2
    assert "--condition colour: no table used has it" in bad.document["refused"][0]["reason"]
    none = copy.run("rescreen", "--levels-on", NEW, "--setting", "review=none", "--site", "high").document["sites"][0]
    assert any("no quality review was made" in text for text in none["warnings"])


@pytest.mark.parametrize(("words", "status", "said"), [
    (["--levels-on", NEW], 2, "say either --site ID or --all"),
    (["--levels-on", NEW, "--all", "--site", "high"], 2, "say either --site ID or --all"),
    (["--levels-on", "soon", "--all"], 2, "'soon' is no date"),
    (["--all"], 2, "--levels-on"),
    (["--levels-on", NEW, "--site", "hihg"], 1, "did you mean 'high'?"),
    (["--levels-on", NEW, "--all", "--setting", "review=publishd-criteria"], 1, "did you mean published-criteria"),
])  # fmt: skip
def test_words_that_make_no_sense(office: Office, words: list[str], status: int, said: str) -> None:
    def count() -> object:
        with duckdb.connect(office.database, read_only=True) as connection:
            return connection.execute("SELECT count(*) FROM rescreen").fetchone()

    before = count()
    answer = office.run("rescreen", *words)
    assert answer.status == status and said in answer.error and answer.document is None
    assert count() == before, "nothing is stored of what was refused"
