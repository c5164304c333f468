"""The program killed at any instant, commits included: the store opens, every law holds, nothing is half, the job goes on.

SCREENING_KILLS sets how many instants are tried (a few here, 240 by `make faults`, which prints the table); the seed is
SCREENING_SEED.
"""

from __future__ import annotations

import os
import random
import signal
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from forks import Ended, Forks, Stop
from stages import Contents, Stages, contents

from screening.decision import doctor
from screening.store.database import left_behind, opened

KILLS = int(os.environ.get("SCREENING_KILLS", "0"))
SEED = int(os.environ.get("SCREENING_SEED", "7"))
WHO = ("--by", "A", "--why", "misspelled")


@dataclass(frozen=True)
class Job:
    """A command, the stage that it starts from and the one that it makes, how it ends, and how where it had been done already."""

    stage: str
    makes: str
    words: tuple[str, ...]
    status: int
    done_before: tuple[int, ...]
    files: str = ""


JOBS = {
    "create": Job("", "site", ("site", "add", "site.toml"), 0, (0,)),
    "import": Job("site", "imported", ("import", "lab.csv", "--site", "one", "--received", "2025-03-20"), 3, (0, 3)),
    "accept": Job("imported", "accepted", ("held", "accept", "HELD", "--all-like-it", *WHO), 0, (1,)),
    "screen": Job("accepted", "screened", ("screen", "--site", "one", "--levels-on", "2025-04-01"), 3, (3,)),
    "rescreen": Job(
        "added", "", ("rescreen", "--site", "one", "--levels-on", "2025-05-01", "--data-on", "2100-01-01"), 3, (0, 3)
    ),
    "backup": Job("screened", "", ("backup", "copy.duckdb"), 0, (1,), "copy.duckdb"),
    "restore": Job("imported", "", ("restore", "backup.duckdb", "--force"), 0, (0,)),
    "report": Job("screened", "", ("report", "--run", "RUN", "--to", "out", "--only", "data"), 0, (1,), "out"),
}
FEW = (("import", "commit"), ("accept", "commit"), ("screen", "commit"), ("create", "any"))
OWN_ROWS = ("run_asked", "rescreen", "rescreen_site")
"""Tables to which a command given again adds: each asking is noted."""


def trials() -> Iterator[tuple[str, str, int]]:
    """(job, where it is killed, number) of every trial."""
    if not KILLS:
        yield from ((name, where, number) for number, (name, where) in enumerate(FEW))
        return
    kinds = [
        (name, where) for name in JOBS for where in ("commit", "any", "close", "any") if (name, where) != ("report", "commit")
    ]
    for number in range(KILLS):
        yield (*kinds[number % len(kinds)], number)


TABLE: Counter[tuple[str, str, str]] = Counter()


@pytest.fixture(scope="module", autouse=True)
def table() -> Iterator[None]:
    """Print what became of all trials, where all were asked for."""
    yield
    if KILLS:
        lines = [f"{name:<10} {where:<8} {became:<32} {count:>5}" for (name, where, became), count in sorted(TABLE.items())]
        print("\n".join([f"\nkilled {sum(TABLE.values())} times, seed {SEED}", *lines]), file=sys.__stderr__)


@dataclass(frozen=True)
class Calm:
    """A job that nobody stopped: how long it took, its commits and closings, the state before and after, its files."""

    ended: Ended
    before: Contents | None
    after: Contents
    files: dict[str, bytes]


def _files(folder: Path, below: str) -> dict[str, bytes]:
    path = folder / below
    if not below or not path.exists():
        return {}
    return {str(one.relative_to(path)): one.read_bytes() for one in [path, *path.rglob("*")] if one.is_file()}


def _words(job: Job, stages: Stages) -> list[str]:
    return [{"HELD": stages.held, "RUN": stages.run}.get(word, word) for word in job.words]


def _begin(job: Job, stages: Stages, folder: Path) -> Path:
    database = stages.begin(folder, job.stage)
    (folder / "backup.duckdb").write_bytes(stages.stores["screened"].read_bytes())
    return database


