"""Sign-offs in the ledger: a named person stands for a run as it was on a state of the data and of the law."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.store.ledger import append

if TYPE_CHECKING:
    import duckdb

SIGNED, WITHDRAWN = "signed_off", "sign_off_withdrawn"
KINDS = (SIGNED, WITHDRAWN)
"""Kinds of decisions that speak of runs and not of data: they make no run stale."""


@dataclass(frozen=True)
class SignOff:
    """One sign-off, and its withdrawal where there is one.

    ``signed`` holds what was signed: the run, its data state, all data known then (``known``), the level versions, the site
    file and the fingerprint of the answer; ``licence`` is '' where none was named.
    """

    number: int
    made_at: dt.datetime
    site: str
    run: str
    by_whom: str
    why: str
    signed: Mapping[str, Any]
    withdrawn: Mapping[str, str] | None = None

    @property
    def id(self) -> str:
        """The name by which it is withdrawn."""
        return f"s{self.number}"


def sign(connection: duckdb.DuckDBPyConnection, site: str, run: str, signed: Mapping[str, Any], by_whom: str, why: str) -> int:
    """Append a sign-off inside the caller's transaction. Raises `Refused` without name or reason."""
    text = json.dumps(dict(signed), ensure_ascii=False, sort_keys=True)
    return append(
        connection, site=site, kind=SIGNED, subject=run, by_whom=by_whom, why=why, old_text="", new_text=text
    )  # fmt: skip


def withdraw(connection: duckdb.DuckDBPyConnection, one: SignOff, by_whom: str, why: str) -> int:
    """Append the withdrawal of a sign-off inside the caller's transaction. Raises `Refused` without name or reason."""
    return append(
        connection, site=one.site, kind=WITHDRAWN, subject=one.id, by_whom=by_whom, why=why,
        old_text=f"run {one.run} signed off by {one.by_whom}", new_text="",
    )  # fmt: skip


def sign_offs(connection: duckdb.DuckDBPyConnection) -> list[SignOff]:
    """Every sign-off in order, with its withdrawal."""
    rows = connection.execute(
        "SELECT number, made_at, site, subject, by_whom, why, new_text, kind FROM decision WHERE list_contains(?, kind) ORDER BY number",
        [list(KINDS)],
    ).fetchall()
    gone = {
        subject: {"by": by_whom, "why": why, "made_at": moment(made_at)}
        for _, made_at, _, subject, by_whom, why, _, kind in rows
        if kind == WITHDRAWN
    }
    return [
        SignOff(number, made_at, site, run, by_whom, why, json.loads(text), gone.get(f"s{number}"))
        for number, made_at, site, run, by_whom, why, text, kind in rows
        if kind == SIGNED
    ]


def moment(made_at: dt.datetime) -> str:
    """A moment as documents show it (UTC)."""
    return made_at.isoformat(sep=" ", timespec="seconds")
