"""Temporary tables filled from rows that Python holds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

_BETWEEN = re.compile(r",\s*(?![^()]*\))")
AT_ONCE = 200_000
"""Rows handed over at a time."""


def columns_of(columns: str) -> list[tuple[str, str]]:
    """Names and types of columns written as for `fill`."""
    return [tuple(column.split(" ", 1)) for column in _BETWEEN.split(columns.strip())]


def fill(connection: duckdb.DuckDBPyConnection, table: str, columns: str, rows: Sequence[Sequence[object]]) -> None:
    """Make a temporary table of rows; ``columns`` are names with types, as "id BIGINT, level DECIMAL(38, 18)".

    The rows go over as one list a column: a statement a row takes hundreds of times as long. Decimals go over as text,
    so that no type but the column's own decides how many of their digits are kept.
    """
    picked = ", ".join(f"CAST(unnest(${at}) AS {kind}) AS {name}" for at, (name, kind) in enumerate(columns_of(columns), start=1))
    made = f"CREATE OR REPLACE TEMP TABLE {table}"
    if not rows:
        connection.execute(f"{made} ({columns})")
    for first in range(0, len(rows), AT_ONCE):
        lists = [[_text(value) for value in values] for values in zip(*rows[first : first + AT_ONCE], strict=True)]
        connection.execute(f"{f'INSERT INTO {table}' if first else f'{made} AS'} SELECT {picked}", lists)


def _text(value: object) -> object:
    return f"{value:f}" if isinstance(value, Decimal) else value
