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
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {table} ({columns})")
    types = [kind for _, kind in columns_of(columns)]
    picked = ", ".join(f"CAST(unnest(${at}) AS {kind})" for at, kind in enumerate(types, start=1))
    for first in range(0, len(rows), AT_ONCE):
        lists = [[_text(value) for value in values] for values in zip(*rows[first : first + AT_ONCE], strict=True)]
        connection.execute(f"INSERT INTO {table} SELECT {picked}", lists)


def _text(value: object) -> object:
    return f"{value:f}" if isinstance(value, Decimal) else value
