"""Sign-offs and the ledger: what stands, what is stale, what was withdrawn; and every way of tampering is found."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import duckdb
import pytest

from tests.conftest import Office
from tests.runs.conftest import NEW, OLD

SITE = '[site]\nid = "one"\nname = "One"\nplace = "us-oh"\n[screening]\nlevels = ["xx/made-up"]\n[conditions]\nsoil_class = "1"\n'
WHO = ("--by", "R. Lind", "--why", "closure report")


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory, add_levels: Any, soil: Any) -> Office:
    """A store with six entries: levels, a held row with the name it taught, an override, a sign-off, its withdrawal, another."""
    office = Office(tmp_path_factory.mktemp("signed"))
    add_levels(office, {"2020-01-01": OLD})
    office.site(SITE)
    rows = [soil("S-1", "0.2"), soil("S-2", "0.1", "Bensene")]
    assert office.run("import", office.deliverable("a.csv", rows), "--site", "one").status == 3
    held = office.run("held", "list", "--site", "one").document["held"][0]["id"]
    assert office.run("held", "accept", held, "--as", "Benzene", "--by", "A. Reyes", "--why", "a slip of the pen").status == 0
    words = [
        "--site",
        "one",
        "--sample",
        "S-1",
        "--analyte",
        "Benzene",
        "--as",
        "estimated",
        "--by",
        "A. Reyes",
        "--why",
        "near the limit",
    ]
    assert office.run("review", "override", *words).status == 0
    run = office.run("screen", "--site", "one").document["run"]
    assert office.run("sign-off", run, "--licence", "PG 1 (invented)", *WHO).status == 0
    assert office.run("signed-off", "withdraw", run, "--by", "R. Lind", "--why", "wrong file").status == 0
    assert office.run("sign-off", run, *WHO).status == 0
    return office


@pytest.fixture
def copy(signed: Office, tmp_path: Path) -> Office:
    """A copy of the store to do harm to."""
    office = Office(tmp_path / "copy")
    office.folder.mkdir()
    shutil.copy(signed.database, office.database)
    return office


def _run(office: Office) -> str:
    return str(office.run("runs", "list").document["runs"][0]["run"])


def test_entries_are_listed_with_who_and_why(signed: Office) -> None:
    said = signed.run("decisions", "list", "--site", "one")
    kinds = [(one["kind"], one["by"]) for one in said.document["decisions"]]
    assert kinds[0] == ("levels_added", "Nobody") and kinds[1] == ("held_accepted", "A. Reyes")
    assert kinds[-4:] == [
        ("review_override", "A. Reyes"), ("signed_off", "R. Lind"), ("sign_off_withdrawn", "R. Lind"), ("signed_off", "R. Lind"),
    ]  # fmt: skip
    text = " ".join(said.error.split())
    assert "a slip of the pen" in text and "no qualifier to estimated" in text and "sign-off withdrawn" in text
    assert len(signed.run("decisions", "list").document["decisions"]) == len(kinds)


def test_the_chain_is_whole_and_holds_a_seal_noted_elsewhere(signed: Office) -> None:
    said = signed.run("decisions", "verify")
    assert (said.status, said.document["whole"], said.document["first_broken"]) == (0, True, None)
    assert signed.run("decisions", "verify", "--holds", said.document["last_seal"][:16]).status == 0
    lost = signed.run("decisions", "verify", "--holds", "0123456789abcdef")
    assert lost.status == 3 and "no entry has the seal" in lost.document["first_broken"]["text"]


KIND = "(SELECT min(number) FROM decision WHERE kind = '{}')"


@pytest.mark.parametrize(("statement", "kind", "words"), [
    ("UPDATE decision SET why = 'another reason' WHERE kind = 'held_accepted'", "held_accepted", "does not carry the seal"),
    ("UPDATE decision SET by_whom = 'Somebody' WHERE kind = 'levels_added'", "levels_added", "does not carry the seal"),
    ("UPDATE decision SET new_text = 'usable' WHERE kind = 'review_override'", "review_override", "does not carry the seal"),
    ("UPDATE decision SET made_at = made_at - INTERVAL 1 DAY WHERE kind = 'sign_off_withdrawn'", "sign_off_withdrawn", "does not carry"),
    ("UPDATE decision SET seal = repeat('0', 64) WHERE kind = 'signed_off' AND number = " + KIND.format("signed_off"), "signed_off", "does not carry"),
    ("DELETE FROM decision WHERE kind = 'held_accepted'", None, "entry 2 is missing"),
    ("DELETE FROM decision WHERE kind IN ('review_override', 'signed_off', 'sign_off_withdrawn')", None, "is missing; run r"),
    ("UPDATE run SET answer = replace(answer, 'does_not_exceed', 'no_level')", "signed_off", "is not the one that entry"),
    ("DELETE FROM run", "signed_off", "is missing"),
])  # fmt: skip
def test_tampering_is_found_and_the_first_entry_named(
    signed: Office, copy: Office, statement: str, kind: str | None, words: str
) -> None:
    with duckdb.connect(copy.database) as connection:
        connection.execute(statement)
    said = copy.run("decisions", "verify")
    broken = said.document["first_broken"]
    assert (said.status, said.document["whole"]) == (3, False)
    assert words in broken["text"] and (broken["entry"] or {"kind": None})["kind"] == kind
    assert "BROKEN" in said.error and "copy from before" in said.error


def test_a_forged_entry_needs_the_seal_before_it(copy: Office) -> None:
    with duckdb.connect(copy.database) as connection:
        connection.execute(
            "INSERT INTO decision SELECT max(number) + 1, now()::TIMESTAMP, 'one', 'signed_off', 'r0', 'Somebody', 'why', '', '{}', repeat('a', 64) FROM decision"
        )
    assert copy.run("decisions", "verify").document["first_broken"]["entry"]["by"] == "Somebody"


def test_a_withdrawn_sign_off_stays_in_the_list(signed: Office) -> None:
    said = signed.run("signed-off", "list", "--site", "one")
    first, second = said.document["signed_off"]
    assert (first["status"], first["withdrawn"]["why"], first["licence"]) == ("withdrawn", "wrong file", "PG 1 (invented)")
    assert (said.status, second["status"], second["levels"]) == (0, "stands", ["xx/made-up@2020-01-01"])
    shown = signed.run("runs", "show", _run(signed)).document
    assert [one["status"] for one in shown["sign_offs"]] == ["withdrawn", "stands"]
    assert "signed" in signed.run("runs", "list").error


def test_the_same_person_signs_once(signed: Office) -> None:
    said = signed.run("sign-off", _run(signed), *WHO)
    assert said.status == 1 and "and that stands" in said.error
    assert signed.run("signed-off", "withdraw", "s99", *WHO).status == 1
    assert "runs list" in signed.run("sign-off", "r0", *WHO).error


def test_a_change_of_the_site_makes_it_stale_but_an_event_does_not(copy: Office) -> None:
    copy.site(SITE + "[events]\nremoved = 2025-05-06\n")
    assert copy.run("signed-off", "list").document["signed_off"][1]["status"] == "stands"
    assert copy.run("runs", "list").document["runs"][0]["stale"] is False
    copy.site(SITE.replace('soil_class = "1"', 'soil_class = "2"'))
    assert copy.run("signed-off", "list").document["signed_off"][1]["status"] == "stale: site file changed after sign-off"
    assert copy.run("runs", "list").document["runs"][0]["stale_because"] == ["site file changed since"]
    said = copy.run("sign-off", _run(copy), "--by", "Somebody", "--why", "later")
    assert said.status == 1 and "--although-stale" in said.error
    late = copy.run("sign-off", _run(copy), "--by", "Somebody", "--why", "the answer of then", "--although-stale").document[
        "sign_off"
    ]
    assert (late["status"], late["signed_although"]) == ("stands", ["site file changed since"])


def test_newer_levels_are_a_notice_and_a_decision_afterwards_makes_it_stale(copy: Office, add_levels: Any) -> None:
    run = _run(copy)
    add_levels(copy, {"2025-07-01": NEW})
    notice = "a newer version of xx/made-up is in force since 2025-07-01"
    (_, one) = copy.run("signed-off", "list").document["signed_off"]
    assert (one["status"], one["notices"]) == ("stands", [notice])
    assert notice in copy.run("runs", "show", run).document["notices"]
    explained = copy.run("explain", run, "--sample", "S-1", "--analyte", "Benzene").document
    assert (explained["stale"], explained["notices"]) == (False, [notice])
    assert f"run {run}: {notice}" in copy.run("papers", "--site", "one").document["notes"]
    words = [
        "--site",
        "one",
        "--sample",
        "S-1",
        "--analyte",
        "Benzene",
        "--as",
        "rejected",
        "--by",
        "A. Reyes",
        "--why",
        "broken bottle",
    ]
    assert copy.run("review", "override", *words).status == 0
    assert copy.run("signed-off", "list").document["signed_off"][1]["status"] == "stale: data changed after sign-off"
    assert copy.run("explain", run, "--sample", "S-1", "--analyte", "Benzene").document["stale_because"] == ["data changed since"]
    assert copy.run("runs", "reproduce", run).document["identical"] is True
