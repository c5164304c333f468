"""The texts of the rule files that runs used, kept so that a run outlives the folder they came from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screening.errors import Altered
from screening.store.clock import now

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class RuleUsed:
    """One rule file by its kind and name, and the hash of its text."""

    kind: str
    name: str
    sha256: str


def keep(connection: duckdb.DuckDBPyConnection, files: Iterable[tuple[str, str, str, str]]) -> None:
    """Keep (kind, name, hash, text) inside the caller's transaction."""
    there = set(connection.execute("SELECT kind, name, sha256 FROM rule_text").fetchall())
    new = [file for file in dict.fromkeys(files) if file[:3] not in there]
    if new:
        connection.execute(
            "INSERT INTO rule_text SELECT unnest($3), unnest($1), unnest($2), unnest($4), $5 ON CONFLICT DO NOTHING",
            [*([*column] for column in zip(*new, strict=True)), now(connection)],
        )


def kept(connection: duckdb.DuckDBPyConnection, used: Sequence[RuleUsed]) -> list[tuple[str, str, str]]:
    """(kind, name, text) of the files that a run used, as they were then. Raises `Altered` where one is gone."""
    found = []
    for item in used:
        row = connection.execute(
            "SELECT text FROM rule_text WHERE sha256 = ? AND kind = ? AND name = ?", [item.sha256, item.kind, item.name]
        ).fetchone()
        if row is None:
            raise Altered(f"the text of the rule file {item.kind}/{item.name}", item.sha256)
        found.append((item.kind, item.name, str(row[0])))
    return found
