"""Stores of every earlier schema version, made by the program of their day (keep.py), opened by the program of today.

Nothing that they hold may change, nothing may be lost from what the command line says of them, every law of the store must
hold, and a run made again must be the same in every outcome; where other parts of its answer differ, the cause is named.
"""

from __future__ import annotations

import json
import lzma
import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest

from screening.decision.doctor import SHAPE, examine
from screening.decision.listing import list_results
from screening.decision.reproduce import reproduce
from screening.store.database import SCHEMA_VERSION, opened, schema_text

KEPT = Path(__file__).resolve().parent / "kept"
STORES = sorted(path.name.removesuffix(".duckdb.xz") for path in KEPT.glob("*.duckdb.xz"))
EVERY_RUN = "SCREENING_EVERY_RUN" in os.environ
"""Whether every run of every store is made again, or the last alone."""
DECIDING = (
    "location", "sample_id", "medium", "analyte", "cas", "detected", "value", "unit", "table", "version", "level", "level_unit",
    "outcome",
)  # fmt: skip
TOLD_OTHERWISE = {"assumptions", "levels", "outcomes", "outweighed", "review", "warnings"}
"""Parts of an answer that later programs write otherwise: reasons worded anew, keys added, a review told beside."""
ADDED = {"about", "run_asked"}
"""Tables to which opening adds: the new version, and who asked for runs of versions that did not tell it."""
Tables = dict[str, list[dict[str, Any]]]


@dataclass(frozen=True)
class Upgraded:
    """A kept store: its tables as they were, the file that the program of today has opened, and what was said of it then."""

    name: str
    before: Tables
    database: Path
    said: dict[str, Any]


def _version(name: str) -> int:
    found = re.match(r"schema-(\d+)", name)
    assert found is not None, name
    return int(found[1])


def _tables(connection: duckdb.DuckDBPyConnection) -> Tables:
    names = [row[0] for row in connection.execute("SELECT table_name FROM duckdb_tables() WHERE NOT temporary").fetchall()]
    found = {}
    for name in names:
        rows = connection.execute(f'SELECT * FROM "{name}" ORDER BY ALL')
        columns = [column[0] for column in rows.description or []]
        found[name] = [dict(zip(columns, row, strict=True)) for row in rows.fetchall()]
    return found


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """Unpacks a kept store into a folder of its own."""

    def unpack(name: str) -> Path:
        path = tmp_path_factory.mktemp(name) / "store.duckdb"
        path.write_bytes(lzma.decompress((KEPT / f"{name}.duckdb.xz").read_bytes()))
        return path

    return unpack


@pytest.fixture(scope="module", params=STORES)
def store(request: pytest.FixtureRequest, unpacked: Callable[[str], Path]) -> Upgraded:
    """A kept store, brought up."""
    path = unpacked(request.param)
    with duckdb.connect(path) as connection:
        before = _tables(connection)
    with opened(path):
        pass
    said = json.loads(lzma.decompress((KEPT / f"{request.param}.json.xz").read_bytes()))
    return Upgraded(request.param, before, path, said)


def test_a_store_of_every_version_is_kept() -> None:
    missing = set(range(1, SCHEMA_VERSION + 1)) - {_version(name) for name in STORES}
    assert not missing, f"keep a store of schema version {missing}: python tests/upgrades/keep.py schema-N [--code CHECKOUT]"


def test_the_schema_does_not_change_within_its_version(unpacked: Callable[[str], Path]) -> None:
    with duckdb.connect() as fresh:
        fresh.execute(schema_text())
        today = sorted(fresh.execute(SHAPE).fetchall())
    for name in STORES:
        if _version(name) == SCHEMA_VERSION:
            with duckdb.connect(unpacked(name)) as kept:
                then = sorted(kept.execute(SHAPE).fetchall())
            assert then == today, f"{name} has another shape: raise SCHEMA_VERSION and keep a store of the new version"


def test_nothing_that_it_holds_is_changed(store: Upgraded) -> None:
    with duckdb.connect(store.database) as connection:
        after = _tables(connection)
    assert store.before.keys() <= after.keys()
    for table, rows in store.before.items():
        if table in ADDED:
            continue
        now = [{name: row[name] for name in rows[0]} for row in after[table]] if rows else after[table]
        assert now == rows, table
    assert {row["schema_version"] for row in after["about"]} == {_version(store.name), SCHEMA_VERSION}
    assert {row["run"] for row in after["run_asked"]} == {row["id"] for row in after["run"]}


def test_every_law_holds(store: Upgraded) -> None:
    found = examine(store.database, every=True)
    assert [check["problems"] for check in found["checks"]] == [[]] * len(found["checks"])


def test_results_are_those_of_then(store: Upgraded) -> None:
    with opened(store.database) as connection:
        now = list_results(connection, "quarry", True, None)
    assert len(now) == len(store.said["results"]) > 0
    # which of several stands, and what the review adds, are worked out anew by each program
    worked_out = {"chosen", "review_qualifiers", "source"}
    then = [{key: one[key] for key in one.keys() - worked_out} for one in store.said["results"]]
    assert sorted(then, key=repr) == sorted(
        ({key: one[key] for key in before} for one, before in zip(now, then, strict=True)), key=repr
    )


def test_runs_are_those_of_then(store: Upgraded) -> None:
    with opened(store.database) as connection:
        answers = dict(connection.execute("SELECT id, answer FROM run").fetchall())
    assert answers.keys() == store.said["answers"].keys()
    for run, text in answers.items():
        answer = json.loads(text)  # `runs show` told more beside it, as whether it is stale
        assert {key: store.said["answers"][run][key] for key in answer} == answer


def test_a_run_made_again_is_the_same_or_says_why_not(store: Upgraded) -> None:
    with opened(store.database) as connection:
        runs = [run for (run,) in connection.execute("SELECT id FROM run ORDER BY number DESC").fetchall()]
        made = {run: reproduce(connection, run) for run in (runs if EVERY_RUN else runs[:1])}
    for run, (found, after) in made.items():
        before = store.said["answers"][run]
        assert [_decided(one) for one in after["outcomes"]] == [_decided(one) for one in before["outcomes"]]
        assert (after["counts"], after["recommendation"]["status"]) == (before["counts"], before["recommendation"]["status"])
        assert {one["part"] for one in found["differences"]} <= TOLD_OTHERWISE
        assert all(one["cause"].startswith("software") for one in found["differences"])


def _decided(outcome: dict[str, Any]) -> dict[str, Any]:
    return {key: outcome[key] for key in DECIDING}
