"""The doctor: every law of the store broken once (damage invented), and told with table, row and plain words."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import duckdb
import pytest

from screening.decision import doctor
from screening.decision.doctor import examine
from screening.store.soundness import Check

FIRST, SECOND = "db35f20350e", "dbb6dbe5c9c"
DAMAGE: dict[str, tuple[str, str, str, str, str]] = {
    # damage, check, table, row, words
    "a result is lost": ("DELETE FROM result WHERE row_id = 3", "account", "deliverable", FIRST, "10 results and quality-control"),
    "a result is there twice": (
        "INSERT INTO result SELECT * FROM result WHERE row_id = 3", "account", "result", "3", "there 2 times by the same act",
    ),
    "a delivered row is lost": ("DELETE FROM delivered WHERE row_id = 12", "account", "deliverable", FIRST, "the table delivered holds 8"),
    "a delivered row is there twice": (
        "INSERT INTO delivered SELECT * FROM delivered WHERE row_id = 14", "account", "delivered", "14", "there 2 times",
    ),
    "a class of no account": ("UPDATE delivered SET class = 'gone' WHERE row_id = 2", "account", "delivered", "2", "'gone' is none of"),
    "a class that differs": (
        "UPDATE result SET class = 'quality_control' WHERE row_id = 2", "account", "result", "2", "was taken as 'result'",
    ),
    "a held row is lost": ("DELETE FROM held WHERE row_id = 10", "account", "deliverable", FIRST, "the table held has 2"),
    "counts that do not add up": (
        "UPDATE deliverable SET ignored = 4 WHERE number = 1", "account", "deliverable", FIRST, "13 rows were read, but 9 results",
    ),
    "a deliverable is lost": ("DELETE FROM deliverable WHERE number = 1", "account", "deliverable", SECOND, "leaves a gap"),
    "rows of no deliverable": (
        "DELETE FROM deliverable WHERE number = 2", "references", "delivered", "14", "no deliverable number 2",
    ),
    "a result without its row": ("DELETE FROM delivered WHERE row_id = 5", "references", "result", "5", "no such delivered row"),
    "a result of no act": ("UPDATE result SET decision = 99 WHERE row_id = 6", "references", "result", "6", "decision 99"),
    "a result of another act": ("UPDATE result SET decision = 3 WHERE row_id = 6", "references", "result", "6", "no acceptance"),
    "a question without its row": ("DELETE FROM delivered WHERE row_id = 10", "references", "held", f"{FIRST}-10", "delivered row 10"),
    "a question of no act": (
        f"UPDATE held SET decision = 77 WHERE id = '{FIRST}-10'", "references", "held", f"{FIRST}-10", "decision 77",
    ),
    "no site file": ("DELETE FROM site_file", "references", "deliverable", FIRST, "no site file of its site 'quarry'"),
    "a revision of nothing": (
        "UPDATE deliverable SET replaces = 'dnone' WHERE number = 2", "references", "deliverable", SECOND, "no earlier deliverable 'dnone'",
    ),
    "a custody record without lines": ("DELETE FROM custody_line", "references", "custody", "cb823499562", "has no line"),
    "lines of no custody record": ("DELETE FROM custody", "references", "custody_line", "2", "no custody record number 1"),
    "a custody record that replaces nothing": (
        "UPDATE custody SET replaces = 'cnone'", "references", "custody", "cb823499562", "no earlier custody record 'cnone'",
    ),
    "a revision of the site file is lost": (
        "UPDATE site_file SET revision = 2", "references", "site_file", "quarry revision 2", "before it is missing",
    ),
    "a run of no site": ("UPDATE run SET site = 'nowhere' WHERE number = 1", "references", "run", "rbf717499874c", "'nowhere'"),
    "a run that nobody asked for": ("DELETE FROM run_asked WHERE number = 2", "references", "run", "r73bfd749a21f", "who asked for it"),
    "asked for a run that is lost": ("DELETE FROM run WHERE number = 1", "references", "run_asked", "1", "no run 'rbf717499874c'"),
    "a rescreen that is lost": ("DELETE FROM rescreen", "references", "rescreen_site", "quarry of rescreen 1", "no rescreen number 1"),
    "a rescreen of a run that is lost": (
        "DELETE FROM run WHERE number = 4", "references", "rescreen_site", "quarry of rescreen 1", "no run 'r00c4f946619b'",
    ),
    "an answer to no question": (f"DELETE FROM held WHERE id = '{FIRST}-8'", "answers", "decision", "3", f"held row '{FIRST}-8'"),
    "two answers to one question": (
        f"INSERT INTO decision SELECT 7, made_at, site, kind, '{FIRST}-6', by_whom, why, old_text, new_text, seal FROM decision "
        "WHERE number = 1", "answers", "decision", "7", "answered 2 times",
    ),
    "an acceptance without a result": ("DELETE FROM result WHERE row_id = 6", "answers", "decision", "1", "no result and no further question"),
    "a lesson from nowhere": (f"DELETE FROM held WHERE id = '{FIRST}-6'", "answers", "decision", "2", "from which it was learned"),
    "added levels that are lost": ("DELETE FROM level_text WHERE own", "answers", "decision", "4", "own/quarry@2025-01-01"),
    "an override of no row": ("UPDATE delivered SET row = 44 WHERE row_id = 3", "answers", "decision", "5", "whose worth it states"),
    "a decision of no site": ("UPDATE decision SET site = 'nowhere' WHERE number = 6", "answers", "decision", "6", "'nowhere'"),
    "a site file changed": (
        "UPDATE site_file SET text = replace(text, 'removed', 'in_place')", "hashes", "site_file", "quarry revision 1", "changed after",
    ),
    "a deliverable under another hash": (
        f"UPDATE deliverable SET sha256 = repeat('0', 64) WHERE id = '{FIRST}'", "hashes", "deliverable", FIRST, "does not follow",
    ),
    "a layout changed": (
        "UPDATE deliverable SET layout = layout || '\n# ' WHERE number = 2", "hashes", "deliverable", SECOND, "does not follow",
    ),
    "a custody record under another hash": (
        "UPDATE custody SET sha256 = repeat('0', 64)", "hashes", "custody", "cb823499562", "does not follow",
    ),
    "a level changed": (
        "UPDATE level_text SET rows = replace(rows, '0.05', '50') WHERE own", "hashes", "level_text", "own/quarry@2025-01-01", "changed after",
    ),
    "a level broken": (
        "UPDATE level_text SET rows = replace(rows, '0.05', 'x') WHERE own", "hashes", "level_text", "own/quarry@2025-01-01", "no longer be read",
    ),
    "a rule changed": (
        "UPDATE rule_text SET text = text || ' ' WHERE kind = 'signs' AND name = 'us/closure'", "hashes", "rule_text",
        "signs/us/closure", "changed after",
    ),
    "a review edition changed": (
        "UPDATE review_text SET texts = replace(texts, '14', '15')", "hashes", "review_text", "published-criteria", "changed after",
    ),
    "a decision changed": ("UPDATE decision SET why = 'because' WHERE number = 3", "decisions", "decision", "3", "entry 3"),
    "a decision lost": ("DELETE FROM decision WHERE number = 2", "decisions", "decision", "2", "entry 2 is missing"),
    "the last decision lost, a run used it": (
        "DELETE FROM decision WHERE number >= 5", "decisions", "decision", "5", "entry 5 is missing; run rb778748abe15 used it",
    ),
    "a request changed": (
        "UPDATE run SET request = replace(request, '\"1\"', '\"2\"') WHERE number = 2", "runs", "run", "r73bfd749a21f", "does not follow",
    ),
    "an answer of another run": (
        "UPDATE run SET answer = (SELECT answer FROM run WHERE number = 1) WHERE number = 2", "runs", "run", "r73bfd749a21f", "another run",
    ),
    "an answer that does not add up": (
        "UPDATE run SET answer = replace(answer, '\"outcome\":\"exceeds\"', '\"outcome\":\"does_not_exceed\"') WHERE number = 2",
        "runs", "run", "r73bfd749a21f", "outcomes 'exceeds' and holds 0",
    ),
    "an answer cut off": ("UPDATE run SET answer = answer[:100] WHERE number = 2", "runs", "run", "r73bfd749a21f", "no longer be read"),
    "a run lost": ("DELETE FROM run WHERE number = 2", "runs", "run", "rb778748abe15", "run number 2 is missing"),
    "levels of a run lost": (
        "DELETE FROM level_text WHERE level_table = 'us-oh/closure'", "runs", "run", "rbf717499874c", "level_text dd3b827d",
    ),
    "rules beside a run lost": ("DELETE FROM rule_text WHERE kind = 'papers'", "runs", "run", "rbf717499874c", "rule_text 8f50c4e3"),
}  # fmt: skip


VALUES: dict[str, tuple[str, str, str]] = {
    "a delivered text changed": ("UPDATE delivered SET result = '0.07' WHERE row_id = 1", "1", "quarry-1.csv row 2"),
    "a limit changed": ("UPDATE result SET nondetect_limit = 5 WHERE row_id = 2", "2", "nondetect_limit 5"),
    "a detection made a non-detect": ("UPDATE result SET detected = false WHERE row_id = 3", "3", "detected False"),
    "a unit changed": ("UPDATE result SET unit = 'ug/L' WHERE row_id = 4", "4", "where the text says mg/kg"),
    "a value changed": ("UPDATE result SET value = 0.9 WHERE row_id = 5", "5", "value 0.9"),
    "a taught name taken for another": ("UPDATE result SET analyte = 'Toluene' WHERE row_id = 6", "6", "where the text says Benzene"),
    "a limit taken away": ("UPDATE result SET nondetect_limit = NULL WHERE row_id = 7", "7", "nondetect_limit nothing"),
    "another analyte": ("UPDATE result SET analyte = 'Toluene', cas = '' WHERE row_id = 11", "11", "cas nothing where the text says 71-43-2"),
    "a digit beyond the eighteenth": ("UPDATE result SET value = value + 0.000000000000000002 WHERE row_id = 12", "12", "value 1250.000000000000000002"),
}  # fmt: skip


@pytest.mark.parametrize(("damage", "check", "table", "row", "words"), DAMAGE.values(), ids=DAMAGE)
def test_damage_is_found(damaged: duckdb.DuckDBPyConnection, damage: str, check: str, table: str, row: str, words: str) -> None:
    damaged.execute(damage)
    found = next(one for one in doctor.checks(damaged, only=check))
    told = [problem for problem in found.problems if (problem.table, problem.row) == (table, row)]
    assert any(words in problem.text for problem in told), found.problems


def test_values_that_their_texts_do_not_say(damaged: duckdb.DuckDBPyConnection) -> None:
    for damage, _, _ in VALUES.values():
        damaged.execute(damage)
    (found,) = doctor.checks(damaged, only="values")
    told = {problem.row: problem.text for problem in found.problems}
    assert told.keys() == {row for _, row, _ in VALUES.values()}
    assert [name for name, (_, row, words) in VALUES.items() if words not in told[row]] == []


def test_every_law_has_its_damage() -> None:
    """No law of the account, the references and the answers goes untried."""
    from screening.store.soundness import ACCOUNT, ANSWERS, REFERENCES

    tried = {(check, table) for _, check, table, _, _ in DAMAGE.values()}
    for name, laws in (("account", ACCOUNT), ("references", REFERENCES), ("answers", ANSWERS)):
        assert {(name, law.table) for law in laws} <= tried


def test_a_sound_store_is_sound(connection: duckdb.DuckDBPyConnection) -> None:
    found = list(doctor.checks(connection, every=True))
    assert [one.check for one in found] == list(doctor.CHECKS)
    assert [problem for one in found for problem in one.problems] == []
    assert all(one.looked for one in found)


def test_a_lost_column_is_told_and_nothing_else_is_tried(damaged: duckdb.DuckDBPyConnection) -> None:
    damaged.execute("ALTER TABLE result DROP COLUMN basis")
    damaged.execute("DROP TABLE run_asked")
    found = list(doctor.checks(damaged))
    assert [one.check for one in found] == ["schema"]
    assert {(one.table, one.text) for one in found[0].problems} >= {("result", "column basis is missing")}
    assert "run_asked" in {one.table for one in found[0].problems}


def test_many_problems_are_counted(damaged: duckdb.DuckDBPyConnection) -> None:
    damaged.execute("INSERT INTO delivered SELECT * REPLACE (row_id + 1000 AS row_id, 9 AS deliverable) FROM delivered")
    damaged.execute("INSERT INTO delivered SELECT * REPLACE (row_id + 1000 AS row_id) FROM delivered WHERE deliverable = 9")
    (found,) = doctor.checks(damaged, only="references")
    assert isinstance(found, Check) and len(found.problems) == 20 and found.more == 8


def test_the_command_says_what_is_wrong(busy: Any) -> None:
    assert (said := busy.run("doctor")).status == 0 and said.document["sound"]
    assert {one["check"] for one in said.document["checks"]} == set(doctor.CHECKS)
    with duckdb.connect(busy.database) as store:
        store.execute("UPDATE result SET value = 70 WHERE row_id = 1")
    said = busy.run("doctor")
    assert said.status == 3 and not said.document["sound"]
    (told,) = (one for one in said.document["checks"] if one["problems"])
    assert told["check"] == "values" and told["problems"][0]["table"] == "result" and told["problems"][0]["row"] == "1"
    assert "result 1: quarry-1.csv row 2" in said.error and "restore" in said.error


def test_a_damaged_block_is_told(whole: Path, tmp_path: Path) -> None:
    """A byte of the file changed (here in the middle of the table of rules, which is long) breaks a checksum of the library."""
    path = tmp_path / "store.duckdb"
    shutil.copyfile(whole, path)
    data = bytearray(path.read_bytes())
    at = data.index(b"Industry practice of")
    data[at] ^= 0xFF
    path.write_bytes(data)
    found = examine(path)
    assert not found["sound"]
    (told,) = (one for one in found["checks"] if one["problems"])
    assert told["check"] == "blocks" and told["problems"][0]["table"] == "rule_text"
    assert "restore a backup" in told["problems"][0]["text"]
