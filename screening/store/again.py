"""Held rows read again with a person's answers in place of the texts at fault; the delivered texts stay as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Column, Frame
from screening.deliverable.layout import Layout, parse_layout
from screening.normal.dates import order_of
from screening.normal.results import MOMENTS, normalise
from screening.store.qualifier_key import key_of
from screening.store.sample_check import Expected
from screening.store.strangers import hold_strangers
from screening.store.taught import Taught, with_words_taught
from screening.validation.schema import faults, hold_for
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.headings import FIELDS

if TYPE_CHECKING:
    import duckdb

    from screening.deliverable.columns import Flags

SAMPLE_FIELDS = frozenset({"sample_id", "location"})
ANSWERS = (
    "SELECT h.row_id, h.field, c.new_text FROM held AS h JOIN decision AS c ON c.subject = h.id AND c.kind = 'held_accepted' "
    "WHERE list_contains(?, h.row_id) ORDER BY c.number"
)


def layout_as_read(connection: duckdb.DuckDBPyConnection, deliverable: int) -> Layout:
    """The layout of a deliverable, with the meanings taught for its letters and the order of day and month that all its dates together settled."""
    row = connection.execute("SELECT layout, layout_name, id FROM deliverable WHERE number = ?", [deliverable]).fetchone()
    assert row is not None, "every held row has its deliverable"
    layout = parse_layout(row[0], row[1], "stored layout")
    layout = replace(layout, qualifiers={**layout.qualifiers, **key_of(connection, row[2])})
    if layout.date_order:
        return layout
    texts = " UNION ".join(f"SELECT {name} FROM delivered WHERE deliverable = $number" for name in MOMENTS)
    dates = connection.execute(texts, {"number": deliverable}).fetchall()
    return replace(layout, date_order=order_of(text for (text,) in dates))


def read_again(
    connection: duckdb.DuckDBPyConnection, deliverable: int, row_ids: Sequence[int], answer: tuple[str, str],
    taught: Taught, expected: Expected, letters: Mapping[str, str],
) -> Frame:  # fmt: skip
    """Rows of one deliverable in the normal form, one a row_id in its order, with earlier answers and this (field, text).

    ``letters`` adds to the deliverable's key; an answer about a qualifier changes that key and no delivered text.
    """
    rows, frame = with_answers(connection, deliverable, row_ids, taught, letters, answer)
    hold_for(frame, faults(frame, frame["class"] == "result"))
    if answer[0] not in SAMPLE_FIELDS:
        answered = set(_sample_answered(connection, row_ids))
        open_yet = np.flatnonzero([row_id not in answered for row_id in row_ids])
        if len(open_yet):
            delivered = {f"delivered_{name}": rows[name] for name in FIELDS}
            held = hold_strangers(frame.with_columns(delivered).take(open_yet), expected)
            for name in frame.columns:
                frame[name] = frame[name].put(open_yet, held[name])
    return frame


def with_answers(
    connection: duckdb.DuckDBPyConnection, deliverable: int, row_ids: Sequence[int], taught: Taught,
    letters: Mapping[str, str] = MappingProxyType({}), answer: tuple[str, str] | None = None,
) -> tuple[Frame, Frame]:  # fmt: skip
    """Rows of one deliverable with the answers given to them (and this one) in place of their texts; and in the normal form."""
    rows = _delivered(connection, row_ids)
    layout = layout_as_read(connection, deliverable)
    taught_letters = set(layout.qualifiers)
    layout = replace(layout, qualifiers={**layout.qualifiers, **letters})
    for row_id, of_field, text in connection.execute(ANSWERS, [list(row_ids)]).fetchall():
        if of_field != "qualifiers" or not taught_letters:
            _put(rows, rows.row_id == row_id, of_field, text)
    if answer is not None and answer[0] != "qualifiers":
        _put(rows, np.ones(len(rows), dtype=np.bool_), *answer)
    told, _ = with_words_taught(rows, taught.words)
    frame = normalise(told, layout, Vocabulary.load(taught.names)).frame
    frame.row_id = rows.row_id
    return rows, frame


def _delivered(connection: duckdb.DuckDBPyConnection, row_ids: Sequence[int]) -> Frame:
    columns = ("sheet", "column", "text", *FIELDS)
    found = connection.execute(
        f"SELECT row_id, row, sheet, column_letter, text, {', '.join(FIELDS)} FROM delivered WHERE list_contains(?, row_id)",
        [list(row_ids)],
    ).fetchall()
    place = {row_id: at for at, row_id in enumerate(row_ids)}
    ordered = sorted(found, key=lambda row: place[row[0]])
    texts = {name: Column.of(row[number] for row in ordered) for number, name in enumerate(columns, start=2)}
    return Frame(texts, np.asarray([row[1] for row in ordered]), np.asarray([row[0] for row in ordered]))


def _put(rows: Frame, where: Flags, of_field: str, text: str) -> None:
    """An answer about a sample's name holds for the location where the same text was delivered as both."""
    if of_field == "sample_id":
        rows["location"] = rows["location"].mask(where & (rows["location"] == rows["sample_id"]), text)
    rows[of_field] = rows[of_field].mask(where, text)


def _sample_answered(connection: duckdb.DuckDBPyConnection, row_ids: Sequence[int]) -> list[int]:
    answers = connection.execute(ANSWERS, [list(row_ids)]).fetchall()
    return [row_id for row_id, of_field, _ in answers if of_field in SAMPLE_FIELDS]
