"""Stopped by Ctrl-C, two programs at once, a reader beside a writer, write-ahead files cut or spoiled, files that change."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from forks import Forks, Stop
from stages import Stages, contents, write_deliverable

from screening.cli import main as program
from screening.cli.common import STOPPED, told_in_one_line
from screening.errors import Refused
from screening.store.database import opened, transaction, write_ahead_file
from screening.store.interrupts import DROPPED, interruptible, keep_dropped

MANY = "SCREENING_KILLS" in os.environ
SEED = int(os.environ.get("SCREENING_SEED", "7"))
IMPORT = ("import", "lab.csv", "--site", "one", "--received", "2025-03-20")
HELD_BY_ANOTHER = "has the database open; wait until it is done, then try again"


@pytest.mark.parametrize("number", range(60 if MANY else 2))
def test_stopped_by_the_person(forks: Forks, stages: Stages, tmp_path: Path, number: int) -> None:
    database = stages.begin(tmp_path, "site")
    chance = random.Random(f"{SEED} {number}")
    after = chance.uniform(0.05, 1) * stages.ended["imported"].seconds
    stop = (
        Stop(chance.uniform(0, 0.05), "commit begun", signal=signal.SIGINT) if number % 2 else Stop(after, signal=signal.SIGINT)
    )
    ended = forks.run(database, *IMPORT, stop=stop)
    now = contents(database)
    if ended.status in (0, 3):  # it was quicker
        assert now == contents(stages.stores["imported"])
        return
    assert ended.status == 1, ended
    assert ended.error.splitlines()[-1].startswith("screening: stopped; "), ended.error
    assert "Traceback" not in ended.error
    assert now in (contents(stages.stores["site"]), contents(stages.stores["imported"]))
    assert forks.run(database, *IMPORT).status in (0, 3)
    assert contents(database) == contents(stages.stores["imported"])


class Dropping:
    """What it raises when it goes cannot be passed on, as in libraries that call Python where no error may leave."""

    def __init__(self, raised: type[BaseException]) -> None:
        self.raised = raised

    def __del__(self) -> None:
        raise self.raised("dropped")


def test_after_an_interrupt_that_a_library_dropped_no_other_reason_is_told_and_nothing_kept(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], request: pytest.FixtureRequest
) -> None:
    """Dropped while pydantic made its checks of a site file, it spoiled one, and the site file was told to be at fault."""
    monkeypatch.setattr(sys, "unraisablehook", keep_dropped)
    request.addfinalizer(DROPPED.clear)

    def drop(raised: type[BaseException]) -> None:
        held = [Dropping(raised)]
        held.clear()

    def said(error: Exception | None) -> str:
        with pytest.raises(SystemExit, match="1"), told_in_one_line():  # noqa: PT012
            if error is not None:
                raise error
        return capsys.readouterr().err.splitlines()[-1]

    fault = Refused("the site file is at fault")
    drop(ValueError)
    assert said(fault) == f"screening: {fault}"
    assert said(TypeError("Error building `literal` serializer:\n  KeyboardInterrupt: ")) == f"screening: {STOPPED}"
    with pytest.raises(TypeError, match="another"), told_in_one_line():
        raise TypeError("another")
    drop(KeyboardInterrupt)
    assert {said(fault), said(TypeError("unsound")), said(None)} == {f"screening: {STOPPED}"}
    with duckdb.connect() as store:
        store.execute("CREATE TABLE kept (number INTEGER)")
        with pytest.raises(KeyboardInterrupt), transaction(store):
            store.execute("INSERT INTO kept VALUES (1)")
        assert store.execute("SELECT count(*) FROM kept").fetchone() == (0,)


def test_an_interrupt_at_the_very_end_is_told_too(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Where the command has been left already and the library of commands is at work."""

    def too_late(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(program, "screening", too_late)
    monkeypatch.setattr(sys, "unraisablehook", sys.unraisablehook)
    with pytest.raises(SystemExit, match="1"):
        program.main(["init"])
    assert capsys.readouterr().err == f"screening: {STOPPED}\n"


def test_a_query_stopped_by_the_person() -> None:
    """The database library tells an interrupt in its own words. The query would end by itself, so that a fault cannot hang."""
    presses = threading.Timer(0.2, os.kill, (os.getpid(), signal.SIGINT))
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell ignores it for what it runs in the background
    with duckdb.connect() as store, pytest.raises(SystemExit, match="1"), told_in_one_line(), interruptible(store):  # noqa: PT012
        presses.start()
        store.execute("SELECT count(*) FROM range(20000000000) AS t(i) WHERE sqrt(i) > 3").fetchall()
    presses.join()
    signal.signal(signal.SIGINT, before)


@pytest.mark.parametrize("number", range(20 if MANY else 1))
def test_the_same_file_imported_twice_at_once(forks: Forks, stages: Stages, tmp_path: Path, number: int) -> None:
    database = stages.begin(tmp_path, "site")
    waits = [forks.begin(database, *IMPORT) for _ in range(2)]
    ends = [wait() for wait in waits]
    for ended in ends:
        assert ended.status == 3 or (ended.status == 1 and HELD_BY_ANOTHER in ended.error), ended
    assert forks.run(database, *IMPORT).status == 3
    assert contents(database) == contents(stages.stores["imported"])


@pytest.mark.parametrize("number", range(20 if MANY else 1))
def test_two_files_imported_at_once_beside_a_reader(forks: Forks, stages: Stages, tmp_path: Path, number: int) -> None:
    database = stages.begin(tmp_path, "imported")
    names = ("second.csv", "third.csv")
    for at, name in enumerate(names):
        file = write_deliverable(tmp_path, name, samples=3 + at)
        file.write_text(file.read_text().replace("S", f"T{at}-"))
    waits = [forks.begin(database, "import", name, "--site", "one", "--received", "2025-03-20") for name in names]
    seen = set()
    for _ in range(3):
        read = forks.run(database, "results", "--site", "one", "--all")
        assert read.status == 0 or (read.status == 1 and HELD_BY_ANOTHER in read.error), read
        if read.document:
            seen.add(len(read.document["results"]))
    for ended in [wait() for wait in waits]:
        assert ended.status == 3 or (ended.status == 1 and HELD_BY_ANOTHER in ended.error), ended
    for name in names:
        assert forks.run(database, "import", name, "--site", "one", "--received", "2025-03-20").status == 3
    found = contents(database)
    assert len(found["deliverable"]) == 3
    before = sum(row[0] == 1 for row in ((one[1],) for one in contents(stages.stores["imported"])["delivered"]))
    counts = [sum(row[1] == number for row in found["delivered"]) for number in (1, 2, 3)]
    assert counts[0] == before and len({row[0] for row in found["delivered"]}) == sum(counts)
    kept = len(contents(stages.stores["imported"])["result"])
    assert seen <= {kept, len(found["result"]), *(kept + sum(row[1] == number for row in found["result"]) for number in (2, 3))}


COMMITTED = """
import os, signal, sys
from pathlib import Path
from screening.store.database import opened, transaction
with opened(Path(sys.argv[1])) as store:
    for number in range(1, 9):
        with transaction(store):
            store.execute("INSERT INTO site_file VALUES ('late', ?, ?, ?, TIMESTAMP '2025-01-01')", [number, "x" * 40, "y" * 900])
            store.execute("INSERT INTO custody VALUES (?, ?, 'late', 'f', 'h', DATE '2025-01-01', TIMESTAMP '2025-01-01', NULL)", [number, f"c{number}"])
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture(scope="module")
def killed(stages: Stages, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store whose last eight transactions, of two rows in two tables each, are in its write-ahead file alone."""
    database = tmp_path_factory.mktemp("killed") / "store.duckdb"
    shutil.copyfile(stages.stores["site"], database)
    assert subprocess.run([sys.executable, "-c", COMMITTED, str(database)], timeout=60).returncode == -signal.SIGKILL
    return database


def _with_ahead(killed: Path, folder: Path, ahead: bytes) -> Path:
    database = folder / "store.duckdb"
    shutil.copyfile(killed, database)
    write_ahead_file(database).write_bytes(ahead)
    return database


def _late(database: Path) -> tuple[int, int]:
    with opened(database) as store:
        row = store.execute(
            "SELECT (SELECT count(*) FROM site_file WHERE site = 'late'), (SELECT count(*) FROM custody WHERE site = 'late')"
        ).fetchone()
    assert row is not None
    return int(row[0]), int(row[1])


def _refused(database: Path) -> str:
    try:
        with opened(database):
            return ""
    except Refused as error:
        return str(error)


def test_a_write_ahead_file_cut_at_any_byte(killed: Path, tmp_path: Path) -> None:
    """The power fails while it is written: whole transactions from the first on, and never half a one."""
    ahead = write_ahead_file(killed).read_bytes()
    chance = random.Random(SEED)
    cuts = sorted({0, 1, len(ahead) - 1, len(ahead), *(chance.randrange(len(ahead)) for _ in range(400 if MANY else 12))})
    counts = []
    for cut in cuts:
        sites, records = _late(_with_ahead(killed, tmp_path, ahead[:cut]))
        assert sites == records, cut
        counts.append(sites)
    assert counts == sorted(counts) and counts[0] == 0 and counts[-1] == 8


def test_a_spoiled_write_ahead_file_is_told_and_left(killed: Path, tmp_path: Path) -> None:
    """A byte is not what was written: never a half state in silence; both files stay as they are until a person acts."""
    ahead = write_ahead_file(killed).read_bytes()
    chance = random.Random(SEED)
    told = 0
    for at in sorted(chance.randrange(len(ahead)) for _ in range(200 if MANY else 10)):
        spoiled = bytearray(ahead)
        spoiled[at] ^= 1 << chance.randrange(8)
        database = _with_ahead(killed, tmp_path, bytes(spoiled))
        words = _refused(database)
        if not words:
            sites, records = _late(database)
            assert sites == records, at
            continue
        told += 1
        assert "write-ahead file store.duckdb.wal is damaged" in words and "restore a backup" in words
        assert write_ahead_file(database).read_bytes() == spoiled
        assert database.read_bytes() == killed.read_bytes()
        write_ahead_file(database).rename(tmp_path / "away")  # the way out that the message names
        assert _late(database) == (0, 0)
    assert told


def test_a_store_that_is_gone_beside_its_write_ahead_file(killed: Path, tmp_path: Path) -> None:
    database = _with_ahead(killed, tmp_path, write_ahead_file(killed).read_bytes())
    database.unlink()
    with pytest.raises(Refused, match="there is no database, but the write-ahead file"), opened(database, create=True):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["store.duckdb.wal"]


def _every_row(database: Path) -> dict[str, list[tuple[object, ...]]]:
    with opened(database) as store:
        tables = [name for (name,) in store.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall()]
        return {table: store.execute(f'SELECT * FROM "{table}" ORDER BY ALL').fetchall() for table in tables}


def test_a_store_cut_short_is_told_or_lacks_nothing(stages: Stages, tmp_path: Path) -> None:
    whole = stages.stores["screened"].read_bytes()
    rows = _every_row(stages.stores["screened"])
    database = tmp_path / "store.duckdb"
    told = 0
    for size in (0, 1, 4096, 8192, 12288, len(whole) // 2, len(whole) - 262144, len(whole) - 4096):
        database.write_bytes(whole[:size])
        try:
            assert _every_row(database) == rows, size
        except (Refused, duckdb.OperationalError, duckdb.FatalException, duckdb.InternalException):
            told += 1
    assert told >= 5


@pytest.fixture
def changing(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path, Callable[[Path], None]], None]:
    """Something is done to a file just as it has been read."""

    def while_read(path: Path, act: Callable[[Path], None]) -> None:
        read = Path.read_bytes

        def slow(self: Path) -> bytes:
            data = read(self)
            if self.name == path.name:
                act(path)
            return data

        monkeypatch.setattr(Path, "read_bytes", slow)

    return while_read


def _grown(path: Path) -> None:
    with path.open("a", encoding="utf-8") as file:
        file.write("\n# more\n")


def _cut(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def _replaced(path: Path) -> None:
    size = path.stat().st_size
    path.write_bytes(b"#" * size)
    os.utime(path, ns=(0, 0))


@pytest.mark.parametrize("act", [_grown, _cut, _replaced])
def test_a_file_that_changes_while_it_is_read(office: Any, changing: Any, act: Callable[[Path], None]) -> None:
    office.plain_site()
    row = {"sample_id": "S1", "medium": "soil", "analyte": "Benzene", "result": "0.1", "unit": "mg/kg", "basis": "dry"}
    before = contents(office.database)
    texts = {
        "lab.csv": office.deliverable("lab.csv", [row]).read_text(), "2025-01-01.csv": "analyte,cas,medium,level,unit\n,,,,\n",
        "record.csv": "sample,analyses\nS1,BTEX\n", "site.toml": (office.folder / "site.toml").read_text(), "my.toml": 'title = "x"\n',
    }  # fmt: skip
    for name, words in {
        "lab.csv": ("import", "lab.csv", "--site", "one"), "2025-01-01.csv": ("levels", "add", "2025-01-01.csv"),
        "record.csv": ("custody", "add", "record.csv", "--site", "one"), "site.toml": ("site", "add", "site.toml"),
        "my.toml": ("import", "lab.csv", "--site", "one", "--layout", "my.toml"),
    }.items():  # fmt: skip
        for other, text in texts.items():
            (office.folder / other).write_text(text)
        with pytest.MonkeyPatch.context():
            changing(office.folder / name, act)
            said = office.run(*(office.folder / word if word in texts else word for word in words))
        assert said.status == 1 and f"{name}: is being written by someone else" in said.error, (name, said)
    assert contents(office.database) == before
