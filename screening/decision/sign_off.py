"""Signing a run off, withdrawing that, and how each sign-off stands once data, site facts or levels move on."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from screening.decision.runs import answer_text, stored
from screening.decision.standing import Today
from screening.errors import Refused
from screening.site.site_file import fingerprint
from screening.store import sign_offs as kept
from screening.store.database import transaction
from screening.store.sign_offs import SignOff, moment

if TYPE_CHECKING:
    import duckdb

STANDS, WITHDRAWN = "stands", "withdrawn"
DATA_CHANGED = "stale: data changed after sign-off"
FACTS_CHANGED = "stale: site file changed after sign-off"


def sign_off(
    connection: duckdb.DuckDBPyConnection, today: Today, run: str, by_whom: str, licence: str, why: str, *, although_stale: bool
) -> dict[str, Any]:
    """Sign a run off and return the entry.

    Raises `Refused` without name or reason, for an unknown run, for a stale one (unless ``although_stale``: the answer to a
    question about a day that is past), and where the same person's sign-off of the run stands.
    """
    request, _, _ = stored(connection, run)
    standing = today.standing(request)
    if standing.stale and not although_stale:
        raise Refused(
            f"run {run} is stale: {', '.join(standing.stale)}; screen again and sign that run, or say --although-stale for an "
            "answer about a day that is past"
        )
    for one in kept.sign_offs(connection):
        if (one.run, one.by_whom) == (run, by_whom) and status(today, one) == STANDS:
            raise Refused(f"run {run} was signed off by {by_whom} on {moment(one.made_at)} already ({one.id}), and that stands")
    signed = {
        "licence": licence, "data": request.data, "known": today.data(request.site), "site_file": request.site_sha256,
        "site_file_known": fingerprint(today.site_text(request.site)),
        "levels": [asdict(used) for used in request.levels], "stale_because": list(standing.stale),
        "answer_sha256": hashlib.sha256(answer_text(connection, run).encode()).hexdigest(),
    }  # fmt: skip
    with transaction(connection):
        number = kept.sign(connection, request.site, run, signed, by_whom, why)
    return next(document(today, one) for one in kept.sign_offs(connection) if one.number == number)


def withdraw(connection: duckdb.DuckDBPyConnection, today: Today, named: str, by_whom: str, why: str) -> dict[str, Any]:
    """Withdraw a sign-off named by its id, or by its run where one stands. Raises `Refused` where that is none or several."""
    every = kept.sign_offs(connection)
    found = [one for one in every if one.withdrawn is None and named in (one.id, one.run)]
    if len(found) != 1:
        told = ", ".join(f"{one.id} by {one.by_whom}" for one in found)
        gone = any(named in (one.id, one.run) for one in every)
        raise Refused(
            f"'{named}' names several sign-offs: {told}; name one of them"
            if found
            else f"'{named}' is {'withdrawn already' if gone else 'no sign-off and no run that is signed off'}; 'screening signed-off list' shows them"
        )
    with transaction(connection):
        kept.withdraw(connection, found[0], by_whom, why)
    return next(document(today, one) for one in kept.sign_offs(connection) if one.number == found[0].number)


def status(today: Today, one: SignOff) -> str:
    """Whether a sign-off stands, is stale or was withdrawn."""
    if one.withdrawn is not None:
        return WITHDRAWN
    if one.signed["known"] != today.data(one.site):
        return DATA_CHANGED
    if today.facts_changed(one.site, one.signed["site_file_known"]):
        return FACTS_CHANGED
    return STANDS


def document(today: Today, one: SignOff) -> dict[str, Any]:
    """A sign-off as documents show it."""
    return {
        "id": one.id, "run": one.run, "site": one.site, "by": one.by_whom, "licence": one.signed["licence"], "why": one.why,
        "made_at": moment(one.made_at), "data": one.signed["data"][:12],
        "levels": [f"{used['table']}@{used['version']}" for used in one.signed["levels"]],
        "signed_although": list(one.signed["stale_because"]), "status": status(today, one),
        "notices": today.newer_than((used["table"], used["version"]) for used in one.signed["levels"]),
        "withdrawn": None if one.withdrawn is None else dict(one.withdrawn),
    }  # fmt: skip


def signed_off(connection: duckdb.DuckDBPyConnection, today: Today, sites: Sequence[str] = ()) -> list[dict[str, Any]]:
    """Every sign-off in order, of these sites or of all."""
    return [document(today, one) for one in kept.sign_offs(connection) if not sites or one.site in sites]


def of_run(entries: Iterable[dict[str, Any]], run: str) -> list[dict[str, Any]]:
    """The sign-offs of one run."""
    return [one for one in entries if one["run"] == run]


def line(one: dict[str, Any]) -> str:
    """A sign-off in one line."""
    licence = f" ({one['licence']})" if one["licence"] else ""
    gone = one["withdrawn"]
    told = f"withdrawn by {gone['by']} on {gone['made_at']} UTC: {gone['why']}" if gone else one["status"]
    return f"signed off by {one['by']}{licence} on {one['made_at']} UTC: {told}"
