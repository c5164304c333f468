"""One mutant in a process of its own: killed by a test, or not."""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest

from mutants import ROOT, Mutant
from recorded import Asked, replay, verdicts

SECONDS = 150
MOST = 12
"""So many tests whose answers change are run before a mutant counts as having survived."""


@dataclass(frozen=True)
class Fate:
    """How it went: the test that killed the mutant ('' where none did), and the tests of which a verdict or a word changed."""

    killer: str
    verdict_changes: tuple[str, ...] = ()
    word_changes: tuple[str, ...] = ()


def forked(work: Callable[[], Any], late: Any) -> Any:
    """The answer of the work, done in a copy of this process; `late` where it takes too long or ends without answer."""
    with tempfile.NamedTemporaryFile() as file:
        child = os.fork()
        if child == 0:
            os.setpgid(0, 0)
            try:
                answer = work()
                Path(file.name).write_bytes(pickle.dumps(answer))
            finally:
                os._exit(0)
        end = time.monotonic() + SECONDS
        while os.waitpid(child, os.WNOHANG) == (0, 0):
            if time.monotonic() > end:
                os.kill(child, signal.SIGKILL)
                os.waitpid(child, 0)
                return late
            time.sleep(0.005)
        text = Path(file.name).read_bytes()
        return pickle.loads(text) if text else late


def fails(*tests: str) -> bool:
    """Whether one of the tests fails in this process."""
    with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
        found = pytest.main([*(str(ROOT / test) for test in tests), "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"])
    return found == pytest.ExitCode.TESTS_FAILED


def killed_by(mutant: Mutant, test: str) -> bool:
    """Whether the one test kills the mutant."""

    def work() -> bool:
        mutant.insert()
        return fails(test)

    return bool(forked(work, True))


def try_out(mutant: Mutant, first: str, asked: Sequence[Asked], whole: Sequence[str]) -> Fate:
    """The fate of a mutant: the test that killed it last time, then those whose answers change, then `whole` files."""
    late = Fate("a time limit")

    def work() -> Fate:
        mutant.insert()
        if first and fails(first):
            return Fate(first)
        verdict, words = _changed(asked)
        for test in [*verdict, *words][:MOST]:
            if fails(test):
                return Fate(test)
        for file in whole:
            if fails(file):
                return Fate(file)
        return Fate("", tuple(verdict), tuple(words))

    fate = forked(work, late)
    assert isinstance(fate, Fate)
    return fate


def _changed(asked: Sequence[Asked]) -> tuple[list[str], list[str]]:
    """The tests to which some answer changes in a verdict, and those where only its words do."""
    verdict: dict[str, None] = {}
    words: dict[str, None] = {}
    for one, answer in _answers(asked):
        if verdicts(answer) != verdicts(one.answer):
            verdict[one.test] = None
        elif answer != one.answer:
            words[one.test] = None
        if len(verdict) >= MOST:
            break
    return list(verdict), [test for test in words if test not in verdict]


def _answers(asked: Sequence[Asked]) -> Iterator[tuple[Asked, Any]]:
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        for one in asked:
            yield one, replay(connection, one)
