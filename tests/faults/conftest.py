"""Fixtures of the faults: commands in forks, and the main job done once."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from forks import Ended, Forks
from stages import SITE, Stages, write_deliverable


@pytest.fixture(scope="session")
def forks() -> Iterator[Forks]:
    """Commands in forks."""
    made = Forks()
    yield made
    made.close()


@pytest.fixture(scope="session")
def stages(forks: Forks, tmp_path_factory: pytest.TempPathFactory) -> Stages:
    """The main job done once."""
    folder = tmp_path_factory.mktemp("stages")
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    made = Stages(folder)
    write_deliverable(folder)
    store = folder / "store.duckdb"

    def step(stage: str, status: int, *words: object) -> Ended:
        done = forks.run(store, *words)
        assert done.status == status, (words, done.status, done.error)
        made.stores[stage] = folder / f"{stage}.duckdb"
        shutil.copyfile(store, made.stores[stage])
        made.ended[stage] = done
        return done

    step("site", 0, "site", "add", "site.toml")
    said = step("imported", 3, "import", "lab.csv", "--site", "one", "--received", "2025-03-20")
    made.held = said.document["deliverables"][0]["held_back"][0]["id"]
    step("accepted", 0, "held", "accept", made.held, "--all-like-it", "--by", "A", "--why", "misspelled")
    made.run = step("screened", 3, "screen", "--site", "one", "--levels-on", "2025-04-01").document["run"]
    more = write_deliverable(folder, "more.csv", samples=2)
    more.write_text(more.read_text().replace("S", "T"))
    step("added", 3, "import", "more.csv", "--site", "one", "--received", "2025-04-20")
    return made
