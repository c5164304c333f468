"""Rows that wait for a person: listed, accepted with a repaired text, or rejected; every act goes into the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from screening.deliverable.layout import parse_layout
from screening.errors import Refused
from screening.normal.results import normalise
from screening.store.intake import names_taught, write_results
from screening.store.ledger import append
from screening.validation.schema import faults
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.headings import FIELDS

if TYPE_CHECKING:
    import duckdb

OPEN_ROWS = """
SELECT h.id, h.row_id, h.deliverable, d.site, d.file, r.sheet, r.row, r.column_letter, h.field, h.text, h.reason, h.proposal
FROM held AS h
JOIN deliverable AS d ON d.number = h.deliverable
JOIN delivered AS r ON r.row_id = h.row_id
WHERE NOT EXISTS (SELECT 1 FROM decision AS c WHERE c.subject = h.id AND c.kind IN ('held_accepted', 'held_rejected'))
"""


@dataclass(frozen=True)
class Held:
    """One row that waits: where it stands in which file, the text at fault, why, and what is proposed."""

    id: str
    row_id: int
    deliverable: int
    site: str
    file: str
    sheet: str
    row: int
    column: str
    field: str
    text: str
    reason: str
    proposal: str


def waiting(connection: duckdb.DuckDBPyConnection, site: str) -> list[Held]:
    """The rows of a site that nobody has decided yet, in the order of the files."""
    rows = connection.execute(OPEN_ROWS + " AND d.site = ? ORDER BY h.row_id", [site]).fetchall()
    return [Held(*row) for row in rows]


def _one(connection: duckdb.DuckDBPyConnection, identity: str) -> Held:
    rows = connection.execute(OPEN_ROWS + " AND h.id = ?", [identity]).fetchall()
    if not rows:
        raise Refused(f"{identity}: no such row is waiting; 'screening held list --site ID' shows those that are")
    return Held(*rows[0])


def accept(connection: duckdb.DuckDBPyConnection, identity: str, by_whom: str, why: str, text: str | None) -> Held:
    """Take a held row in with the proposed or the given text at fault. The delivered text stays as it is.

    Raises `Refused` where nothing single is proposed and no text is given, or where the row still cannot be read.
    """
    item = _one(connection, identity)
    if text is None:
        if not item.proposal or " | " in item.proposal:
            asked = f" (one of {item.proposal})" if item.proposal else ""
            raise Refused(f"{identity}: nothing single is proposed; say --as TEXT{asked}, or reject the row")
        text = item.proposal
    frame = _again(connection, item, text)
    row = frame.iloc[0]
    if row["class"] in ("held", "ignored"):
        raise Refused(f"{identity}: with '{text}' the row is still {row['class']}: {row['reason']}; try another --as TEXT")
    connection.begin()
    try:
        number = append(
            connection, site=item.site, kind="held_accepted", subject=identity, by_whom=by_whom, why=why,
            old_text=item.text, new_text=text,
        )  # fmt: skip
        if item.field == "analyte" and item.text:
            append(
                connection, site=item.site, kind="analyte_taught", subject=identity, by_whom=by_whom, why=why,
                old_text=item.text, new_text=str(row["analyte"]),
            )  # fmt: skip
        write_results(connection, frame, number)
        connection.commit()
    except BaseException:
        connection.rollback()
        raise
    return item


def reject(connection: duckdb.DuckDBPyConnection, identity: str, by_whom: str, why: str) -> Held:
    """Leave a held row out for good; the delivered row stays readable."""
    item = _one(connection, identity)
    connection.begin()
    try:
        append(
            connection, site=item.site, kind="held_rejected", subject=identity, by_whom=by_whom, why=why,
            old_text=item.text, new_text="",
        )  # fmt: skip
        connection.commit()
    except BaseException:
        connection.rollback()
        raise
    return item


def _again(connection: duckdb.DuckDBPyConnection, item: Held, text: str) -> pd.DataFrame:
    names = ", ".join(FIELDS)
    delivered = connection.execute(
        f"SELECT sheet, row, column_letter, text, {names} FROM delivered WHERE row_id = ?", [item.row_id]
    ).fetchone()
    layout = connection.execute("SELECT layout, layout_name FROM deliverable WHERE number = ?", [item.deliverable]).fetchone()
    assert delivered is not None and layout is not None
    columns = ("sheet", "row", "column", "text", *FIELDS)
    rows = pd.DataFrame([dict(zip(columns, delivered, strict=True))])
    for name in ("sheet", "column", "text", *FIELDS):
        rows[name] = rows[name].astype("str")
    rows[item.field] = text
    vocabulary = Vocabulary.load(names_taught(connection, item.site))
    frame = normalise(rows, parse_layout(layout[0], layout[1], "stored layout"), vocabulary).frame
    checked = faults(frame[frame["class"] == "result"])
    if len(checked):
        frame.loc[0, ["class", "reason"]] = ["held", checked["reason"].iloc[0]]
    return frame.assign(row_id=item.row_id, deliverable=item.deliverable)
