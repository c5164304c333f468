"""What all tests share: the command line in process, small sites and deliverables, the reference folder."""

from __future__ import annotations

import csv
import gc
import json
import os
import shutil
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from traceback import clear_frames
from typing import Any, ClassVar
from unittest.mock import patch

import click
import duckdb
import pytest
from click.testing import CliRunner

from screening.cli.common import Session
from screening.cli.main import NEW_OBJECTS, commands
from screening.decision.listing import list_results
from screening.store import clock
from screening.store.database import connected, opened

ROOT = Path(__file__).resolve().parent.parent


gc.set_threshold(NEW_OBJECTS)  # as seldom as the program looks for circles


def pytest_collection_finish() -> None:
    """Thousands of collected tests are not looked through for circles again."""
    gc.collect()
    gc.freeze()


@dataclass(frozen=True)
class Said:
    """One call of the command line: exit status, JSON document (None where there is none), standard error."""

    status: int
    document: Any
    error: str


EVERYDAY = {
    "site",
    "levels",
    "import",
    "results",
    "held",
    "review",
    "screen",
    "explain",
    "runs",
    "compare",
    "custody",
    "statistics",
}
"""Commands that leave the file of the store in its place and want nothing else than to read and write in it."""
CREATE = (("site", "add"), ("levels", "add"))
"""Commands that make the store where there is none."""


@cache
def empty_store() -> bytes:
    """A store that holds nothing, made once for all tests: to make one takes longer than most of what they ask of it."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "empty.duckdb"
        with opened(path, create=True):
            pass
        return path.read_bytes()


def _document_alone(session: Session, document: Mapping[str, Any], show: Callable[[], None]) -> None:
    click.echo(session.written(document))


class Office:
    """A store in a folder of its own, and the command line on it."""

    begun: ClassVar[dict[tuple[str, Callable[[], object]], tuple[Said, bytes]]] = {}
    """What new stores began with of late: what the command said, and the store."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.reviewed = True  # whether its plain sites have the review of quality, which takes as long as a comparison
        self.told = True  # whether the text for people is made too, which takes a tenth of a small screen
        self.kept_open = True  # whether the store stays open between commands: a third of a small command is opening and closing
        self._path = folder / "test.duckdb"
        self._open: duckdb.DuckDBPyConnection | None = None

    @property
    def database(self) -> Path:
        """The store, closed."""
        self.let_go()
        return self._path

    @database.setter
    def database(self, path: Path) -> None:
        self.let_go()
        self._path = path

    def let_go(self) -> None:
        """Close the store if it was kept open, so that its file is whole and anybody's."""
        if self._open is not None:
            self._open.execute("PRAGMA enable_checkpoint_on_shutdown")
            self._open.close()
            self._open = None

    def run(self, *words: object) -> Said:
        """`screening --json --database … WORDS`."""
        if self.kept_open and words[:2] in CREATE and not self._path.exists():
            self._path.write_bytes(empty_store())
        if not self.kept_open or words[0] not in EVERYDAY:
            self.let_go()
        elif self._open is None and self._path.exists():
            self._open = connected(self._path)
            self._open.execute(
                "PRAGMA disable_checkpoint_on_shutdown"
            )  # for a folder that is thrown away; `let_go` takes it back
        with nullcontext() if self.told else patch.object(Session, "answer", _document_alone):
            result = CliRunner().invoke(
                commands(), ["--json", "--database", str(self._path), *map(str, words)], catch_exceptions=False
            )
        # how the command ended leads back to here in a circle: the store would stay open until circles are looked for
        clear_frames(result.exc_info[2] if result.exc_info else None)
        result.exc_info = result.exception = None
        if words[0] == "screen" and result.exit_code in (0, 3) and os.environ.get("SCREENING_PORTFOLIO"):
            self._same_in_a_portfolio(words, json.loads(result.stdout))
        return Said(result.exit_code, json.loads(result.stdout) if result.stdout.strip() else None, result.stderr)

    def takes(self, other: Office) -> Office:
        """Begin with all that another office holds: what several tests begin with is made once."""
        self.let_go()
        other.let_go()
        shutil.copytree(other.folder, self.folder, dirs_exist_ok=True)
        return self

    def _same_in_a_portfolio(self, words: Sequence[object], answer: Mapping[str, Any]) -> None:
        """Every screen held against that of a portfolio of the one site, where SCREENING_PORTFOLIO asks for it."""
        from tests.portfolio.same import hold_beside

        hold_beside(self, words, answer)

    def stored(self, site: str = "one") -> list[dict[str, Any]]:
        """What `results --all` tells of a site, without the table for people, which takes longer than the reading."""
        with opened(self._path) as connection:
            return list_results(connection, site, everything=True)

    def site(self, text: str) -> Said:
        """Add a site from the text of a site file."""
        path = self.folder / "site.toml"
        path.write_text(text, encoding="utf-8")
        return self.begin(text, lambda: self.run("site", "add", path))

    def begin(self, asked: object, make: Callable[[], Said]) -> Said:
        """What ``make`` does in the store; where there is none yet, it is done once for what is asked, and copied."""
        if self._path.exists():
            return make()
        key = repr(asked), clock.machine_clock  # a test that has a clock of its own begins by it
        if key not in self.begun:
            said = make()
            if said.status or not self.database.exists():
                return said
            self.begun[key] = said, self.database.read_bytes()
            if len(self.begun) > 20:
                del self.begun[next(iter(self.begun))]
        said, store = self.begun[key]
        self._path.write_bytes(store)
        return said

    def plain_site(self, identity: str = "one", place: str = "us-oh", levels: str = "us-oh/closure", more: str = "") -> Said:
        """Add a site with nothing but its choices of levels."""
        review = "" if self.reviewed else 'review = "none"\n'
        return self.site(
            f'[site]\nid = "{identity}"\nname = "{identity}"\nplace = "{place}"\n[screening]\nlevels = ["{levels}"]\n{review}{more}'
        )

    def deliverable(self, name: str, rows: Iterable[Mapping[str, object]]) -> Path:
        """A csv whose headings are the keys of the rows."""
        path = self.folder / name
        kept = list(rows)
        fields = list(dict.fromkeys(key for row in kept for key in row))
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, fields, restval="")
            writer.writeheader()
            writer.writerows(kept)
        return path


@pytest.fixture
def office(tmp_path: Path) -> Office:
    """A new office with an empty folder."""
    return Office(tmp_path)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Office:
    """An office that the tests of one module share: what takes long is imported once."""
    made = Office(tmp_path_factory.mktemp("desk"))
    return made


@pytest.fixture(scope="session")
def reference() -> Path:
    """The reference folder beside the checkout (or SCREENING_SHARED); tests that need it skip where it is absent."""
    folder = Path(os.environ.get("SCREENING_SHARED", ROOT.parent / "shared")) / "reference"
    if not folder.is_dir():
        pytest.skip("the reference folder is not beside this checkout")
    return folder
