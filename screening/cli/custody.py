"""Commands on custody records: add, match."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from screening.cli.common import NEEDS_EYES, PATH, Day, Session, command, global_options
from screening.cli.group import screening


@screening.group("custody")
@global_options
def custody() -> None:
    """Custody records: what was asked of the laboratory, and whether it came."""


@command(custody, "add")
@click.argument("file", type=PATH)
@click.option("--site", required=True, help="The site the samples belong to.")
@click.option("--received", type=Day(), help="The day the record was made known (default: today).")
@click.option("--replaces", metavar="RECORD", help="The record that this one corrects as a whole.")
@click.pass_context
def custody_add(
    context: click.Context, session: Session, file: Path, site: str, received: dt.date | None, replaces: str | None
) -> None:
    """Take over a custody record: csv or workbook with the headings sample and analyses, if known collected, depth, medium."""
    from screening.outputs.custody_text import show_custody
    from screening.store.custody import add_custody, read_custody
    from screening.store.database import opened

    book, lines = read_custody(file)
    with opened(session.database) as connection:
        record = add_custody(connection, site, book, lines, received, replaces)
    session.answer({"custody": record}, lambda: show_custody(session.console(), record))
    context.exit(NEEDS_EYES if record["unlisted"] else 0)


@command(custody, "match")
@click.option("--site", required=True)
@click.pass_context
def custody_match(context: click.Context, session: Session, site: str) -> None:
    """Hold custody record and sample plan against what was delivered."""
    from screening.outputs.custody_text import show_match
    from screening.store.database import opened
    from screening.store.match import match_site

    with opened(session.database) as connection:
        match = match_site(connection, site)
    session.answer({"match": match}, lambda: show_match(session.console(), match))
    counts = match["counts"]
    open_ends = counts["waiting"] + counts["missing"] + counts["unasked"] + len(match["never_delivered"])
    context.exit(NEEDS_EYES if open_ends or match["on_neither"] or match["near_names"] else 0)
