"""Each text of a question is parsed once in a process, however often it is asked: parsing takes a sixth of a small screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    import duckdb

MOST = 1_000
"""Texts that are kept parsed; a program that asks more begins anew."""
_PARSED: dict[str, Sequence[duckdb.Statement]] = {}


class Parsed:
    """A connection to the store in all but this: what it executes is looked up parsed.

    A parsed statement holds no table and no value; both are looked up anew whenever it is executed.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)

    def execute(self, query: str, parameters: object = None) -> duckdb.DuckDBPyConnection:
        """As `duckdb.DuckDBPyConnection.execute`; parameters belong to the last statement of a text."""
        return self._connection.execute(self._last_of(query), parameters)

    def executemany(self, query: str, parameters: object = None) -> duckdb.DuckDBPyConnection:
        """As `duckdb.DuckDBPyConnection.executemany`."""
        return self._connection.executemany(self._last_of(query), parameters)

    def _last_of(self, query: str) -> duckdb.Statement:
        """The last statement of a text; what stands before it is executed."""
        statements = _PARSED.get(query)
        if statements is None:
            if len(_PARSED) >= MOST:
                _PARSED.clear()
            statements = _PARSED[query] = self._connection.extract_statements(query)
        for statement in statements[:-1]:
            self._connection.execute(statement)
        return statements[-1]
