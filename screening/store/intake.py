"""One file into the store in one transaction: read, brought into the normal form, validated, written, counted."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screening.deliverable.cells import Book, read_book
from screening.deliverable.columns import Column, Frame
from screening.deliverable.detect import Folded, Placed, place
from screening.deliverable.extract import extract
from screening.deliverable.layout import Layout, write_layout
from screening.deliverable.number_style import decimal_sign
from screening.deliverable.preliminary import preliminary_notes
from screening.errors import Refused
from screening.normal import dilution_doubt, plausible
from screening.normal.results import MOMENTS, date_proofs, delivered_at, normalise
from screening.store.clock import now
from screening.store.database import transaction
from screening.store.snapshot import WARNING
from screening.store.taught import Taught, with_words_taught
from screening.validation.schema import faults, hold_for
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.headings import FIELDS

if TYPE_CHECKING:
    import duckdb

AMOUNT_FIELDS = ("result", "reporting_limit", "quantitation_limit", "detection_limit")
AMOUNTS = ["nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit", "dilution", "percent_solids"]
DEPTHS = ("depth_top", "depth_bottom")
HELD_COLUMNS = ("held_field", "delivered_field", "reason", "proposal")
TIMES = MOMENTS
RESULT_COLUMNS = (
    "sample_id", "lab_sample_id", "location", "sample_kind", "parent_sample", "medium", "depth_top", "depth_bottom",
    "depth_unit", "sampled_at", "received_at", "prepared_at", "analysed_at", "lab", "method", "batch", "run_no", "analyte",
    "analyte_kind", "cas", "fraction", "state", "detected", "sign", "value", "unit", "basis", "nondetect_limit",
    "limit_from", "reporting_limit", "quantitation_limit", "detection_limit", "dilution", "percent_solids",
    "lab_qualifiers", "effects", "recovery", "recovery_low", "recovery_high", "spike_amount", "received_temperature",
    "comment", *(f"{name}_known" for name in MOMENTS),
)  # fmt: skip
AT_ONCE = 500_000
"""Rows copied at a time for the store."""
Progress = Callable[[str], None]


@dataclass(frozen=True)
class Order:
    """What the person asked for with one import."""

    site: str
    layout: Layout | None = None
    settings: Mapping[str, str] = field(default_factory=dict)
    received: dt.date | None = None
    replaces: str | None = None
    replaces_only_contents: bool = False
    words: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Reading:
    """One file read but not yet stored: the rows in the normal form and the account of them."""

    book: Book
    layout: Layout
    frame: Frame
    ignored: Frame
    notes: tuple[str, ...]
    placed: tuple[Placed | Folded, ...]

    @property
    def account(self) -> dict[str, int]:
        """rows read = results + quality_control + held_back + ignored."""
        sort = self.frame["class"]
        taken = {
            "results": int((sort == "result").sum()),
            "quality_control": int((sort == "quality_control").sum()),
            "held_back": int((sort == "held").sum()),
            "ignored": int((sort == "ignored").sum()) + len(self.ignored),
        }
        return {"read": sum(taken.values()), **taken}


def read_deliverable(path: Path, order: Order, taught: Taught, progress: Progress = lambda _: None) -> Reading:
    """Read one file into the normal form without storing anything. Raises `Refused` for what cannot be read."""
    progress("reading")
    book = read_book(path)
    placed, notes = place(book, order.layout, order.settings)
    placed = [replace(item, layout=item.layout.with_words(order.words)) for item in placed]
    vocabulary = Vocabulary.load(taught.names)
    frames, ignored, layouts = [], [], []
    notes = [*book.notes, *notes]
    sheets = [extract(book.file, item) for item in placed]
    dates = date_proofs(taken.rows for taken in sheets)
    for item, taken in zip(placed, sheets, strict=True):
        layout, said = _number_style(book, taken.rows, item.layout, order)
        layouts.append(layout)
        progress("normal form")
        rows, read_as = with_words_taught(taken.rows, taught.words)
        normal = normalise(rows, layout, vocabulary, dates)
        frames.append(normal.frame.with_columns({f"delivered_{name}": taken.rows[name] for name in FIELDS}))
        ignored.append(taken.ignored)
        notes += [*taken.notes, *said, *read_as, *normal.notes]
        if item.layout.fixed:
            notes.append("fixed for the file: " + ", ".join(f"{key} = {value}" for key, value in item.layout.fixed.items()))
    frame = Frame.joined(frames)
    progress("validating")
    _hold_faults(frame)
    notes += [WARNING + text for text in (*preliminary_notes(book), *_doubts(frame, layouts))]
    if not len(frame):
        raise Refused(f"{book.file}: has a header and no results below it; ask the laboratory for the file again")
    return Reading(book, layouts[0], frame, Frame.joined(ignored), tuple(dict.fromkeys(notes)), tuple(placed))


def _doubts(frame: Frame, layouts: Sequence[Layout]) -> list[str]:
    """What is suspicious about the amounts; limits that were multiplied on demand are not asked about again."""
    of_dilution = dilution_doubt.doubts(frame) if all(layout.dilution_included for layout in layouts) else []
    return [*plausible.doubts(frame), *of_dilution]


def _number_style(book: Book, rows: Frame, layout: Layout, order: Order) -> tuple[Layout, list[str]]:
    """The layout with the decimal sign that the amounts show, unless a layout or the person states one."""
    if order.layout is not None or "decimal" in order.settings:
        return layout, []
    amounts = [text for field in AMOUNT_FIELDS for text in rows[field].unique()]
    sign, note = decimal_sign(book.file, amounts, semicolons=any("semicolon" in note for note in book.notes))
    return replace(layout, decimal=sign), [note] if note else []


def _hold_faults(frame: Frame) -> None:
    found = faults(frame, frame["class"] == "result")
    hold_for(frame, found)
    at = np.asarray([fault.at for fault in found], dtype=np.int64)
    held = frame.take(at)
    frame["delivered_field"] = frame["delivered_field"].put(at, delivered_at(held, held["held_field"], "delivered_"))


def deposit(connection: duckdb.DuckDBPyConnection, reading: Reading, order: Order) -> str:
    """Write one reading into the store: all of it or, after any fault, nothing. Returns the deliverable's id."""
    moment = now(connection)
    account = reading.account
    # the layout that a person can reuse is the one found, without where in this file the header stood
    layout_text = write_layout(reading.layout)
    with transaction(connection):
        number = _next(connection, "SELECT max(number) FROM deliverable")
        first_row = _next(connection, "SELECT max(row_id) FROM delivered")
        identity = deliverable_id(order.site, reading.book.sha256, layout_text)
        connection.execute(
            "INSERT INTO deliverable VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                number, identity, order.site, reading.book.file, reading.book.sha256, reading.layout.name, layout_text,
                order.received or moment.date(), moment, order.replaces, order.replaces_only_contents, account["read"],
                account["results"], account["quality_control"], account["held_back"], account["ignored"],
                list(reading.notes),
            ],
        )  # fmt: skip
        _write_delivered(connection, reading, number, first_row)
        frame = reading.frame.copy()
        frame.row_id = np.arange(first_row, first_row + len(frame))
        write_results(connection, frame, number)
        held = frame.take(frame["class"] == "held", HELD_COLUMNS)
        if len(held):
            connection.register("held_rows", held.arrow(HELD_COLUMNS))
            connection.execute(
                "INSERT INTO held (id, row_id, deliverable, field, text, reason, proposal) SELECT ? || '-' || CAST(row_id - ? + 1 AS VARCHAR), row_id, ?, held_field, "
                "delivered_field, reason, proposal FROM held_rows ORDER BY row_id",
                [identity, first_row, number],
            )
            connection.unregister("held_rows")
    return identity


