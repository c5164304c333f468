"""Level tables that a user adds: from the form of standards/, or from a bare csv or xlsx."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from screening.deliverable.cells import read_book
from screening.errors import Refused
from screening.files import read_text
from screening.levels import suspect
from screening.levels.facts import WORDS
from screening.levels.shape import BrokenTable, day
from screening.levels.table import COLUMNS, OPTIONAL, parse_facts, parse_version
from screening.levels.versions import Standards, standards_folder
from screening.store.database import transaction
from screening.store.ledger import append
from screening.store.level_sheet import OddCell, read_level_sheet
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


def read_levels(
    file: Path, table: str | None, version: str | None, by_whom: str | None, why: str | None,
    answers: Mapping[tuple[int, str], str] = MappingProxyType({}), confirmed: Collection[int] = (),
) -> OwnLevels:  # fmt: skip
    """Read one version from a csv or workbook; ``answers`` settle odd cells, ``confirmed`` rows stand as they are.

    Raises `Refused` naming file, row and column; every cell that a person must look at is named at once.
    """
    if file.is_dir():
        raise Refused(f"{file}: is a folder; name the csv or xlsx of one version")
    book = read_book(file)
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
    facts = ""
    if beside.is_file():
        facts = read_text(beside)
    elif name in shipped.names():
        facts = shipped.facts_text(name)
    known = parse_facts(name, facts, f"{name}/table.toml") if facts else None
    found = read_level_sheet(book, known.words if known else WORDS, known.names if known else (), answers)
    if not found.rows:
        raise Refused(f"{file}: holds no level")
    _settled(file, found.odd)
    text = _csv_text(found.rows)
    parsed_facts = known or parse_facts(name, facts := _facts(name, found.rows, effective, by_whom, why), f"{name}/table.toml")
    try:
        parsed = parse_version(parsed_facts, effective, text, file.name)
    except BrokenTable as error:
        raise Refused(re.sub(r"\brow (\d+)", lambda at: f"row {found.places[int(at[1]) - 2]}", str(error))) from error
    doubts = [
        OddCell(found.places[row - 2], "level", "", told)
        for _, row, told in suspect.figures(parsed_facts, [parsed])
        if row is not None and found.places[row - 2] not in confirmed
    ]
    _settled(file, doubts)
    return OwnLevels(name, effective, facts, text, len(parsed.rows), parsed.sha256, (*assumed, *found.notes))


def _settled(file: Path, odd: Sequence[OddCell]) -> None:
    if odd:
        told = "; ".join(cell.told() for cell in odd[:12]) + (f"; and {len(odd) - 12} more" if len(odd) > 12 else "")
        raise Refused(
            f"{file}: {told}. Nothing is added. Mend the file, or answer each with --answer ROW:COLUMN=TEXT, or --confirm ROW "
            "where the figure stands as it is, and --by and --why"
        )


def add_levels(
    connection: duckdb.DuckDBPyConnection, own: OwnLevels, by_whom: str | None, why: str | None, answered: str = ""
) -> None:
    """Store a user's version, and in the ledger who entered it and why where they are given; ``answered`` are the odd
    cells that the person settled."""
    with transaction(connection):
        add_own(connection, own.table, own.version, own.sha256, own.facts, own.text)
        if by_whom or why:
            append(
                connection, site="", kind="levels_added", subject=f"{own.table}@{own.version}", by_whom=by_whom or "",
                why=why or "", old_text=answered, new_text=own.sha256,
            )  # fmt: skip


def _csv_text(rows: Sequence[Mapping[str, str]]) -> str:
    heads = list(dict.fromkeys(head for row in rows for head in row))
    written = io.StringIO()
    writer = csv.DictWriter(written, heads, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return written.getvalue()


def _facts(name: str, rows: Sequence[Mapping[str, str]], effective: str, by_whom: str | None, why: str | None) -> str:
    """The table.toml of a bare table: what its columns show, and who entered it."""
    heads = list(dict.fromkeys(head for row in rows for head in row))
    cells = {head: [row.get(head, "") for row in rows] for head in heads}
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
