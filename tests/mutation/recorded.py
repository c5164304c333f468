"""What the tests give to the comparison, kept, so that a mutant is first held against it without running any test.

A test sees of the comparison nothing but its answer. Where no answer to what any test asks changes, no test can fail;
where one changes, the test that asked is run.
"""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest

from screening.decision import answer as answers
from screening.screen.outcomes import Outcome, hold_against

READ = ("ranked", "dry", "reviewed", "field_pair", "delivered", "deliverable")


@dataclass(frozen=True)
class Asked:
    """One comparison that a test asked for, and its answer."""

    test: str
    frames: dict[str, Any]
    words: tuple[Any, ...]
    answer: list[Outcome]


class Recorder:
    """A plugin of pytest that keeps every comparison."""

    def __init__(self) -> None:
        self.kept: list[Asked] = []
        self.failed = 0
        self._test = ""

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> None:
        """Which test is running."""
        self._test = item.nodeid

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Whether all is well without a mutant."""
        self.failed += report.failed

    def hold_against(self, connection: duckdb.DuckDBPyConnection, *words: Any) -> list[Outcome]:
        """Stands in for the comparison, which it calls."""
        frames = {name: connection.sql(f"SELECT * FROM {name}").to_arrow_table() for name in READ}
        answer = hold_against(connection, *words)
        self.kept.append(Asked(self._test, frames, words, answer))
        return answer


def record(tests: tuple[str, ...], to: Path) -> int:
    """Run the tests, write what they asked for, and say how many failed."""
    recorder = Recorder()
    answers.hold_against = recorder.hold_against  # type: ignore[assignment]
    pytest.main([*tests, "-q", "-p", "no:cacheprovider", "-p", "no:xdist"], plugins=[recorder])
    to.write_bytes(pickle.dumps(recorder.kept))
    return recorder.failed


def read(path: Path) -> list[Asked]:
    """What was kept, each question once, the small ones first."""
    unique: dict[bytes, Asked] = {}
    for asked in pickle.loads(path.read_bytes()):
        unique.setdefault(pickle.dumps((asked.frames["ranked"].to_pylist(), asked.words)), asked)
    return sorted(unique.values(), key=lambda asked: asked.frames["ranked"].num_rows)


def replay(connection: duckdb.DuckDBPyConnection, asked: Asked) -> list[Outcome] | str:
    """The answer of the code as it is now, or the fault."""
    try:
        for name, frame in asked.frames.items():
            connection.register("filling", frame)
            connection.execute(f"CREATE OR REPLACE TEMP TABLE {name} AS SELECT * FROM filling")
            connection.unregister("filling")
        return hold_against(connection, *asked.words)
    except Exception as fault:
        return f"{type(fault).__name__}: {fault}"


def verdicts(answer: list[Outcome] | str) -> Any:
    """What of an answer is a verdict, without its words and figures."""
    if isinstance(answer, str):
        return answer
    return sorted(
        (
            one.sample_id,
            one.sample_kind,
            one.location,
            str(one.depth_top),
            one.medium,
            one.analyte,
            one.fraction,
            one.table,
            one.outcome,
        )
        for one in answer
    )
