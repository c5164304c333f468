"""One file from a path to its place in the store, with everything a person is told about it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from screening.deliverable.cells import fingerprint_of
from screening.deliverable.layout import Layout, find_layout, layouts_folder, write_layout
from screening.files import write_text
from screening.store.database import opened
from screening.store.intake import HELD_COLUMNS, Order, Reading, deposit, read_deliverable, stored_document
from screening.store.jumps import READS, across_deliverables
from screening.store.qualifier_key import proposed
from screening.store.revisions import changes, check_repetition, check_words
from screening.store.sample_check import expected_samples
from screening.store.sites import site_text
from screening.store.snapshot import WARNING, known_on, take_in
from screening.store.strangers import hold_strangers
from screening.store.taught import taught_for
from screening.store.waiting import waiting
from screening.vocabulary.headings import FIELDS

if TYPE_CHECKING:
    import duckdb

PREVIEWED = 12
"""Rows that a preview draws."""


@dataclass(frozen=True)
class Wish:
    """The words of one import command."""

    site: str
    layout: str | None = None
    settings: Mapping[str, str] = field(default_factory=dict)
    received: dt.date | None = None
    replaces: str | None = None
    replaces_only_contents: bool = False
    preview: bool = False
    save_layout: Path | None = None
    adds: bool = False


def bring_in(database: Path, file: Path, wish: Wish, progress: Callable[[str], None] = lambda _: None) -> dict[str, Any]:
    """Read a file and store it for a site, in one transaction. Returns the document of the contract.

    The store is not held open while the file is read. Raises `Refused`; nothing is written then.
    """
    fixed = {key: value for key, value in wish.settings.items() if ":" not in key}
    words = {key: value for key, value in wish.settings.items() if ":" in key}
    layout = find_layout(wish.layout, [Path.cwd(), database.resolve().parent, layouts_folder()]) if wish.layout else None
    (layout or Layout("words of the command")).with_fixed(fixed).with_words(words)  # refuses what is no field
    with opened(database) as connection:
        site_text(connection, wish.site)
        replaced = None if wish.replaces_only_contents else wish.replaces
        taught, expected = taught_for(connection, wish.site), expected_samples(connection, wish.site, replaced)
        check_words(
            connection, wish.site, wish.replaces, only_contents=wish.replaces_only_contents, adds=wish.adds
        )  # fmt: skip
        # however it would be read this time: a file that the site has is not taken twice
        if not wish.preview and (have := stored_document(connection, wish.site, fingerprint_of(file) or "")):
            return {**have, "file": file.name}
    order = Order(wish.site, layout, fixed, wish.received, wish.replaces, wish.replaces_only_contents, words)
    reading = read_deliverable(file, order, taught, progress)
    with opened(database, coming=file.stat().st_size) as connection:
        frame = hold_strangers(proposed(connection, wish.site, reading.frame), expected)
        reading = replace(reading, frame=frame)
        if wish.save_layout:
            _save_layout(wish.save_layout, reading.layout)
        if wish.preview:
            document = _document(reading, "", "preview", [_held(row) for row in _held_rows(reading)])
            return {**document, "preview": _first_rows(reading)}
        progress("storing")
        if have := stored_document(connection, wish.site, reading.book.sha256):  # by another process meanwhile
            return {**have, "file": file.name}
        if wish.adds:
            reading = replace(reading, notes=(*reading.notes, "stated at import: adds to what was delivered before"))
        else:
            check_repetition(
                connection, wish.site, reading.book.file, reading.frame, wish.replaces, only_contents=wish.replaces_only_contents
            )
        identity = deposit(connection, reading, order)
        held = [
            {"id": item.id, "sheet": item.sheet, "row": item.row, "column": item.column, "field": item.field, "text": item.text,
             "reason": item.reason, "proposal": item.proposal}
            for item in waiting(connection, wish.site)
            if item.id.startswith(f"{identity}-")
        ]  # fmt: skip
        revised = {}
        if wish.replaces:
            changed = changes(connection, wish.replaces, reading.frame, only_contents=wish.replaces_only_contents)
            revised = {"replaces": wish.replaces, "changes": changed}
        beside = [
            *_beside_earlier(connection, wish.site, reading.book.file),
            *_elsewhere(connection, wish.site, reading.book.sha256),
        ]
    status = "held" if reading.account["held_back"] and not reading.account["results"] else "imported"
    document = _document(reading, identity, status, held)
    return {**document, **revised, "warnings": [*document["warnings"], *beside]}


def _save_layout(path: Path, layout: Layout) -> None:
    if not path.suffix:  # a bare name goes into the user's own folder
        layouts_folder().mkdir(parents=True, exist_ok=True)
        path = layouts_folder() / f"{path}.toml"
    write_text(path, write_layout(replace(layout, name=path.stem, header_row=None)))


def _beside_earlier(connection: duckdb.DuckDBPyConnection, site: str, file: str) -> list[str]:
    """Doubts that only the site's other deliverables show; not stored, as every screen looks anew."""
    if len((snapshot := known_on(connection, site, None)).deliverables) < 2:
        return []
    take_in(connection, snapshot, READS)  # of two large deliverables all columns take gigabytes
    return [text for text in across_deliverables(connection) if file in text]


