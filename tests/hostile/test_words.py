"""Names that are orders to something else: SQL, folders, terminals, spreadsheets, patterns. They stay names, whole and harmless.

All of them are invented; the kinds of attack are common knowledge of the trade of security (no one source).
"""

from __future__ import annotations

import csv
import io
import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import duckdb
import openpyxl
import pytest
from guard import watched

from screening.deliverable import extract
from tests.conftest import Office

SQL = (
    "'; DROP TABLE result; --", "Robert'); DELETE FROM run WHERE ('1'='1", '"; DROP TABLE "held"; --', "1 OR 1=1", "x' UNION SELECT sha256 FROM level_text --",
    "$1", "?", "{0} %s", "\\'; ATTACH 'evil.duckdb' AS e; COPY result TO 'evil.csv'; --", "/* */ -- ;",
)  # fmt: skip
ORDERS = (
    "\x1b[2J\x1b]0;owned\x1b\\",
    "\x9b31mred",
    "\u202egnp.exe",
    "[bold red]x[/]",
    "[link=http://192.0.2.1]x[/link]",
    ":skull:",
)
FOLDERS = ("../../evil", "..\\..\\evil", "/evil", "C:\\evil", "evil\n/x", ".", "con", "a/b/c", "~root", "%00", "x" * 240)
FORMULAS = ('=HYPERLINK("http://192.0.2.1/","x")', "+1+1", "-1+1", "@SUM(1)", "\t=1", "\r=1")
NAMES = (*SQL, *ORDERS, *FOLDERS, *FORMULAS)
TABLES = "SELECT table_name FROM duckdb_tables() ORDER BY 1"


def quoted(text: str) -> str:
    """A TOML text."""
    return '"' + "".join(one if one.isprintable() and one not in '"\\' else f"\\u{ord(one):04X}" for one in text) + '"'


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Office, dict[str, Any]]]:
    """An office in a folder and a store with such names, and what its commands said; nothing was written beside them."""
    folder = tmp_path_factory.mktemp("outer") / "a" / "it's; DROP TABLE x --"
    folder.mkdir(parents=True)
    office = Office(folder)
    object.__setattr__(office, "database", folder / "store'; DROP TABLE run; --.duckdb")
    said: dict[str, Any] = {}
    before = os.getcwd()
    os.chdir(folder)
    try:
        with watched(folder):
            said = dict(_day(office))
    finally:
        os.chdir(before)
    assert {path.name for path in folder.parent.iterdir()} == {folder.name} and not [*folder.parent.parent.glob("*evil*")]
    yield office, said
    shutil.rmtree(folder)


