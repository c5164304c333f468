"""One mutant in a process of its own: killed by a test, or not.

Everything is imported and every test collected once, in the parent; a child puts its mutant in and runs the tests that may
kill it.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol
from mutants import ROOT, Mutant

SECONDS = 900
"""After so long a mutant is given up."""


@dataclass(frozen=True)
class Fate:
    """The test that killed the mutant ('' where none did); ``late``: there was no time, so nothing is known of it."""

    killer: str = ""
    late: bool = False


@dataclass(frozen=True)
class _Child:
    number: int
    process: int
    answer: str
    end: float


def each_forked(works: Iterable[Callable[[], Any]], at_once: int, late: Any) -> Iterator[tuple[int, Any]]:
    """Number and answer of each piece of work, done in a copy of this process; `late` where it takes too long."""
    waiting, running = enumerate(works), dict[int, _Child]()
    with tempfile.TemporaryDirectory() as folder:
        while True:
            while len(running) < at_once and (task := next(waiting, None)) is not None:
                child = _start(*task, f"{folder}/{task[0]}")
                running[child.process] = child
            if not running:
                return
            process = os.waitpid(-1, os.WNOHANG)[0]
            if process in running:
                child = running.pop(process)
                text = Path(child.answer).read_bytes() if os.path.exists(child.answer) else b""
                yield child.number, pickle.loads(text) if text else late
            else:
                for child in running.values():
                    if time.monotonic() > child.end:
                        os.kill(child.process, signal.SIGKILL)
                time.sleep(0.01)


def _start(number: int, work: Callable[[], Any], answer: str) -> _Child:
    process = os.fork()
    if process == 0:
        try:
            Path(answer).write_bytes(pickle.dumps(work()))
        finally:
            os._exit(0)
    return _Child(number, process, answer, time.monotonic() + SECONDS)


_OPTIONS = "-s", "--assert=plain", "-oaddopts=--import-mode=importlib", "-pno:cacheprovider", "-pno:xdist", "-pno:terminal"


class Tests:
    """The tests of some files, collected once; what is done with them is done inside the session that collected them."""

    def __init__(self) -> None:
        self._items: dict[str, pytest.Item] = {}

    def collected(self, files: Iterable[str], work: Callable[[Tests], Any]) -> Any:
        """The answer of the work. Raises `ValueError` where the tests cannot be collected."""
        loop = _Loop(self, work)
        found = pytest.main([*(str(ROOT / file) for file in files), *_OPTIONS], plugins=[loop])
        if not loop.done:
            raise ValueError(f"pytest ends with {found}")
        return loop.answer

    def take(self, items: Iterable[pytest.Item]) -> None:
        """These are the tests."""
        self._items = {item.nodeid: item for item in items}

    def of(self, wanted: Iterable[str]) -> list[str]:
        """The tests of the files, or of the names, that are wanted, in the order of these."""
        return [name for one in wanted for name in self._items if one in (name.partition("::")[0], name.partition("[")[0])]

    def fails(self, names: Iterable[str]) -> str:
        """The first of the tests that fails in this process; '' where none does. One that is no more is passed over."""
        return next((name for name in names if name in self._items and _failed(self._items[name])), "")


def _failed(item: pytest.Item) -> bool:
    with (
        tempfile.TemporaryDirectory() as folder,
        open(os.devnull, "w") as nowhere,
        contextlib.redirect_stdout(nowhere),
        contextlib.redirect_stderr(nowhere),
    ):
        item.config._tmp_path_factory._basetemp = Path(folder).resolve()  # type: ignore[attr-defined]  # one a child
        return any(report.failed for report in runtestprotocol(item, log=False, nextitem=None))


class _Loop:
    """A plugin of pytest that does something else with the collected tests than to run them all."""

    def __init__(self, tests: Tests, work: Callable[[Tests], Any]) -> None:
        self._tests, self._work = tests, work
        self.answer: Any = None
        self.done = False

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Called by pytest when all is collected."""
        if session.testsfailed:
            return False
        session.config.option.tbstyle = "native"  # what nobody reads need not be drawn
        self._tests.take(session.items)
        self.answer = self._work(self._tests)
        self.done = True
        return True


def try_out(mutant: Mutant, first: Iterable[str], tests: Tests) -> Fate:
    """The fate of a mutant by the tests named, to be called in a fork."""
    mutant.insert()
    return Fate(tests.fails(first))