@pytest.fixture(scope="module")
def calm(forks: Forks, stages: Stages, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Each job as it goes when nobody stops it, done once."""
    known: dict[str, Calm] = {}

    def of(name: str) -> Calm:
        if name not in known:
            job = JOBS[name]
            before = contents(stages.stores[job.stage]) if job.stage else None
            if job.makes:
                known[name] = Calm(stages.ended[job.makes], before, contents(stages.stores[job.makes]), {})
                return known[name]
            folder = tmp_path_factory.mktemp(f"calm-{name}")
            database = _begin(job, stages, folder)
            ended = forks.run(database, *_words(job, stages))
            assert ended.status == job.status, (name, ended)
            known[name] = Calm(ended, before, contents(database), _files(folder, job.files))
        return known[name]

    return of


def _instant(calm: Calm, where: str, chance: random.Random) -> Stop:
    if where == "any":
        return Stop(chance.uniform(0, calm.ended.seconds))
    spans = calm.ended.spans(where)
    assert spans, f"the command has no {where}"
    nth = chance.randrange(len(spans))
    return Stop(chance.uniform(0, 1.3 * spans[nth]), f"{where} begun", nth + 1)


@pytest.mark.parametrize(("name", "where", "number"), trials())
def test_killed(forks: Forks, stages: Stages, calm: Any, tmp_path: Path, name: str, where: str, number: int) -> None:
    job, undisturbed = JOBS[name], calm(name)
    database = _begin(job, stages, tmp_path)
    stop = _instant(undisturbed, where, random.Random(f"{SEED} {number}"))
    ended = forks.run(database, *_words(job, stages), stop=stop)
    assert ended.status in (-signal.SIGKILL, job.status), ended.error
    if not database.exists():
        assert not job.stage, "the store is gone"
        became = "no store yet"
    else:
        _sound(database)
        became = _state(name, contents(database), undisturbed)
    _whole_files(tmp_path, job, undisturbed)
    _known_names(tmp_path, database, job)
    again = forks.run(database, *_words(job, stages))
    if again.status != job.status and not (again.status in job.done_before and became == "done"):
        assert job.files and again.status == 1 and _files(tmp_path, job.files) == undisturbed.files, (became, again.error)
    _sound(database)
    assert _state(name, contents(database), undisturbed) in ("done", "no change wanted")
    _whole_files(tmp_path, job, undisturbed)
    TABLE[name, where, became if ended.status < 0 else f"finished before; {became}"] += 1


def _sound(database: Path) -> None:
    """Every law but the reading of texts, which no interruption can spoil, in a few tries; all of them in many."""
    with opened(database) as store:
        for check in doctor.CHECKS:
            if KILLS or check != "values":
                (found,) = doctor.checks(store, only=check)
                assert not found.problems, found


def _known_names(folder: Path, database: Path, job: Job) -> None:
    """What a killed program leaves unfinished is what the doctor names, and nothing else lies there."""
    whole = {"lab.csv", "site.toml", "backup.duckdb", database.name, f"{database.name}.wal", job.files}
    beside = {one.name for one in folder.iterdir()} - whole
    assert {name for name in beside if ".before-restore-" not in name} == set(left_behind(database))


def _state(name: str, now: Contents, calm: Calm) -> str:
    """'untouched' or 'done', and between them only what a rescreen has written site by site."""

    def same(then: Contents | None) -> bool:
        return then is not None and all(now[table] == rows for table, rows in then.items() if table not in OWN_ROWS)

    if same(calm.before) and same(calm.after):
        return "no change wanted"
    if same(calm.after):
        return "done"
    if same(calm.before) or (calm.before is None and not any(rows for table, rows in now.items() if table != "about")):
        return "untouched"
    changed = [table for table, rows in calm.after.items() if now[table] not in (rows, (calm.before or {}).get(table, []))]
    raise AssertionError(f"{name} is half done: {changed}")


def _whole_files(folder: Path, job: Job, calm: Calm) -> None:
    """All files of the job are there and whole, or none is."""
    found = _files(folder, job.files)
    if job.files.endswith(".duckdb"):
        if found:
            assert contents(folder / job.files) == calm.before
    elif found:
        assert found.keys() == calm.files.keys()
        assert all(content for content in found.values())
