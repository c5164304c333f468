"""The decision layer: who decided what, when and why. Appended to, sealed by a hash chain, never changed."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screening.errors import Refused
from screening.store.clock import now

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


@dataclass(frozen=True)
class Until:
    """The decisions before a number, and before a moment (UTC); None means all."""

    number: int | None = None
    moment: dt.datetime | None = None


NOW = Until()


def seal(before: str, made_at: dt.datetime, parts: tuple[str, ...]) -> str:
    """SHA-256 over the previous seal and everything the decision says."""
    text = "\x1f".join((before, made_at.isoformat(), *parts))
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True)
class Act:
    """What a person decides, before it is numbered and sealed."""

    site: str
    kind: str
    subject: str
    old_text: str
    new_text: str


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
    return append_all(connection, [Act(site, kind, subject, old_text, new_text)], by_whom, why)[0]


def append_all(
    connection: duckdb.DuckDBPyConnection, acts: Sequence[Act], by_whom: str, why: str, moment: dt.datetime | None = None
) -> list[int]:
    """Add the decisions of one act inside the caller's transaction and return their numbers.

    ``moment`` dates them instead of `screening.store.clock.now`. Raises `Refused` without name or reason.
    """
    if not by_whom.strip() or not why.strip():
        raise Refused("a decision needs a name and a reason: --by NAME --why TEXT")
    last = connection.execute("SELECT number, seal FROM decision ORDER BY number DESC LIMIT 1").fetchone()
    known, before = (int(last[0]), str(last[1])) if last else (0, "")
    made_at = (moment or now(connection)).replace(microsecond=0)
    rows, numbers = [], list(range(known + 1, known + 1 + len(acts)))
    for number, act in zip(numbers, acts, strict=True):
        parts = (act.site, act.kind, act.subject, by_whom, why, act.old_text, act.new_text)
        before = seal(before, made_at, parts)
        rows.append([number, made_at, *parts, before])
    if rows:
        connection.executemany("INSERT INTO decision VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)
    return numbers


def decisions(connection: duckdb.DuckDBPyConnection, site: str | None = None) -> list[Decision]:
    """All decisions in order, of one site or of all."""
    rows = connection.execute("SELECT * FROM decision WHERE ? IS NULL OR site = ? ORDER BY number", [site, site]).fetchall()
    return [Decision(*row) for row in rows]


def learned_names(connection: duckdb.DuckDBPyConnection, site: str, until: Until = NOW) -> dict[str, str]:
    """Delivered analyte names that people accepted, and the analyte each stands for."""
    return dict(_taught(connection, site, "analyte_taught", until))


def learned_words(connection: duckdb.DuckDBPyConnection, site: str, until: Until = NOW) -> dict[str, dict[str, str]]:
    """Delivered units, media, sample kinds and qualifiers that people accepted: field -> delivered text -> our word."""
    words: dict[str, dict[str, str]] = {}
    for place, value in _taught(connection, site, "word_taught", until):
        of_field, _, text = place.partition(":")
        words.setdefault(of_field, {})[text] = value
    return words


def _taught(connection: duckdb.DuckDBPyConnection, site: str, kind: str, until: Until) -> list[tuple[str, str]]:
    """What was taught for all sites (kept under the site ''), then what was taught for this one, which wins."""
    rows = connection.execute(
        "SELECT old_text, new_text FROM decision WHERE site IN ('', ?) AND kind = ? AND (? IS NULL OR number < ?) "
        "AND (? IS NULL OR made_at < ?) ORDER BY site = '' DESC, number",
        [site, kind, until.number, until.number, until.moment, until.moment],
    ).fetchall()
    return [(row[0], row[1]) for row in rows]
