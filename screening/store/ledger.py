"""The decision layer: who decided what, when and why. Appended to, sealed by a hash chain, never changed."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screening.errors import Refused

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Decision:
    """One act of a person."""

    number: int
    made_at: dt.datetime
    site: str
    kind: str
    subject: str
    by_whom: str
    why: str
    old_text: str
    new_text: str
    seal: str


def seal(before: str, made_at: dt.datetime, parts: tuple[str, ...]) -> str:
    """SHA-256 over the previous seal and everything the decision says."""
    text = "\x1f".join((before, made_at.isoformat(), *parts))
    return hashlib.sha256(text.encode()).hexdigest()


def append(
    connection: duckdb.DuckDBPyConnection,
    *,
    site: str,
    kind: str,
    subject: str,
    by_whom: str,
    why: str,
    old_text: str,
    new_text: str,
) -> int:
    """Add a decision inside the caller's transaction and return its number. Raises `Refused` without name or reason."""
    if not by_whom.strip() or not why.strip():
        raise Refused("a decision needs a name and a reason: --by NAME --why TEXT")
    last = connection.execute("SELECT number, seal FROM decision ORDER BY number DESC LIMIT 1").fetchone()
    number, before = (last[0] + 1, last[1]) if last else (1, "")
    made_at = dt.datetime.now(dt.UTC).replace(tzinfo=None, microsecond=0)
    parts = (site, kind, subject, by_whom, why, old_text, new_text)
    connection.execute(
        "INSERT INTO decision VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", [number, made_at, *parts, seal(before, made_at, parts)]
    )
    return number


def decisions(connection: duckdb.DuckDBPyConnection, site: str | None = None) -> list[Decision]:
    """All decisions in order, of one site or of all."""
    rows = connection.execute("SELECT * FROM decision WHERE ? IS NULL OR site = ? ORDER BY number", [site, site]).fetchall()
    return [Decision(*row) for row in rows]


def broken_seal(connection: duckdb.DuckDBPyConnection) -> int | None:
    """The number of the first decision whose seal does not fit, or None where the chain is whole."""
    before = ""
    for item in decisions(connection):
        parts = (item.site, item.kind, item.subject, item.by_whom, item.why, item.old_text, item.new_text)
        if seal(before, item.made_at, parts) != item.seal:
            return item.number
        before = item.seal
    return None


def learned_names(connection: duckdb.DuckDBPyConnection, site: str) -> dict[str, str]:
    """Delivered analyte names that people of this site accepted, and the analyte each stands for."""
    rows = connection.execute(
        "SELECT old_text, new_text FROM decision WHERE site = ? AND kind = 'analyte_taught' ORDER BY number", [site]
    ).fetchall()
    return dict(rows)
