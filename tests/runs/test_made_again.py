"""A run made again, byte for byte, after everything around it has changed; and the cause where it is not the same."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from screening import __version__
from screening.cli.main import commands
from screening.store.database import opened
from tests.conftest import Office
from tests.runs.conftest import NEW, OLD

STANDARDS = Path(__file__).resolve().parents[2] / "standards"
SITE = """
[site]
id = "one"
name = "One"
place = "us-oh"
[screening]
levels = ["xx/made-up", "us-oh/closure"]
[conditions]
soil_class = "1"
[[tank]]
id = "T1"
capacity_gal = 4000
product = "gasoline"
[[location]]
id = "S-1"
component = "T1"
"""


@dataclass(frozen=True)
class Kept:
    """A store after later imports, decisions and levels; a run made before all of them, and its JSON as it was printed."""

    office: Office
    run: str
    printed: bytes


def _printed(office: Office, *words: str) -> bytes:
    said = CliRunner().invoke(commands(), ["--json", "--database", str(office.database), *words], catch_exceptions=False)
    return said.stdout_bytes


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, add_levels: Any, soil: Any) -> Kept:
    """The run, and everything that came after it."""
    office = Office(tmp_path_factory.mktemp("kept"))
    add_levels(office, {"2020-01-01": OLD})
    office.site(SITE)
    rows = [soil("S-1", "0.2"), soil("S-1", "7", "Naphthalene"), soil("S-2", "<0.01"), soil("S-2", "0.1", "Bensene")]
    number = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]["id"]
    printed = _printed(office, "screen", "--site", "one")
    run = office.run("runs", "list").document["runs"][0]["run"]
    held = office.run("held", "list", "--site", "one").document["held"][0]["id"]
    who = ("--by", "A. Reyes", "--why", "a test")
    assert office.run("held", "accept", held, "--as", "Benzene", *who).status == 0
    assert (
        office.run(
            "review", "override", "--site", "one", "--sample", "S-1", "--analyte", "Benzene", "--as", "rejected", *who
        ).status
        == 0
    )
    later = office.deliverable("b.csv", [soil("S-1", "0.9"), soil("S-3", "3")])
    assert office.run("import", later, "--site", "one", "--replaces", number).status == 0
    add_levels(office, {"2020-01-01": OLD.replace("0.246", "0.1"), "2025-07-01": NEW})
    office.site(SITE.replace('soil_class = "1"', 'soil_class = "2"'))
    return Kept(office, run, printed)


@pytest.fixture
def copy(kept: Kept, tmp_path: Path) -> Office:
    """A copy of the database at another place."""
    office = Office(tmp_path / "elsewhere")
    office.folder.mkdir()
    shutil.copy(kept.office.database, office.database)
    return office


def _standards(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    for module in ("levels.versions", "decision.runs", "decision.rescreen", "decision.contents", "store.own_levels"):
        monkeypatch.setattr(f"screening.{module}.standards_folder", lambda: folder)


@pytest.mark.parametrize("standards", ["changed", "gone"])
def test_byte_for_byte_from_a_copy_elsewhere(
    kept: Kept, copy: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, standards: str
) -> None:
    folder = tmp_path / "standards"
    if standards == "changed":
        shutil.copytree(STANDARDS, folder)
        for path in folder.rglob("*.*"):
            text = path.read_text(encoding="utf-8")
            path.write_text(
                text.replace("0.246", "0.001").replace("number = ", "number = 1").replace(",14 d", ",1 d"), encoding="utf-8"
            )
    _standards(monkeypatch, folder)
    file = tmp_path / "again.json"
    said = copy.run("runs", "reproduce", kept.run, "--to", file)
    assert (said.status, said.document["identical"], said.document["differences"]) == (0, True, [])
    assert file.read_bytes() == kept.printed
    shown = copy.run("runs", "show", kept.run).document
    assert shown["stale_because"] == ["data changed since", "site file changed since"]
    assert shown["decided_by"]["software"] == __version__ and len(shown["decided_by"]["levels"]) == 2
    assert shown["settings"]["duplicate_rule"] == "higher", "the rule for field duplicates is a setting of the run"


def test_its_report_too(kept: Kept, copy: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The package of a run is the same bytes from the copy, with the standards gone; it says that the run is stale."""
    packages = {name: tmp_path / name for name in ("first", "second")}
    words = ("--run", kept.run, *(word for kind in ("workbook", "page", "document", "data") for word in ("--only", kind)))
    assert kept.office.run("report", *words, "--to", packages["first"]).status == 0
    _standards(monkeypatch, tmp_path / "none")
    said = copy.run("report", *words, "--to", packages["second"])
    assert said.status == 0, said.error
    files = {
        name: {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*.*")} for name, folder in packages.items()
    }
    assert len(files["first"]) == 15 and files["first"] == files["second"]
    assert "the data have changed since" in files["first"][Path("page.html")].decode()


@pytest.mark.parametrize(("statement", "cause"), [
    ("UPDATE level_text SET rows = replace(rows, '0.246', '0.300') WHERE level_table = 'xx/made-up'", "the kept text of xx/made-up@2020-01-01"),
    ("UPDATE rule_text SET text = replace(text, 'number = ', 'number = 1')", "the kept text of sampling/"),
    ("UPDATE deliverable SET replaces = 'nothing' WHERE file = 'a.csv'", "the deliverables, decisions or custody records"),
    ("UPDATE run_asked SET software = '0.0.1'", f"software: made with version 0.0.1, made again with {__version__}"),
    ("SELECT 1", "store altered, or the program"),
])  # fmt: skip
def test_a_difference_has_its_cause(kept: Kept, copy: Office, statement: str, cause: str) -> None:
    with opened(copy.database) as connection:
        connection.execute(statement)
        if "level_text" not in statement:  # what was answered then is altered, so that there is a difference to explain
            connection.execute(
                'UPDATE run SET answer = replace(answer, \'"value":"0.2"\', \'"value":"0.3"\') WHERE id = ?', [kept.run]
            )
    said = copy.run("runs", "reproduce", kept.run)
    assert (said.status, said.document["identical"]) == (3, False)
    assert "outcomes" in {one["part"] for one in said.document["differences"]}
    assert {cause in one["cause"] for one in said.document["differences"]} == {True}
    assert cause.split(":")[0] in " ".join(said.error.split())


def test_a_kept_text_that_is_gone(kept: Kept, copy: Office) -> None:
    with opened(copy.database) as connection:
        connection.execute("DELETE FROM level_text WHERE level_table = 'us-oh/closure'")
    said = copy.run("runs", "reproduce", kept.run)
    assert said.status == 1 and "us-oh/closure@2017-01-01" in said.error and "the store was altered" in said.error


def test_a_table_that_ended_since_gives_the_answer_of_then(
    office: Office, soil: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last day of a version is written into its table later; the same question has the same run and bytes."""
    office.plain_site()
    office.run("import", office.deliverable("a.csv", [soil("S-1", "0.2")]), "--site", "one")
    words = ("screen", "--site", "one", "--levels-on", "2025-01-01")
    first = _printed(office, *words)
    folder = Path(shutil.copytree(STANDARDS, tmp_path / "standards"))
    facts = folder / "us-oh" / "closure" / "table.toml"
    text = facts.read_text(encoding="utf-8")
    head = '[versions."2017-01-01"]\n'
    assert head in text
    facts.write_text(text.replace(head, head + "until = 2025-12-31\n"), encoding="utf-8")
    _standards(monkeypatch, folder)
    assert _printed(office, *words) == first
    assert len(office.run("runs", "list").document["runs"]) == 1


def test_another_answer_of_another_program_is_another_run(office: Office, soil: Any) -> None:
    office.plain_site()
    office.run("import", office.deliverable("a.csv", [soil("S-1", "0.2")]), "--site", "one")
    first = office.run("screen", "--site", "one").document["run"]
    with opened(office.database) as connection:  # as if an earlier version had found it open
        connection.execute("UPDATE run_asked SET software = '0.0.9'")
        connection.execute('UPDATE run SET answer = replace(answer, \'"outcome":"does_not_exceed"\', \'"outcome":"open"\')')
    second = office.run("screen", "--site", "one").document["run"]
    assert second != first
    assert office.run("screen", "--site", "one").document["run"] == second, "once kept, it is the answer of this program"
    (change,) = office.run("compare", first, second).document["changes"]
    assert (change["before"]["outcome"], change["after"]["outcome"], change["cause"]) == ("open", "does_not_exceed", "software")
    assert office.run("runs", "reproduce", second).document["identical"] is True
