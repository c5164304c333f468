"""Custody records: what was asked of the laboratory, kept as received; a corrected record replaces an earlier one."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screening.errors import Refused
from screening.site.site_file import SiteFile
from screening.store.clock import now
from screening.store.custody_form import form_at, ticked
from screening.store.database import transaction
from screening.store.sites import site_of
from screening.vocabulary.analysis_groups import asked_for, split_analyses
from screening.vocabulary.headings import recognise
from screening.vocabulary.spelling import plain

if TYPE_CHECKING:
    import duckdb

    from screening.deliverable.cells import Book, Sheet

ANALYSES_HEADINGS = (
    "analyses", "analysis", "analyses asked for", "analysis asked for", "analyses requested", "analysis requested",
    "requested analyses", "requested analysis", "tests", "tests requested", "parameters", "parameters requested", "method",
)  # fmt: skip
"""Headings over the analyses (common practice, no source), the clearest first."""
FIELDS = {"sampled_at": "collected", "depth_top": "depth", "medium": "medium"}
DEEPEST_HEADER = 40
IN_FORCE = (
    "SELECT number FROM custody AS c WHERE list_contains(?, c.id) "
    "AND NOT EXISTS (SELECT 1 FROM custody AS n WHERE n.replaces = c.id AND list_contains(?, n.id))"
)


@dataclass(frozen=True)
class Line:
    """One line of a custody record, as received."""

    sheet: str
    row: int
    sample: str
    analyses: str
    collected: str = ""
    depth: str = ""
    medium: str = ""


@dataclass(frozen=True)
class Request:
    """One analysis asked for one sample: ``group`` is a listed analysis, an analyte, or the text where it is neither."""

    sample: str
    group: str
    listed: bool


def read_custody(path: Path) -> tuple[Book, list[Line]]:
    """The lines of a csv or workbook with plain headings: analyses written out, or a column to tick for each.

    Raises `Refused` where samples or analyses are not found.
    """
    from screening.deliverable.cells import read_book  # imported here: a screen reads no file

    book = read_book(path)
    lines = [line for sheet in book.sheets for line in _lines(path, sheet)]
    if not lines:
        raise Refused(
            f"{path}: no custody record found; it needs the headings 'sample' and 'analyses' (or a column to tick for each analysis) "
            "and a line for each sample"
        )
    return book, lines


def _lines(path: Path, sheet: Sheet) -> list[Line]:
    for at, cells in enumerate(sheet.rows[:DEEPEST_HEADER]):
        columns = _columns(cells)
        if "sample" not in columns:
            continue
        form = form_at(sheet, at, columns)
        if form is not None and not _is_list(sheet, at + 1, columns):
            return [Line(sheet.name, number, **said) for number, said in ticked(path, sheet, form)]
        if "analyses" in columns:
            return _below(path, sheet, at + 1, columns)
    return []


def _is_list(sheet: Sheet, first: int, columns: dict[str, int]) -> bool:
    """Whether the analyses are written out in a column of their own beside the samples."""
    at = columns.get("analyses")
    named = [row for row in sheet.rows[first:] if len(row) > columns["sample"] and row[columns["sample"]].strip()]
    return at is not None and any(at < len(row) and any(map(asked_for, split_analyses(row[at]))) for row in named)


def _columns(cells: Sequence[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    headings = [plain(cell) for cell in cells]
    for heading in ANALYSES_HEADINGS:
        if heading in headings:
            found["analyses"] = headings.index(heading)
            break
    fields = [recognise(cell).field for cell in cells]
    for field in ("sample_id", "location"):
        if field in fields:
            found.setdefault("sample", fields.index(field))
    for field, name in FIELDS.items():
        if field in fields:
            found[name] = fields.index(field)
    return found


def _below(path: Path, sheet: Sheet, first: int, columns: dict[str, int]) -> list[Line]:
    lines = []
    for number, cells in enumerate(sheet.rows[first:], start=first + 1):
        said = {name: cells[at].strip() if at < len(cells) else "" for name, at in columns.items()}
        if not said["sample"] and not said["analyses"]:
            continue
        if not said["sample"] or not split_analyses(said["analyses"]):
            missing = "sample" if not said["sample"] else "analysis"
            place = f"sheet '{sheet.name}', " if sheet.name else ""
            raise Refused(f"{path}: {place}row {number}: no {missing} is named; complete the line or take it out")
        lines.append(Line(sheet.name, number, **said))
    return lines


def add_custody(
    connection: duckdb.DuckDBPyConnection,
    site: str,
    book: Book,
    lines: Sequence[Line],
    received: dt.date | None,
    replaces: str | None,
) -> dict[str, Any]:
    """Keep a record in one transaction; the same file again changes nothing. Returns what was taken over."""
    site_of(connection, site)
    identity = "c" + hashlib.sha256(f"{site}\n{book.sha256}".encode()).hexdigest()[:10]
    known = connection.execute("SELECT 1 FROM custody WHERE id = ?", [identity]).fetchone()
    requests = [request for line in lines for request in _requests(line.sample, split_analyses(line.analyses))]
    document = {
        "id": identity, "file": book.file, "sha256": book.sha256, "status": "already_added" if known else "added",
        "samples": len({line.sample for line in lines}), "sample_analyses": len(set(requests)),
        "unlisted": sorted({request.group for request in requests if not request.listed}),
    }  # fmt: skip
    if known:
        return document
    if replaces is not None and (replaces == identity or replaces not in records(connection, site, None)):
        known_ids = ", ".join(records(connection, site, None)) or "none"
        raise Refused(f"--replaces {replaces}: site '{site}' has no such custody record; it has {known_ids}")
    moment = now(connection)
    with transaction(connection):
        last = connection.execute("SELECT coalesce(max(number), 0) + 1 FROM custody").fetchone()
        number = last[0] if last else 1
        connection.execute(
            "INSERT INTO custody VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [number, identity, site, book.file, book.sha256, received or moment.date(), moment, replaces],
        )
        connection.executemany(
            "INSERT INTO custody_line VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [
                [number, line.sheet, line.row, line.sample, line.analyses, line.collected, line.depth, line.medium]
                for line in lines
            ],
        )
    return document


def records(connection: duckdb.DuckDBPyConnection, site: str, known_on: dt.date | None) -> tuple[str, ...]:
    """The ids of a site's custody records received up to the end of a day; None means all."""
    rows = connection.execute(
        "SELECT id FROM custody WHERE site = ? AND received <= ? ORDER BY id", [site, known_on or dt.date.max]
    ).fetchall()
    return tuple(row[0] for row in rows)


def lines_of(connection: duckdb.DuckDBPyConnection, site: SiteFile, known: Sequence[str]) -> list[Line]:
    """The lines in force: of the records named, without those that another of them replaces, and of the site file."""
    rows = connection.execute(
        "SELECT sheet, row, sample, analyses, collected, depth, medium FROM custody_line "
        f"WHERE custody IN ({IN_FORCE}) ORDER BY custody, sheet, row",
        [list(known), list(known)],
    ).fetchall()
    own = [
        Line("site file", at, part.sample, "; ".join(part.analyses), part.collected.isoformat() if part.collected else "",
             part.depth, part.medium)
        for at, part in enumerate(site.custody, start=1)
    ]  # fmt: skip
    return [*(Line(*row) for row in rows), *own]


def requests_of(lines: Sequence[Line]) -> list[Request]:
    """Each sample and analysis asked for, once, in the order of the records."""
    return list(dict.fromkeys(request for line in lines for request in _requests(line.sample, split_analyses(line.analyses))))


def _requests(sample: str, analyses: Sequence[str]) -> list[Request]:
    made = []
    for text in analyses:
        found = asked_for(text)
        made += [Request(sample, group, True) for group in found] or [Request(sample, text, False)]
    return made