def _next(connection: duckdb.DuckDBPyConnection, query: str) -> int:
    row = connection.execute(query).fetchone()
    return int(row[0]) + 1 if row and row[0] is not None else 1


def deliverable_id(site: str, sha256: str, layout_text: str) -> str:
    """The same file read the same way for the same site always has the same id."""
    return "d" + hashlib.sha256(f"{site}\n{sha256}\n{layout_text}".encode()).hexdigest()[:10]


def _write_delivered(connection: duckdb.DuckDBPyConnection, reading: Reading, number: int, first_row: int) -> None:
    rows = reading.frame.copy()
    rows.row_id = np.arange(first_row, first_row + len(rows))
    names = ("sheet", "column", "text", "class", "reason", *(f"delivered_{field}" for field in FIELDS))
    connection.register("delivered_rows", rows.arrow(names))
    into = f"row_id, deliverable, row, sheet, column_letter, text, class, reason, {', '.join(FIELDS)}"
    connection.execute(f"INSERT INTO delivered ({into}) SELECT row_id, {number}, row, {_quoted(names)} FROM delivered_rows")
    connection.unregister("delivered_rows")
    if len(reading.ignored):
        passed = reading.ignored.copy()
        passed.row_id = np.arange(first_row + len(rows), first_row + len(rows) + len(passed))
        connection.register("ignored_rows", passed.arrow(("sheet", "text", "reason")))
        blanks = ", ".join("''" for _ in FIELDS)
        connection.execute(
            f"INSERT INTO delivered ({into}) "
            f"SELECT row_id, {number}, row, sheet, '', text, 'ignored', reason, {blanks} FROM ignored_rows"
        )
        connection.unregister("ignored_rows")


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def write_results(
    connection: duckdb.DuckDBPyConnection, frame: Frame, deliverable: int, decisions: Sequence[int] | None = None
) -> None:
    """Append the result and quality-control rows of a frame in the normal form, which has the row ids.

    ``decisions`` are the numbers of the acts that let the rows in, one a row; None where nobody had to.
    """
    numbers = np.flatnonzero(frame["class"].isin(["result", "quality_control"]))
    acts = Column.full("", len(frame)) if decisions is None else Column.of(str(number) for number in decisions)
    told = frame.with_columns({"decision": acts})
    names = ["decision", "class", *RESULT_COLUMNS]
    for first in range(0, len(numbers), AT_ONCE):
        connection.register("result_rows", told.take(numbers[first : first + AT_ONCE], names).arrow(names))
        connection.execute(_INSERT, [deliverable])
        connection.unregister("result_rows")


