"""What the machine refuses: space, permission, a folder that may not be written; each told in one line, the store as it was."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from forks import Ended, Forks
from stages import Stages, contents

NOBODY = 65534
IMPORT = ("import", "lab.csv", "--site", "one", "--received", "2025-03-20")
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


def one_line(ended: Ended, *words: str) -> None:
    """A refusal: status 1, one line without a traceback, with these words."""
    assert ended.status == 1, (ended.status, ended.error)
    assert ended.document is None and "Traceback" not in ended.error
    last = ended.error.splitlines()[-1]
    assert last.startswith("screening: "), ended.error
    for word in words:
        assert word in last, last


@pytest.fixture
def disk() -> Iterator[Path]:
    """A small disk in memory; skipped where none may be mounted."""
    folder = Path(tempfile.mkdtemp())
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=16m", "tmpfs", str(folder)], capture_output=True) if ROOT else None
    if done is None or done.returncode:
        folder.rmdir()
        pytest.skip("no small disk can be mounted here; test_files_that_may_not_grow tries the same by a limit of the process")
    yield folder
    subprocess.run(["mount", "-o", "remount,rw", str(folder)], check=True)
    subprocess.run(["umount", str(folder)], check=True)
    folder.rmdir()


def fill(disk: Path, left: int) -> Path:
    """Fill a disk up to so many bytes."""
    filler = disk / "filler"
    free = os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize
    filler.write_bytes(bytes(max(0, free - left)))
    return filler


SIZES = (0, 200_000) if "SCREENING_KILLS" not in os.environ else (0, 4096, 20_000, 65_536, 131_072, 200_000, 300_000, 500_000)


@pytest.mark.parametrize("left", SIZES)
def test_a_full_disk(forks: Forks, stages: Stages, disk: Path, left: int) -> None:
    database = stages.begin(disk, "site")
    before = contents(database)
    filler = fill(disk, left)
    ended = forks.run(database, *IMPORT)
    assert ended.status in (1, 3)
    if ended.status == 1:
        one_line(ended, "No space left on device", "give the command again")
    filler.unlink()
    assert contents(database) == (before if ended.status == 1 else contents(stages.stores["imported"]))
    assert forks.run(database, *IMPORT).status in (0, 3)
    assert contents(database) == contents(stages.stores["imported"])


def test_a_full_disk_takes_no_backup_and_no_report(forks: Forks, stages: Stages, disk: Path) -> None:
    database = stages.begin(disk, "screened")
    before, names = contents(database), {path.name for path in disk.iterdir()}
    filler = fill(disk, 8192)
    one_line(forks.run(database, "backup", "copy.duckdb"), "No space left on device")
    one_line(forks.run(database, "report", "--run", stages.run, "--to", "out", "--only", "data"), "No space left on device")
    filler.unlink()
    assert {path.name for path in disk.iterdir()} == names
    assert contents(database) == before


@pytest.mark.parametrize("most", [4096, 50_000])
def test_files_that_may_not_grow(forks: Forks, stages: Stages, tmp_path: Path, most: int) -> None:
    database = stages.begin(tmp_path, "site")
    before = contents(database)
    ended = forks.run(database, *IMPORT, limits={"RLIMIT_FSIZE": most})
    assert ended.status in (1, 3)
    if ended.status == 1:
        one_line(ended, "File too large")
    assert contents(database) == (before if ended.status == 1 else contents(stages.stores["imported"]))
    assert forks.run(database, *IMPORT).status in (0, 3)
    assert contents(database) == contents(stages.stores["imported"])


def test_a_folder_that_may_only_be_read(forks: Forks, stages: Stages, disk: Path) -> None:
    database = stages.begin(disk, "screened")
    before, names = database.read_bytes(), {path.name for path in disk.iterdir()}
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    for words in (IMPORT, ("results", "--site", "one"), ("screen", "--site", "one"), ("backup", "copy.duckdb")):
        one_line(forks.run(database, *words), "store.duckdb", "cannot be opened", "check the folder's permissions")
    one_line(forks.run(disk / "new.duckdb", "site", "add", "site.toml"), "new.duckdb", "cannot be opened")
    subprocess.run(["mount", "-o", "remount,rw", str(disk)], check=True)
    assert database.read_bytes() == before and {path.name for path in disk.iterdir()} == names
    elsewhere = Path(tempfile.mkdtemp()) / "store.duckdb"
    shutil.copyfile(database, elsewhere)
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    for words in (("backup", disk / "copy.duckdb"), ("report", "--run", stages.run, "--to", disk / "out", "--only", "data")):
        one_line(forks.run(elsewhere, *words), "Read-only file system")
    one_line(
        forks.run(elsewhere, "import", disk / "lab.csv", "--site", "one", "--preview", "--save-layout", disk / "a.toml"),
        "Read-only",
    )
    assert contents(elsewhere) == contents(stages.stores["screened"])


@pytest.fixture
def shared() -> Iterator[Path]:
    """A folder that every user may enter and nobody but its owner may write."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


def _open_to_all(path: Path) -> bool:
    return all(one.stat().st_mode & 0o001 for one in (path, *path.parents) if one.is_dir())


@pytest.mark.skipif(not ROOT, reason="only root can become another user")
@pytest.mark.skipif(not _open_to_all(Path(__file__).resolve().parents[2]), reason="other users may not read this checkout")
def test_files_of_another_user(forks: Forks, stages: Stages, shared: Path) -> None:
    database = stages.begin(shared, "screened")
    before = database.read_bytes()
    one_line(forks.run(database, *IMPORT, user=NOBODY), "store.duckdb: cannot be opened", "Permission denied", "permissions")
    one_line(forks.run(shared / "new.duckdb", "site", "add", "site.toml", user=NOBODY), "new.duckdb", "Permission denied")
    assert database.read_bytes() == before
    own = Path(tempfile.mkdtemp())
    os.chown(own, NOBODY, NOBODY)
    mine = stages.begin(own, "screened")
    os.chown(mine, NOBODY, NOBODY)
    for name in ("lab.csv", "site.toml"):
        (own / name).chmod(0o600)
    held = contents(mine)
    one_line(forks.run(mine, *IMPORT, user=NOBODY), "lab.csv: may not be read", "Permission denied")
    one_line(forks.run(mine, "site", "add", "site.toml", user=NOBODY), "site.toml: may not be read")
    one_line(
        forks.run(mine, "import", "lab.csv", "--site", "one", "--layout", "site.toml", user=NOBODY), "site.toml: may not be read"
    )
    one_line(forks.run(mine, "levels", "add", "lab.csv", user=NOBODY), "lab.csv: may not be read")
    one_line(forks.run(mine, "custody", "add", "lab.csv", "--site", "one", user=NOBODY), "lab.csv: may not be read")
    one_line(
        forks.run(mine, "report", "--run", stages.run, "--to", shared / "out", "--only", "data", user=NOBODY),
        "out: cannot be written",
        "Permission denied",
    )
    one_line(forks.run(mine, "backup", shared / "copy.duckdb", user=NOBODY), "copy.duckdb", "Permission denied")
    assert contents(mine) == held
    shutil.rmtree(own)


def test_little_memory(forks: Forks, stages: Stages, tmp_path: Path) -> None:
    """Room for the program and no more: it ends in one line, whatever part of it runs out."""
    database = stages.begin(tmp_path, "site")
    before = contents(database)
    ended = forks.run(database, *IMPORT, limits={"RLIMIT_DATA": 400_000_000})
    assert ended.status in (1, 3), ended.error
    assert contents(database) in (before, contents(stages.stores["imported"]))
