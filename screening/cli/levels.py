"""Commands on level tables."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from screening.cli.common import PATH, Session, command, global_options
from screening.cli.group import screening


@screening.group("levels")
@global_options
def levels() -> None:
    """Action-level tables: list, show, check, add."""


def _standards(session: Session) -> Any:
    if not session.database.exists():
        return session.standards()
    from screening.store.database import opened

    with opened(session.database) as connection:
        return session.standards(connection)


@command(levels, "list")
@click.option("--markdown", is_flag=True, help="The table of README.")
def list_tables(session: Session, markdown: bool) -> None:
    """List the tables with their versions, media, stage and transcription."""
    from screening.levels.catalogue import as_markdown, catalogue
    from screening.outputs.terminal import show_tables

    if markdown:
        click.echo(as_markdown(catalogue(session.standards())), nl=False)
        return
    tables = catalogue(_standards(session))
    session.answer({"tables": tables}, lambda: show_tables(session.console(), tables))


@command(levels, "show")
@click.argument("table", metavar="TABLE[@VERSION]")
def show_table(session: Session, table: str) -> None:
    """Show the rows of a table as printed in the rule, with citation and transcription."""
    from screening.levels.catalogue import level_rows
    from screening.outputs.terminal import show_levels

    rows = level_rows(_standards(session), table)
    session.answer({"rows": rows}, lambda: show_levels(session.console(), table, rows))


@command(levels, "check")
@click.argument("folder", type=PATH, required=False)
@click.pass_context
def check_tables(context: click.Context, session: Session, folder: Path | None) -> None:
    """Check level tables on disk; status 1 where one cannot be used."""
    from screening.levels.check import check
    from screening.levels.versions import standards_folder

    problems = [item.__dict__ for item in check(folder or standards_folder())]
    lines = [f"{item['file']}{', row ' + str(item['row']) if item['row'] else ''}: {item['text']}" for item in problems]
    session.answer(
        {"problems": problems},
        lambda: session.console().print("\n".join(lines) or "no problem found", markup=False, highlight=False),
    )
    context.exit(1 if problems else 0)


@command(levels, "compare")
@click.argument("before", metavar="TABLE@A")
@click.argument("after", metavar="TABLE@B")
def compare_versions(session: Session, before: str, after: str) -> None:
    """Name every level that two versions do not share: added, removed, stricter, looser, with the factor."""
    from dataclasses import asdict

    from screening.levels.compare import compare
    from screening.levels.versions import named_version
    from screening.outputs.terminal import show_level_changes

    standards = _standards(session)
    changes = [asdict(item) for item in compare(named_version(standards, before), named_version(standards, after))]
    session.answer({"changes": changes}, lambda: show_level_changes(session.console(), changes))


@command(levels, "add")
@click.argument("file", type=PATH)
@click.option("--table", metavar="PLACE/TABLE", help="The table's name (default: from the folders of FILE).")
@click.option("--version", metavar="DATE", help="First day in force (default: FILE's name).")
@click.option("--by", "by_whom", metavar="NAME", help="Who enters the levels.")
@click.option("--why", metavar="TEXT", help="Why, and from which document.")
@click.option("--answer", "answers", multiple=True, metavar="ROW:COLUMN=TEXT", help="What a cell that was asked about means.")
@click.option(
    "--confirm", "confirmed", multiple=True, type=int, metavar="ROW", help="A figure that was asked about stands as it is."
)
def add_table(
    session: Session, file: Path, table: str | None, version: str | None, by_whom: str | None, why: str | None,
    answers: tuple[str, ...], confirmed: tuple[int, ...],
) -> None:  # fmt: skip
    """Add a level table of your own, in the form of standards/ or as a csv or workbook as it came.

    The header is looked for, levels of several media may stand across (Soil (mg/kg), Groundwater (ug/L)). A cell that
    is odd is asked about, and nothing is added before it is answered.
    """
    from screening.errors import Misuse
    from screening.store.database import opened
    from screening.store.own_levels import add_levels, read_levels

    if (answers or confirmed) and not (by_whom and why):
        raise Misuse("--answer and --confirm are decisions: say --by NAME and --why TEXT too")
    own = read_levels(file, table, version, by_whom, why, _cells(answers), confirmed)
    with opened(session.database, create=True) as connection:
        add_levels(connection, own, by_whom, why, "; ".join([*answers, *(f"row {row} confirmed" for row in confirmed)]))
    added = {
        "table": own.table, "version": own.version, "levels": own.levels, "sha256": own.sha256, "assumptions": list(own.assumed),
    }  # fmt: skip
    told = "".join(f"\n- {note}" for note in own.assumed)
    session.answer(
        {"tables": [added]},
        lambda: session.console().print(
            f"{added['table']}@{added['version']}: {added['levels']} levels added{told}", highlight=False
        ),
    )


def _cells(answers: tuple[str, ...]) -> dict[tuple[int, str], str]:
    from screening.errors import Misuse

    found = {}
    for answer in answers:
        place, mark, text = answer.partition("=")
        row, _, column = place.partition(":")
        if not mark or not row.strip().isdigit():
            raise Misuse(f"--answer {answer}: write it as ROW:COLUMN=TEXT, as 14:level=19")
        found[int(row), column.strip() or "level"] = text.strip()
    return found
