"""Rows that wait for a person: listed, accepted with a repaired text, or rejected; every act goes into the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from screening.errors import Refused
from screening.normal.amounts import LIMIT_UNITS
from screening.normal.results import MOMENTS
from screening.store.again import SAMPLE_FIELDS, layout_as_read, read_again
from screening.store.database import transaction
from screening.store.earlier_rows import read_otherwise
from screening.store.intake import write_results
from screening.store.late_names import late_rows
from screening.store.ledger import Act, append_all
from screening.store.qualifier_key import as_taught, lessons, meant_by
from screening.store.sample_check import expected_samples
from screening.store.sites import site_of
from screening.store.snapshot import known_on, load
from screening.store.taught import FOR_ALL_SITES, is_same_text, is_unknown_word, lesson, taught_for
from screening.store.waiting import OPEN_ROWS, Held, waiting

if TYPE_CHECKING:
    import duckdb

BOUND_TOGETHER = frozenset(
    {"unit", *LIMIT_UNITS, "medium", "basis", "fraction", "sample_kind", "result", "reporting_limit", "quantitation_limit",
     "detection_limit", *MOMENTS, "time_zone"}
)  # fmt: skip
"""Fields that are read together: a new question about one may come from the answer just given to another."""


@dataclass(frozen=True)
class Accepted:
    """What an acceptance did: the rows answered; of these, the rows that have a further question, as they wait now;
    the rows alike that this text does not settle; the rows that wait with the same text at fault; rows settled before
    that have the same text and stand otherwise."""

    rows: list[Held]
    further: list[Held]
    unsettled: list[str]
    also_waiting: list[str]
    read_otherwise: list[dict[str, Any]]


def all_waiting(connection: duckdb.DuckDBPyConnection, site: str) -> list[Held]:
    """The rows of `waiting`, then those taken before a custody record or plan put the name of their sample in doubt."""
    return [*waiting(connection, site), *_late(connection, site)]


def _late(connection: duckdb.DuckDBPyConnection, site: str) -> list[Held]:
    snapshot = known_on(connection, site, None)
    load(connection, snapshot)
    shown = [one.name for one in fields(Held)]
    return [Held(*(getattr(row, name) for name in shown)) for row in late_rows(connection, site_of(connection, site), snapshot)]


def _one(connection: duckdb.DuckDBPyConnection, identity: str) -> Held:
    rows = connection.execute(OPEN_ROWS + " AND h.id = ?", [identity]).fetchall()
    owner = connection.execute("SELECT site FROM deliverable WHERE id = ?", [identity.rpartition("-")[0]]).fetchone()
    late = [item for item in _late(connection, owner[0]) if item.id == identity] if owner and not rows else []
    if late:
        return late[0]
    if not rows:
        raise Refused(f"{identity}: no such row is waiting; 'screening held list --site ID' shows those that are")
    return Held(*rows[0])


def _alike(connection: duckdb.DuckDBPyConnection, item: Held) -> list[Held]:
    """The row and all waiting rows of the same deliverable with the same text at fault in the same field."""
    if item.field in SAMPLE_FIELDS and not item.text:
        raise Refused(f"{item.id}: its sample has no name, so no other row is known to be like it; accept each row by itself")
    rows = connection.execute(
        OPEN_ROWS + " AND h.deliverable = ? AND h.field = ? AND h.text = ? ORDER BY h.row_id",
        [item.deliverable, item.field, item.text],
    ).fetchall()
    return [Held(*row) for row in rows] or [
        one
        for one in _late(connection, item.site)
        if (one.deliverable, one.field, one.text) == (item.deliverable, item.field, item.text)
    ]


def accept(
    connection: duckdb.DuckDBPyConnection, identity: str, by_whom: str, why: str, text: str | None, *,
    all_like_it: bool = False, for_all_sites: bool = False,
) -> Accepted:  # fmt: skip
    """Take a held row, or all like it, in with the proposed or the given text at fault; what was delivered stays.

    A row with a second, independent fault goes on waiting for that one. Raises `Refused` where nothing single is
    proposed and no text is given, or where the row still cannot be read.
    """
    item = _one(connection, identity)
    key = layout_as_read(connection, item.deliverable).qualifiers
    letters = {}
    if item.field == "qualifiers":
        single = item.proposal if item.proposal and " | " not in item.proposal else None
        letters = meant_by(identity, item.text, text or single, key)
        text = text or single or as_taught(item.text, key)
    if text is None:
        if not item.proposal or " | " in item.proposal:
            asked = f" (one of {item.proposal})" if item.proposal else ""
            raise Refused(f"{identity}: nothing single is proposed; say --as TEXT{asked}, or reject the row")
        text = item.proposal
    items = _alike(connection, item) if all_like_it else [item]
    taught, expected = taught_for(connection, item.site), expected_samples(connection, item.site)
    frame = read_again(connection, item.deliverable, [one.row_id for one in items], (item.field, text), taught, expected, letters)
    records = frame.records()
    states = [_state(row, item.field, key) for row in records]
    at = next(place for place, one in enumerate(items) if one.id == identity)
    if states[at] == "unsettled":
        row = records[at]
        raise Refused(f"{identity}: with '{text}' the row is still {row['class']}: {row['reason']}; try another --as TEXT")
    settled = [place for place, state in enumerate(states) if state != "unsettled"]
    rows, frame = [items[place] for place in settled], frame.take(np.asarray(settled))
    further = [
        _asked_next(one, records[place]) for one, place in zip(rows, settled, strict=True) if records[place]["class"] == "held"
    ]
    value = str(records[at]["analyte"]) if item.field == "analyte" else text
    deliverable = identity.rpartition("-")[0]
    taught_now = lessons(item.site, deliverable, letters, key)
    of_word = item.field != "qualifiers" and is_unknown_word(item.field, item.text, key)
    teaches = bool(item.text) and (item.field == "analyte" or of_word or bool(taught_now))
    if for_all_sites and item.field == "qualifiers":
        raise Refused(f"{identity}: each deliverable has its own key of qualifiers; leave out --for-all-sites, or use a layout")
    if for_all_sites and not teaches:
        raise Refused(f"{identity}: there is no name or unknown word to learn from this row; leave out --for-all-sites")

    with transaction(connection):
        numbers = append_all(
            connection, [Act(one.site, "held_accepted", one.id, one.text, text) for one in rows], by_whom, why
        )  # fmt: skip
        if taught_now:
            append_all(connection, taught_now, by_whom, why)
        elif teaches:
            sites = [item.site, FOR_ALL_SITES] if for_all_sites else [item.site]
            append_all(connection, [lesson(site, identity, item.field, item.text, value) for site in sites], by_whom, why)
        write_results(connection, frame, item.deliverable, numbers)
        _settle_late(connection, rows, numbers)
        by_row = dict(zip([one.row_id for one in rows], numbers, strict=True))
        for one in further:
            connection.execute(
                "INSERT INTO held VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                [one.id, one.row_id, one.deliverable, one.field, one.text, one.reason, one.proposal, by_row[one.row_id]],
            )
    unsettled = [one.id for one, state in zip(items, states, strict=True) if state == "unsettled"]
    also = _also_waiting(connection, item, for_all_sites) if teaches else []
    otherwise = []
    if teaches:
        one_file = deliverable if taught_now else ""
        otherwise = read_otherwise(
            connection, item.site, item.field, item.text, value, answered=[one.row_id for one in rows], deliverable=one_file,
            all_sites=for_all_sites,
        )  # fmt: skip
    return Accepted(rows, further, unsettled, [one for one in also if one not in unsettled], otherwise)


def reject(
    connection: duckdb.DuckDBPyConnection, identity: str, by_whom: str, why: str, *, all_like_it: bool = False
) -> list[Held]:
    """Leave a held row, or all like it, out for good; the delivered rows stay readable."""
    item = _one(connection, identity)
    items = _alike(connection, item) if all_like_it else [item]
    acts = [Act(one.site, "held_rejected", one.id, one.text, "") for one in items]
    with transaction(connection):
        _settle_late(connection, items, append_all(connection, acts, by_whom, why))
    return items


def _settle_late(connection: duckdb.DuckDBPyConnection, items: Sequence[Held], numbers: Sequence[int]) -> None:
    """Keep the question to which these decisions are the answer, where it arose after the import."""
    for item, number in zip(items, numbers, strict=True):
        connection.execute(
            "INSERT INTO held VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
            [item.id, item.row_id, item.deliverable, item.field, item.text, item.reason, item.proposal, number],
        )


def _state(row: dict[Any, Any], of_field: str, qualifier_key: Any) -> str:
    """What becomes of a row: taken, further (an independent question is left) or unsettled."""
    if row["class"] == "ignored":
        return "unsettled"
    if row["class"] != "held":
        return "taken"
    asked = row["held_field"]
    bound = of_field in BOUND_TOGETHER and asked in BOUND_TOGETHER
    if asked == of_field or (bound and not is_unknown_word(asked, row["delivered_field"], qualifier_key)):
        return "unsettled"
    return "further"


def _asked_next(item: Held, row: dict[Any, Any]) -> Held:
    base, _, nth = item.id.partition(".")
    return replace(
        item, id=f"{base}.{int(nth or 1) + 1}", field=row["held_field"], text=row["delivered_field"], reason=row["reason"],
        proposal=row["proposal"],
    )  # fmt: skip


def _also_waiting(connection: duckdb.DuckDBPyConnection, item: Held, all_sites: bool) -> list[str]:
    """The waiting rows of the site, or of all sites, whose text at fault is the one just learned."""
    rows: Sequence[Any] = connection.execute(
        OPEN_ROWS + " AND h.field = ? AND (? OR d.site = ?) AND (h.field != 'qualifiers' OR h.deliverable = ?) ORDER BY h.row_id",
        [item.field, all_sites, item.site, item.deliverable],
    ).fetchall()
    return [one.id for one in (Held(*row) for row in rows) if is_same_text(item.field, one.text, item.text)]