def _insert_text() -> str:
    made = {
        **{name: f"CAST(nullif({name}, '') AS DECIMAL(38, 18))" for name in AMOUNTS},
        **{name: f"CAST(nullif({name}, '') AS DECIMAL(18, 6))" for name in DEPTHS},
        **{name: f"TRY_CAST(nullif({name}, '') AS TIMESTAMP)" for name in TIMES},
        "deliverable": "?",
        "decision": "CAST(nullif(decision, '') AS BIGINT)",
        "detected": "detected = 'true'",
        "value": "CAST(nullif(value, '') AS DECIMAL(38, 18))",
        "value_text": "value",
        "limit_text": "nondetect_limit",
    }
    order = ("row_id", "deliverable", "decision", "class", *RESULT_COLUMNS, "value_text", "limit_text")
    picked = ", ".join(made.get(name, name) for name in order)
    return f"INSERT INTO result ({', '.join(order)}) SELECT {picked} FROM result_rows"


_INSERT = _insert_text()


def stored_document(connection: duckdb.DuckDBPyConnection, site: str, sha256: str) -> dict[str, Any] | None:
    """What the store says of a file that the site already has, as the document of an import; None where it has not."""
    row = connection.execute(
        "SELECT id, layout_name, rows_read, results, quality_control, held_back, ignored, assumptions FROM deliverable "
        "WHERE site = ? AND sha256 = ? ORDER BY number LIMIT 1",
        [site, sha256],
    ).fetchone()
    if row is None:
        return None
    rows = dict(zip(("read", "results", "quality_control", "held_back", "ignored"), row[2:7], strict=True))
    return {
        "id": row[0], "sha256": sha256, "layout": row[1], "status": "already_imported", "rows": rows, "held_back": [],
        "assumptions": list(row[7]), "warnings": [note.removeprefix(WARNING) for note in row[7] if note.startswith(WARNING)],
        "columns": [], "fixed": {},
    }  # fmt: skip
