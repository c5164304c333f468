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
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest
from _pytest.runner import runtestprotocol
from mutants import ROOT, Mutant
from recorded import Asked, replay, verdicts

SECONDS = 900
MOST = 8
"""So many tests whose answers change are run before a mutant counts as having survived."""


@dataclass(frozen=True)
class Fate:
    """How it went: the test that killed the mutant ('' where none did), and the tests of which a verdict or words changed.

    ``late``: it was given up, so nothing is known of it.
    """

    killer: str
    verdict_changes: tuple[str, ...] = ()
    word_changes: tuple[str, ...] = ()
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


class Tests:
    """The tests of some files, collected once; what is done with them is done inside the session that collected them."""

    def __init__(self) -> None:
        self._items: dict[str, pytest.Item] = {}

    def collected(self, files: Iterable[str], work: Callable[[Tests], Any]) -> Any:
        """The answer of the work. Raises `ValueError` where the tests cannot be collected."""
        loop = _Loop(self, work)
        words = ["-s", "-o", "addopts=--import-mode=importlib", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:terminal"]
        found = pytest.main([*(str(ROOT / file) for file in files), *words], plugins=[loop])
        if not loop.done:
            raise ValueError(f"pytest ends with {found}")
        return loop.answer

    def take(self, items: Iterable[pytest.Item]) -> None:
        """These are the tests."""
        self._items = {item.nodeid: item for item in items}

    def of(self, names: Iterable[str]) -> list[str]:
        """The tests that are named, or stand in a file that is."""
        wanted = set(names)
        return [name for name in self._items if name in wanted or name.partition("::")[0] in wanted]

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
        self._tests.take(session.items)
        self.answer = self._work(self._tests)
        self.done = True
        return True


def try_out(mutant: Mutant, first: Sequence[str], asked: Sequence[Asked], tests: Tests) -> Fate:
    """The fate of a mutant, to be called in a fork.

    Tried are the tests named first, then the tests whose answers change, verdicts before words.
    """
    mutant.insert()
    killer = tests.fails(first)
    if killer:
        return Fate(killer)
    verdict: dict[str, None] = {}
    words: dict[str, None] = {}
    for one, answer in _answers(asked):
        if answer == one.answer or one.test in verdict:
            continue
        if verdicts(answer) == verdicts(one.answer):
            words[one.test] = None
            continue
        verdict[one.test] = None
        if tests.fails([one.test]):
            return Fate(one.test)
        if len(verdict) == MOST:
            break
    last = [test for test in words if test not in verdict][:3]
    return Fate(tests.fails(last), tuple(verdict), tuple(words))


def _answers(asked: Sequence[Asked]) -> Iterator[tuple[Asked, Any]]:
    if not asked:
        return
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        for one in asked:
            yield one, replay(connection, one)
