"""The decisions of people: listed, and verified against their seals, the runs that used them and the answers signed off."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.decision.runs import asked_in
from screening.store.ledger import Decision, decisions, seal
from screening.store.sign_offs import moment, sign_offs

if TYPE_CHECKING:
    import duckdb

KIND_WORDS = {
    "held_accepted": "held row accepted", "held_rejected": "held row rejected", "analyte_taught": "name taught",
    "word_taught": "word taught", "qualifier_taught": "qualifier taught", "review_override": "review overridden",
    "levels_added": "levels added", "signed_off": "signed off", "sign_off_withdrawn": "sign-off withdrawn",
    "clock_found_right": "clock found right",
}  # fmt: skip


def list_decisions(connection: duckdb.DuckDBPyConnection, site: str | None) -> list[dict[str, Any]]:
    """The entries of the ledger in order; of one site, with those made for all sites, or every one."""
    return [_document(one) for one in decisions(connection) if site is None or one.site in ("", site)]


@dataclass(frozen=True)
class Broken:
    """The first entry at which the ledger is not what was written, and how."""

    number: int | None
    text: str


def verify(connection: duckdb.DuckDBPyConnection, holds: str | None = None) -> dict[str, Any]:
    """The document of `decisions verify`.

    Every entry must carry the seal that follows from the entry before and from what it says, and none may be missing: not
    in the row of numbers, not of those that runs used. A run that was signed off must still hold the answer that was
    signed. ``holds`` is a seal noted elsewhere (its first letters are enough), which the chain must hold.
    """
    entries = decisions(connection)
    broken = _chain(entries) or _used(connection, {one.number for one in entries}) or _signed(connection)
    if broken is None and holds is not None and not any(one.seal.startswith(holds) for one in entries):
        broken = Broken(None, f"no entry has the seal {holds}: entries were taken away, or all were written anew")
    at = next((one for one in entries if broken is not None and one.number == broken.number), None)
    return {
        "whole": broken is None,
        "entries": len(entries),
        "last_seal": entries[-1].seal if entries else "",
        "first_broken": None if broken is None else {"number": broken.number, "text": broken.text, "entry": _document(at) if at else None},
    }  # fmt: skip


def _chain(entries: list[Decision]) -> Broken | None:
    before = ""
    for expected, one in enumerate(entries, start=1):
        if one.number != expected:
            return Broken(expected, f"entry {expected} is missing; the next is {one.number}")
        parts = (one.site, one.kind, one.subject, one.by_whom, one.why, one.old_text, one.new_text)
        if seal(before, one.made_at, parts) != one.seal:
            return Broken(
                one.number, f"entry {one.number} does not carry the seal that follows from what it says and from the entry before"
            )
        before = one.seal
    return None


def _used(connection: duckdb.DuckDBPyConnection, there: set[int]) -> Broken | None:
    lost: dict[int, str] = {}
    for run, request in connection.execute("SELECT id, request FROM run ORDER BY number").fetchall():
        for number in asked_in(request)[1].decisions:
            if number not in there:
                lost.setdefault(number, run)
    if not lost:
        return None
    first = min(lost)
    return Broken(first, f"entry {first} is missing; run {lost[first]} used it")


def _signed(connection: duckdb.DuckDBPyConnection) -> Broken | None:
    answers = dict(connection.execute("SELECT id, answer FROM run").fetchall())
    for one in sign_offs(connection):
        answer = answers.get(one.run)
        if answer is None:
            return Broken(one.number, f"run {one.run}, signed off by entry {one.number}, is missing")
        if hashlib.sha256(answer.encode()).hexdigest() != one.signed["answer_sha256"]:
            return Broken(one.number, f"the answer of run {one.run} is not the one that entry {one.number} signed off")
    return None


def _document(one: Decision) -> dict[str, Any]:
    return {
        "number": one.number, "made_at": moment(one.made_at), "site": one.site, "kind": one.kind, "subject": one.subject,
        "by": one.by_whom, "why": one.why, "old_text": one.old_text, "new_text": one.new_text, "seal": one.seal,
    }  # fmt: skip


def told(one: dict[str, Any]) -> str:
    """What an entry says, in one line."""
    if one["kind"] == "signed_off":
        signed = json.loads(one["new_text"])
        levels = ", ".join(f"{used['table']}@{used['version']}" for used in signed["levels"])
        return f"run {one['subject']}, data state {signed['data'][:12]}, {levels}"
    if one["kind"] == "levels_added":
        return f"{one['subject']}, text {one['new_text'][:12]}"
    if one["kind"] == "review_override":
        deliverable, sheet, row, column = json.loads(one["subject"])
        place = f"{deliverable}{' ' + sheet if sheet else ''} {column}{row}"
        return f"{place}: {one['old_text']} to {one['new_text']}"
    change = f"'{one['old_text']}' read as '{one['new_text']}'" if one["new_text"] else f"'{one['old_text']}'"
    return f"{one['subject']}: {change}" if one["old_text"] or one["new_text"] else one["subject"]
