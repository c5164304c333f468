"""One mutant in a process of its own: killed by a test, or not."""

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


class _First:
    """A plugin of pytest that keeps the first test that fails."""

    def __init__(self) -> None:
        self.failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Called by pytest for each stage of each test."""
        if report.failed and not self.failed:
            self.failed = report.nodeid


def fails(*tests: str) -> str:
    """The first of the tests, or of files of tests, that fails in this process; '' where none does.

    Raises `ValueError` for a test that is not there.
    """
    first = _First()
    with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
        words = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
        found = pytest.main([*(str(ROOT / test) for test in tests), *words], plugins=[first])
    if found not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED):
        raise ValueError(f"pytest ends with {found} for {', '.join(tests)}")
    return first.failed


def try_out(mutant: Mutant, first: str, asked: Sequence[Asked], files: Sequence[str]) -> Fate:
    """The fate of a mutant, to be called in a fork.

    Tried are the test that killed it last time, the tests whose answers change (verdicts before words), then ``files``.
    """
    mutant.insert()
    if first and _still_there(first) and fails(first):
        return Fate(first)
    verdict: dict[str, None] = {}
    words: dict[str, None] = {}
    for one, answer in _answers(asked):
        if answer == one.answer or one.test in verdict:
            continue
        if verdicts(answer) == verdicts(one.answer):
            words[one.test] = None
            continue
        verdict[one.test] = None
        if fails(one.test):
            return Fate(one.test)
        if len(verdict) == MOST:
            break
    last = [*[test for test in words if test not in verdict][:3], *files]
    return Fate(fails(*last) if last else "", tuple(verdict), tuple(words))


def _still_there(test: str) -> bool:
    """Whether the file of a test and its function are where they were when it was kept."""
    file, _, name = test.partition("::")
    path = ROOT / file
    return path.exists() and f"def {name.partition('[')[0]}(" in path.read_text(encoding="utf-8")


def _answers(asked: Sequence[Asked]) -> Iterator[tuple[Asked, Any]]:
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        for one in asked:
            yield one, replay(connection, one)
