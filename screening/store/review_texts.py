"""Review editions kept in the store: the text of every edition that a run used, so that the run outlives the folder."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING

from screening.errors import Altered
from screening.store.clock import now

if TYPE_CHECKING:
    import duckdb


def keep(connection: duckdb.DuckDBPyConnection, sha256: str, edition: str, version: str, texts: Mapping[str, str]) -> None:
    """Keep the files of an edition inside the caller's transaction."""
    if connection.execute("SELECT 1 FROM review_text WHERE sha256 = ?", [sha256]).fetchone():
        return
    connection.execute(
        "INSERT INTO review_text VALUES (?, ?, ?, ?, ?)",
        [sha256, edition, version, json.dumps(dict(texts), ensure_ascii=False, sort_keys=True), now(connection)],
    )


def kept(connection: duckdb.DuckDBPyConnection, sha256: str) -> dict[str, str]:
    """The files of an edition that a run used, as they were then. Raises `Altered` where they are gone."""
    row = connection.execute("SELECT texts FROM review_text WHERE sha256 = ?", [sha256]).fetchone()
    if row is None:
        raise Altered("the text of a review edition", sha256)
    return dict(json.loads(row[0]))