def _day(office: Office) -> Iterator[tuple[str, Any]]:
    """The main job with a hostile name wherever one may stand."""
    places = "\n".join(f'[[location]]\nid = {quoted(name)}\ncomponent = "pit"\nx = {n}\ny = {n}' for n, name in enumerate(NAMES))
    text = (
        f'[site]\nid = "one"\nname = {quoted(" ".join(SQL))}\nplace = "us-oh"\naddress = {quoted(FORMULAS[0])}\n[screening]\n'
        f'levels = ["us-oh/closure"]\n[conditions]\nsoil_class = "1"\n[[tank]]\nid = {quoted(SQL[0])}\nproduct = {quoted(SQL[1])}\n{places}'
    )
    yield "site", office.site(text)
    rows = [
        {
            "sample_id": name, "location": name, "lab": name, "method": name, "comment": name, "batch": name, "lab_sample_id": name, "medium": "soil",
            "sampled_at": "2025-05-06", "depth_top": "4", "depth_unit": "ft", "analyte": "Benzene", "result": "1.5", "unit": "mg/kg", "basis": "dry",
        }
        for name in NAMES
    ]  # fmt: skip
    rows += [{**rows[0], "sample_id": "S", "analyte": f"Mystery {name}", "result": "1"} for name in NAMES]
    yield "import", office.run("import", office.deliverable("'); DROP TABLE result; --.csv", rows), "--site", "one")
    waiting = office.run("held", "list", "--site", "one").document["held"]
    yield "held", waiting
    yield "reject", office.run("held", "reject", waiting[0]["id"], "--by", SQL[0], "--why", SQL[1])
    yield "accept", office.run("held", "accept", waiting[1]["id"], "--by", SQL[1], "--why", SQL[0], "--as", SQL[2])
    for name in (*SQL[:3], SQL[8], *FOLDERS[:4]):
        for words in (
            ("held", "accept", name, "--by", "A", "--why", "B"), ("site", "show", name), ("results", "--site", name), ("runs", "show", name),
            ("import", "x.csv", "--site", name), ("levels", "show", name), ("import", "site.toml", "--site", "one", "--layout", name),
            ("report", "--run", name, "--to", "to"),
        ):  # fmt: skip
            yield f"refused {words}", office.run(*words)
    levels = office.deliverable("'; DROP TABLE level_text; --.csv", [{"analyte": "Benzene", "cas": "71-43-2", "medium": "soil", "level": "1", "unit": "mg/kg"}])  # fmt: skip
    yield "levels", office.run("levels", "add", levels, "--version", "2025-01-01")
    run = office.run("screen", "--site", "one", "--levels-on", "2025-07-01", "--condition", f"soil_class={SQL[0]}")
    yield "condition", run
    run = office.run("screen", "--site", "one", "--levels-on", "2025-07-01")
    yield "screen", run
    yield "explain", office.run("explain", run.document["run"], "--sample", SQL[0], "--analyte", "benzene")
    yield "report", office.run("report", "--run", run.document["run"], "--to", "out", "--only", "data")
    yield "rescreen", office.run("rescreen", "--site", "one", "--levels-on", "2025-08-01", "--to", "again")
    yield "backup", office.run("backup", "copy'; DROP TABLE run; --.duckdb")
    yield "doctor", office.run("doctor")


def test_the_main_job_is_done_and_the_store_sound(hostile: tuple[Office, Mapping[str, Any]]) -> None:
    office, said = hostile
    assert [said[name].status for name in ("site", "reject", "levels", "report", "backup", "doctor")] == [0] * 6, said
    assert said["import"].status == 3 and said["condition"].status == 1 and said["screen"].status == 3
    counts = said["import"].document["deliverables"][0]["rows"]
    assert counts["results"] + counts["held_back"] == counts["read"] == 2 * len(NAMES)
    assert said["doctor"].document["sound"] and said["accept"].status in (0, 1)
    with duckdb.connect(office.database) as store, duckdb.connect(office.folder / "copy'; DROP TABLE run; --.duckdb") as copy:
        assert store.execute(TABLES).fetchall() == copy.execute(TABLES).fetchall()
        kept = {name for (name,) in store.execute("SELECT DISTINCT sample_id FROM delivered").fetchall()}
    assert kept >= {name.strip() for name in NAMES}, "as they came"


def test_names_that_name_nothing_are_refused(hostile: tuple[Office, Mapping[str, Any]]) -> None:
    _, said = hostile
    for name, one in said.items():
        if name.startswith("refused"):
            assert one.status in (1, 2) and len(one.error.strip().splitlines()) <= 6 and "Traceback" not in one.error, (name, one)


def test_no_output_holds_a_formula(hostile: tuple[Office, Mapping[str, Any]]) -> None:
    office, _ = hostile
    files = [path for folder in ("out", "again") for path in (office.folder / folder).rglob("*") if path.is_file()]
    assert {path.suffix for path in files} >= {".csv", ".xlsx", ".html", ".json"}
    for path in files:
        if path.suffix == ".csv":
            for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")):
                for cell in row:
                    assert not cell.startswith(("=", "+", "@", "\t", "\r")), path
                    assert not cell.startswith("-") or cell[1:].replace(".", "").isdigit(), path
        elif path.suffix == ".xlsx":
            for sheet in openpyxl.load_workbook(path).worksheets:
                assert not [cell.coordinate for row in sheet.iter_rows() for cell in row if cell.data_type == "f"], path


