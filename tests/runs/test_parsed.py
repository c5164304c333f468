"""A text that was parsed before asks the tables and values of now."""

from __future__ import annotations

from collections.abc import Iterator

import duckdb
import pytest

from screening.store import parsed
from screening.store.parsed import Parsed


@pytest.fixture
def connection() -> Iterator[Parsed]:
    with duckdb.connect() as bare:
        yield Parsed(bare)


def test_tables_are_looked_up_anew(connection: Parsed) -> None:
    asked = "SELECT * FROM kept ORDER BY ALL"
    connection.execute("CREATE TABLE kept AS SELECT 1 AS number")
    assert connection.execute(asked).fetchall() == [(1,)]
    connection.execute(
        "DROP TABLE kept; CREATE TABLE kept AS SELECT 'two' AS word, DATE '2026-01-02' AS day; INSERT INTO kept FROM kept"
    )
    assert [(one[0], one[1].isoformat()) for one in connection.execute(asked).fetchall()] == [("two", "2026-01-02")] * 2


def test_values_are_those_given_each_time(connection: Parsed) -> None:
    asked = "SELECT CAST($one AS VARCHAR), $two"
    told = [connection.execute(asked, {"one": one, "two": two}).fetchone() for one, two in ((1, "a"), ("x", 2), (None, None))]
    assert told == [("1", "a"), ("x", 2), (None, None)]


def test_all_statements_of_a_text_are_executed_each_time(connection: Parsed) -> None:
    connection.execute("CREATE TABLE counted (number INTEGER)")
    text = "INSERT INTO counted VALUES (1); INSERT INTO counted VALUES (2); SELECT count(*) FROM counted WHERE number >= ?"
    assert [connection.execute(text, [1]).fetchone(), connection.execute(text, [2]).fetchone()] == [(2,), (2,)]
    connection.executemany("INSERT INTO counted VALUES (?)", [[3], [4], [5]])
    connection.executemany("INSERT INTO counted VALUES (?)", [[6]])
    assert connection.execute("SELECT sum(number) FROM counted").fetchone() == (1 + 2 + 1 + 2 + 3 + 4 + 5 + 6,)


def test_what_cannot_be_parsed_is_told_and_not_kept(connection: Parsed) -> None:
    for _ in range(2):
        with pytest.raises(duckdb.ParserException):
            connection.execute("SELEKT 1")
    assert "SELEKT 1" not in parsed._PARSED


def test_never_more_than_so_many_are_kept(connection: Parsed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parsed, "MOST", 10)
    monkeypatch.setattr(parsed, "_PARSED", {})
    assert [connection.execute(f"SELECT {at}").fetchone() for at in range(35)] == [(at,) for at in range(35)]
    assert len(parsed._PARSED) <= 10