def _elsewhere(connection: duckdb.DuckDBPyConnection, site: str, sha256: str) -> list[str]:
    rows = connection.execute(
        "SELECT DISTINCT site FROM deliverable WHERE sha256 = ? AND site != ? ORDER BY site", [sha256, site]
    ).fetchall()
    return [f"the same file was imported for site '{other}' too; to which does it belong?" for (other,) in rows]


def _document(reading: Reading, identity: str, status: str, held: list[dict[str, Any]]) -> dict[str, Any]:
    layout: Layout = reading.layout
    columns = _evidence(reading)
    return {
        "id": identity, "file": reading.book.file, "sha256": reading.book.sha256, "layout": layout.name, "status": status,
        "rows": reading.account, "held_back": held, "assumptions": list(reading.notes),
        "warnings": [note.removeprefix(WARNING) for note in reading.notes if note.startswith(WARNING)], "columns": columns,
        "fixed": dict(layout.fixed),
    }  # fmt: skip


def _held_rows(reading: Reading) -> list[dict[str, Any]]:
    return reading.frame.take(reading.frame["class"] == "held", ["sheet", "column", *HELD_COLUMNS]).records()


def _held(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "id": "", "sheet": row["sheet"], "row": int(row["row"]), "column": row["column"], "field": row["held_field"],
        "text": row["delivered_field"], "reason": row["reason"], "proposal": row["proposal"],
    }  # fmt: skip


def _evidence(reading: Reading) -> list[dict[str, Any]]:
    """What each field was read from, and how many of its texts could be read."""
    layout, frame = reading.layout, reading.frame
    waiting_for = frame["held_field"].take(frame["class"] == "held")
    found = []
    for name in FIELDS:
        filled = int((frame[f"delivered_{name}"] != "").sum())
        if not filled:
            continue
        held = int((waiting_for == name).sum())
        found.append(
            {
                "field": name,
                "headings": list(layout.columns.get(name, ())),
                "texts": filled,
                "held": held,
                "read_percent": f"{100 * (filled - min(held, filled)) / filled:.0f}",
            }
        )
    return found


def _first_rows(reading: Reading) -> list[dict[str, Any]]:
    """The first rows as read: the texts by field, and what became of each row."""
    rows = []
    for row in reading.frame.take(np.arange(min(PREVIEWED, len(reading.frame)))).records():
        texts = {name: row[f"delivered_{name}"] for name in FIELDS if row[f"delivered_{name}"]}
        rows.append(
            {
                "sheet": row["sheet"], "row": int(row["row"]), "column": row["column"], "texts": texts,
                "class": row["class"], "reason": row["reason"],
            }
        )  # fmt: skip
    return rows
