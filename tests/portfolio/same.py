"""The outcomes of a portfolio and those of `screen`, site by site, in the same words."""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Protocol

import duckdb

from screening.screen.measure import plain

Told = Counter[tuple[Any, ...]]
WORDS = (
    "sample_id", "sample_kind", "depth_top", "depth_bottom", "medium", "analyte", "cas", "fraction", "unit", "detected",
    "lower", "upper", "table", "version", "level_normal", "outcome", "outweighed",
)  # fmt: skip
"""Keys of an outcome in the answer of `screen` that its portfolio must tell alike."""
PICKED = ", ".join({"level_normal": "level", "table": "level_table"}.get(word, word) for word in WORDS)
AT_WRITING = ("missing_basis", "equivalents_nondetects", "chosen_rule", "review", "wording.")
"""Settings that are said when a portfolio is written."""
SMALL = [
    word
    for key in ("shuffle.partitions=1", "codegen.wholeStage=false", "adaptive.enabled=false")
    for word in ("--spark", f"spark.sql.{key}")
]
"""What saves Spark its preparations for large data."""


class Desk(Protocol):
    """An office, see `tests.conftest`."""

    def run(self, *words: object) -> Any: ...


def told_by(folder: Path) -> Told:
    """The outcomes that `portfolio screen` wrote."""
    rows = duckdb.execute(f"SELECT site, {PICKED} FROM read_parquet('{folder}/outcome/*.parquet')").fetchall()
    return Counter(tuple(plain(value) if isinstance(value, Decimal) else value for value in row) for row in rows)


def rows_apart(one: Path, other: Path) -> tuple[int, int]:
    """Of two answers of `portfolio screen` the rows, in all their columns, that have no like in the other."""
    told = [f"read_parquet('{folder}/outcome/*.parquet')" for folder in (one, other)]
    columns = [{name: kind for name, kind, *_ in duckdb.execute(f"DESCRIBE FROM {rows}").fetchall()} for rows in told]
    assert columns[0] == columns[1]
    queries = [f"SELECT {', '.join(columns[0])} FROM {rows}" for rows in told]
    with duckdb.connect() as connection, tempfile.TemporaryDirectory() as scratch:
        connection.execute(f"SET memory_limit = '2GB'; SET temp_directory = '{scratch}'")
        first, second = (
            int(connection.execute(f"SELECT count(*) FROM ({left} EXCEPT ALL {right})").fetchall()[0][0])
            for left, right in (queries, reversed(queries))
        )
    return first, second


def told_one_by_one(answers: Mapping[str, Mapping[str, Any]]) -> Told:
    """The outcomes of the same sites, each screened by itself."""
    return Counter(
        (site, *(item[word] for word in WORDS))
        for site, answer in answers.items()
        for item in (*answer["outcomes"], *answer["outweighed"])
    )


def difference(one: Told, other: Told) -> dict[str, list[Any]]:
    """What only one of them tells, the first few."""
    return {"only the first": list((one - other).elements())[:4], "only the second": list((other - one).elements())[:4]}


NONE: dict[str, list[Any]] = {"only the first": [], "only the second": []}


def hold_beside(desk: Desk, words: Sequence[object], answer: Mapping[str, Any]) -> None:
    """Put the question of a screen to a portfolio of its one site; the outcomes must be the same."""
    given = [str(word) for word in words[1:]]
    pairs = list(zip(given[::2], given[1::2], strict=True))
    at_writing, at_screening = [], []
    for option, value in pairs:
        if option == "--site" or (option == "--data-on") or (option == "--setting" and value.startswith(AT_WRITING)):
            at_writing += [option, value]
        elif option == "--levels":
            at_writing += [option, value.partition("@")[0]]
            at_screening += [option, value] if "@" in value else []
        elif option != "--sampling":
            at_screening += [option, value]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        said = desk.run("portfolio", "write", folder / "written", *at_writing)
        assert said.document and not said.document["refused"], said.error
        said = desk.run("portfolio", "screen", folder / "written", "--to", folder / "out", *at_screening)
        assert said.document and not said.document["refused"], said.error
        assert difference(told_one_by_one({answer["site"]: answer}), told_by(folder / "out")) == NONE
