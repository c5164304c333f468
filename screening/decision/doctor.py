"""Every law of the store held against what a store holds, and what breaks them told in plain words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screening.decision.decisions import verify
from screening.decision.runs import stored
from screening.store.database import SCHEMA_VERSION, opened, schema_text
from screening.store.kept_hashes import checked_hashes
from screening.store.rederived import checked_values
from screening.store.soundness import Check, Problem, checked, told

if TYPE_CHECKING:
    import duckdb

SHAPE = "SELECT table_name, column_name, data_type, is_nullable FROM duckdb_columns() WHERE NOT internal AND schema_name = 'main'"


def examine(database: Path, *, every: bool = False, progress: Callable[[str], None] = lambda _: None) -> dict[str, Any]:
    """Look at all laws of a store; ``every`` re-reads every result instead of a sample. Raises `Refused` if it cannot be opened."""
    found: list[Check] = []
    with opened(database) as connection:
        for check in _checks(connection, every):
            progress(check.title)
            found.append(check)
    return {
        "database": str(database), "schema_version": SCHEMA_VERSION, "sound": not any(check.problems for check in found),
        "checks": [asdict(check) for check in found],
    }  # fmt: skip


def _checks(connection: duckdb.DuckDBPyConnection, every: bool) -> Iterator[Check]:
    shape = _shape(connection)
    yield shape
    readable = _readable(connection) if not shape.problems else None
    if readable is None or readable.problems:
        yield from [readable] if readable else []
        return
    yield readable
    yield from checked(connection)
    yield checked_hashes(connection)
    yield _ledger(connection)
    yield _runs(connection)
    yield checked_values(connection, every=every)


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
            ("rule_text", [used.sha256 for used in request.rule_files]),
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
