"""Every law of the store held against what a store holds, and what breaks them told in plain words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screening.decision.decisions import verify
from screening.decision.runs import rules_beside, stored
from screening.store.database import SCHEMA_VERSION, opened, schema_text
from screening.store.kept_hashes import checked_hashes
from screening.store.rederived import checked_values
from screening.store.soundness import Check, Problem, checked_account, checked_answers, checked_references, told

if TYPE_CHECKING:
    import duckdb

SHAPE = "SELECT table_name, column_name, data_type, is_nullable FROM duckdb_columns() WHERE NOT internal AND schema_name = 'main'"


def examine(database: Path, *, every: bool = False, progress: Callable[[str], None] = lambda _: None) -> dict[str, Any]:
    """Look at all laws of a store; ``every`` re-reads every result instead of a sample. Raises `Refused` if it cannot be opened."""
    with opened(database) as connection:
        found = list(checks(connection, every=every, progress=progress))
    return {
        "database": str(database), "schema_version": SCHEMA_VERSION, "sound": not any(check.problems for check in found),
        "checks": [asdict(check) for check in found],
    }  # fmt: skip


CHECKS: Mapping[str, Callable[[duckdb.DuckDBPyConnection, bool], Check]] = {
    "schema": lambda connection, _: _shape(connection),
    "blocks": lambda connection, _: _readable(connection),
    "account": lambda connection, _: checked_account(connection),
    "references": lambda connection, _: checked_references(connection),
    "answers": lambda connection, _: checked_answers(connection),
    "hashes": lambda connection, _: checked_hashes(connection),
    "decisions": lambda connection, _: _ledger(connection),
    "runs": lambda connection, _: _runs(connection),
    "values": lambda connection, every: checked_values(connection, every=every),
}
BEFORE_ALL = ("schema", "blocks")
"""Without these the others cannot be looked at."""


def checks(
    connection: duckdb.DuckDBPyConnection,
    *,
    only: str = "",
    every: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> Iterator[Check]:
    """The checks in order, all of them or the one named; after one of `BEFORE_ALL` that finds problems there are no more."""
    for name, check in CHECKS.items():
        if only in ("", name):
            progress(f"looking at {name}")
            found = check(connection, every)
            yield found
            if found.problems and name in BEFORE_ALL:
                return


def _shape(connection: duckdb.DuckDBPyConnection) -> Check:
    import duckdb

    with duckdb.connect() as fresh:
        fresh.execute(schema_text())
        wanted = {row[:2]: row[2:] for row in fresh.execute(SHAPE).fetchall()}
    there = {row[:2]: row[2:] for row in connection.execute(SHAPE).fetchall()}
    problems = []
    for (table, column), (kind, _) in wanted.items():
        if (table, column) not in there:
            problems.append(Problem(table, "", f"column {column} is missing"))
        elif there[table, column][0] != kind:
            problems.append(Problem(table, "", f"column {column} is {there[table, column][0]} and not {kind}"))
    return told("schema", "tables and columns are those of the schema version", len(wanted), problems)


def _readable(connection: duckdb.DuckDBPyConnection) -> Check:
    """Every block of every table read once: the database library holds a checksum for each."""
    import duckdb

    problems, looked = [], 0
    for (table,) in connection.execute(
        "SELECT table_name FROM duckdb_tables() WHERE NOT internal ORDER BY table_name"
    ).fetchall():
        try:
            row = connection.execute(f'SELECT count(*), sum(hash(kept)) FROM "{table}" AS kept').fetchone()
            looked += int(row[0]) if row else 0
        except duckdb.Error as error:
            problems.append(Problem(table, "", f"cannot be read ({str(error).splitlines()[0]}); restore a backup"))
    return told("blocks", "every row of every table can be read", looked, problems)


def _ledger(connection: duckdb.DuckDBPyConnection) -> Check:
    found = verify(connection)
    first = found["first_broken"]
    problems = [Problem("decision", str(first["number"]), first["text"])] if first else []
    return told(
        "decisions", "the chain of decisions is unbroken, and what was signed off is as it was", found["entries"], problems
    )


def _runs(connection: duckdb.DuckDBPyConnection) -> Check:
    """Run ids against the hash of their requests, what the requests name against what is kept, answers against their counts."""
    rows = connection.execute("SELECT id, number, site FROM run ORDER BY number").fetchall()
    kept = {
        table: {row[0] for row in connection.execute(f"SELECT {column} FROM {table}").fetchall()}
        for table, column in (
            ("deliverable", "id"), ("custody", "id"), ("decision", "number"), ("site_file", "sha256"), ("level_text", "sha256"),
            ("rule_text", "sha256"), ("review_text", "sha256"),
        )
    }  # fmt: skip
    problems = []
    for at, (run, number, site) in enumerate(rows, start=1):
        told_of = [] if number == at else [f"its number is {number}: run number {at} is missing"]
        try:
            request, snapshot, said = stored(connection, run)
        except (ValueError, KeyError, TypeError) as error:
            problems.append(Problem("run", run, f"its request or answer can no longer be read ({type(error).__name__})"))
            continue
        if request.run_id != run:
            told_of.append("its id does not follow from its request; one of them was changed")
        if (said.get("run"), said.get("site"), request.site) != (run, site, site):
            told_of.append("its answer or request is of another run or site")
        named = (
            ("deliverable", snapshot.deliverables), ("custody", snapshot.custody), ("decision", snapshot.decisions),
            ("site_file", (request.site_sha256,)), ("level_text", [used.sha256 for used in request.levels]),
            ("rule_text", [used.sha256 for used in (*request.rule_files, *(rules_beside(connection, run) or ()))]),
            ("review_text", [request.review.sha256] if request.review else []),
        )  # fmt: skip
        told_of += [f"{table} {one}, which it used, is missing" for table, ids in named for one in ids if one not in kept[table]]
        told_of += _miscounted(said)
        problems += [Problem("run", run, text) for text in told_of]
    return told(
        "runs", "every run has the id of its request, all that it used is kept, and its answer adds up", len(rows), problems
    )


def _miscounted(said: dict[str, Any]) -> Iterator[str]:
    for outcome, counted in said["counts"].items():
        found = sum(one["outcome"] == outcome for one in said["outcomes"])
        if found != counted:
            yield f"its answer counts {counted} outcomes '{outcome}' and holds {found}"
