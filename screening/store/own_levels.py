"""Level tables that a user adds: from the form of standards/, or from a bare csv or xlsx."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from screening.deliverable.cells import read_book
from screening.errors import Refused
from screening.levels.shape import day
from screening.levels.table import COLUMNS, OPTIONAL, parse_facts, parse_version
from screening.levels.versions import Standards, standards_folder
from screening.store.ledger import append
from screening.store.level_texts import add_own
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class OwnLevels:
    """One version of a user's table, read and checked, not yet stored."""

    table: str
    version: str
    facts: str
    text: str
    levels: int
    sha256: str
    assumed: tuple[str, ...]


def read_levels(file: Path, table: str | None, version: str | None, by_whom: str | None, why: str | None) -> OwnLevels:
    """Read one version from a csv or xlsx. Raises `Refused` naming file, row and column."""
    if file.is_dir():
        raise Refused(f"{file}: is a folder; name the csv or xlsx of one version")
    book = read_book(file)
    rows = [row for row in book.sheets[0].rows if any(row)]
    text = _csv_text(rows)
    assumed = []
    effective = version or file.stem
    hint = "say --table PLACE/TABLE --version YYYY-MM-DD"
    try:
        day(effective, str(file), "the version's day")
        name = table or f"{file.resolve().parent.parent.name}/{file.resolve().parent.name}"
    except Refused as error:
        if version is not None:
            raise Refused(f"{file}: --version {version} is no date; {hint}") from error
        effective = dt.date.today().isoformat()
        assumed.append(f"in force from {effective}, the day of adding: neither --version nor the file's name says another")
        name = table or "own/" + (re.sub(r"[^a-z0-9]+", "-", file.stem.lower()).strip("-") or "levels")
    if name.count("/") != 1 or not all(name.split("/")):
        raise Refused(f"{file}: '{name}' is no table name; {hint}")
    beside = file.parent / "table.toml"
    shipped = Standards([standards_folder()])
    if beside.is_file():
        facts = beside.read_text(encoding="utf-8")
    elif name in shipped.names():
        facts = shipped.facts_text(name)
    else:
        facts = _facts(name, rows, effective, by_whom, why)
    parsed = parse_version(parse_facts(name, facts, f"{name}/table.toml"), effective, text, file.name)
    if not parsed.rows:
        raise Refused(f"{file}: holds no level")
    return OwnLevels(name, effective, facts, text, len(parsed.rows), parsed.sha256, tuple(assumed))


def add_levels(connection: duckdb.DuckDBPyConnection, own: OwnLevels, by_whom: str | None, why: str | None) -> None:
    """Store a user's version, and in the ledger who entered it and why where they are given."""
    connection.begin()
    try:
        add_own(connection, own.table, own.version, own.sha256, own.facts, own.text)
        if by_whom or why:
            append(
                connection, site="", kind="levels_added", subject=f"{own.table}@{own.version}", by_whom=by_whom or "",
                why=why or "", old_text="", new_text=own.sha256,
            )  # fmt: skip
        connection.commit()
    except BaseException:
        connection.rollback()
        raise


def _csv_text(rows: list[list[str]]) -> str:
    written = io.StringIO()
    heads = [cell.strip().lower().replace(" ", "_") for cell in rows[0]]
    csv.writer(written, lineterminator="\n").writerows([heads, *rows[1:]])
    return written.getvalue()


def _facts(name: str, rows: list[list[str]], effective: str, by_whom: str | None, why: str | None) -> str:
    """The table.toml of a bare table: what its columns show, and who entered it."""
    heads = [cell.strip().lower().replace(" ", "_") for cell in rows[0]]
    cells = {head: [row[at].strip() for row in rows[1:] if at < len(row)] for at, head in enumerate(heads)}
    media = sorted(set(cells.get("medium", [])) - {""})
    entered = f"entered by {by_whom}: {why}" if by_whom and why else "entered by a user, no document named"
    quoted = json.dumps
    lines = [
        f"title = {quoted(name)}", f"issuing_body = {quoted(entered)}", f"citation = {quoted(entered)}",
        f"media = {quoted(media)}", 'stage = "as entered"', 'comparison = "above"',
        'comparison_status = "assumed: above, wherever the column comparison says nothing else"',
        f'[versions."{effective}"]', 'effective = "as entered"',
    ]  # fmt: skip
    vocabulary = Vocabulary.load()
    for head in heads:
        if not head or head in COLUMNS or head in OPTIONAL:
            continue
        values = sorted(set(cells[head]) - {""})
        analyte = vocabulary.named(head.replace("_", " "))
        lines += [f"[conditions.{quoted(head)}]", f"values = {quoted(values)}", f"title = {quoted(head.replace('_', ' '))}"]
        if analyte is not None and set(values) <= {"detected", "not_detected"}:
            lines += ['from = "results"', f"analyte = {quoted(analyte.name)}"]
        else:
            lines += ['from = "site"']
    return "\n".join(lines) + "\n"