def test_the_terminal_is_given_no_orders(hostile: tuple[Office, Mapping[str, Any]]) -> None:
    """Also a line of JSON is written with people's text on standard error; both go to a terminal."""
    office, said = hostile
    told = [one.error for one in said.values() if hasattr(one, "error")]
    told += [
        office.run(*words).error for words in (("held", "list", "--site", "one"), ("results", "--site", "one"), ("runs", "list"))
    ]
    told.append(office.run("import", office.folder / "\x1b[2J.csv", "--site", "one").error)
    told.append(office.run("import", office.folder / "\x1b[2J.csv", office.folder / "\x1b[3J.csv", "--site", "one").error)
    assert any("[U+001B]" in one for one in told)
    for text in told:
        assert not [one for one in text if one in "\x1b\x9b\x07\u202e"], text


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such file names")
def test_a_file_name_that_is_no_text(office: Office) -> None:
    office.plain_site()
    path = Path(os.fsdecode(os.fsencode(office.folder) + b"/lab\xff.csv"))
    path.write_text("sample_id,medium,analyte,result,unit,basis\nS1,soil,Benzene,1,mg/kg,dry\n")
    said = office.run("import", path, "--site", "one")
    assert said.status == 2 and "lab[U+DCFF].csv: is no UTF-8 text; rename the file" in said.error
    assert office.run("doctor").document["sound"]


@pytest.mark.parametrize("identity", [*FOLDERS[:5], "-x", "a b", "x" * 65, "é", "", *SQL[:3]])
def test_a_site_is_named_by_a_plain_word(office: Office, identity: str) -> None:
    said = office.site(f'[site]\nid = {quoted(identity)}\nname = "x"\nplace = "us-oh"\n')
    assert said.status == 1 and "line 2" in said.error


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 30_000 + "]" * 30_000, "x = " + "{a = " * 5_000 + "1" + "}" * 5_000, "[" + "a." * 20_000 + "a]",
        "x = 1e400000000", "x = " + "9" * 10_000, "x = 9999-12-31T23:59:59-23:59", "x = '''", "\x00", "[site]\n" * 50_000,
    ],
    ids=lambda text: text[:12],
)  # fmt: skip
@pytest.mark.parametrize(
    "head", ['[site]\nid = "one"\nname = "one"\nplace = "us-oh"\n[conditions]\n', '[columns]\nsample_id = "Sample"\n']
)
def test_a_file_of_settings_that_is_nested_or_endless(office: Office, head: str, text: str) -> None:
    path = office.folder / "x.toml"
    path.write_text(head + text, encoding="utf-8")
    if head.startswith("[site]"):
        said = office.run("site", "add", path)
    else:
        office.plain_site()
        said = office.run("import", office.deliverable("a.csv", [{"Sample": "x"}]), "--site", "one", "--layout", path)
    assert said.status == 1 and "x.toml" in said.error and said.error.count("\n") == 1, said


def test_a_pattern_that_does_not_end(office: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(extract, "PATIENCE", 0.2)
    office.plain_site()
    layout = office.folder / "lab.toml"
    layout.write_text(
        '[columns]\nsample_id = "a"\nanalyte = "b"\nresult = "c"\n[fixed]\nmedium = "soil"\nunit = "mg/kg"\n[patterns]\nsample_id = "(?P<location>(a|a)*)$"\n'
    )
    file = office.deliverable("a.csv", [{"a": "a" * 60 + "!", "b": "Benzene", "c": "1 mg/kg"}])
    said = office.run("import", file, "--site", "one", "--layout", layout)
    assert said.status == 1 and "does not come to an end" in said.error
