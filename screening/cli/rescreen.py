"""The command that puts new levels to old answers: rescreen."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from screening.cli.common import NEEDS_EYES, PATH, Day, Session, command, pairs
from screening.cli.group import screening


@command(screening, "rescreen")
@click.option("--levels-on", required=True, type=Day(), metavar="DATE", help="Levels in force on this day.")
@click.option("--site", "sites", multiple=True, metavar="ID", help="This site; may be said more than once.")
@click.option("--all", "everything", is_flag=True, help="Every site of the store.")
@click.option("--data-on", type=Day(), metavar="DATE", help="Data as known on this day (default: those of the run before).")
@click.option(
    "--condition", "conditions", multiple=True, metavar="KEY=VALUE", help="A fact that picks level rows, for all these sites."
)
@click.option(
    "--setting", "settings", multiple=True, metavar="KEY=VALUE", help="How to compare, where other than in the run before."
)
@click.option("--to", "folder", type=PATH, metavar="DIR", help="Write a workbook, a page and csv files here.")
@click.option("--force", is_flag=True, help="Replace files that are there.")
@click.pass_context
def rescreen_sites(
    context: click.Context, session: Session, levels_on: dt.date, sites: tuple[str, ...], everything: bool,
    data_on: dt.date | None, conditions: tuple[str, ...], settings: tuple[str, ...], folder: Path | None, force: bool,
) -> None:  # fmt: skip
    """Put the levels of another day to sites screened before: which outcome flips, where, and by how much.

    The answer before is the last screen of each site that a person asked for. Ends with status 0 where nothing flips, with 3
    where something does, where a site could not be answered, or where its data were revised since that screen.
    """
    from screening.decision.rescreen import Question, needs_eyes, rescreen
    from screening.errors import Misuse
    from screening.outputs.rescreen_text import show_rescreen
    from screening.outputs.terminal import console, progress_bar
    from screening.store.database import opened
    from screening.store.sites import site_ids

    if bool(sites) == everything:
        raise Misuse("say either --site ID or --all")
    question = Question(levels_on, data_on, pairs(conditions, "--condition"), pairs(settings, "--setting"))
    if folder is not None:
        from screening.outputs.package import refuse_overwriting
        from screening.outputs.rescreen_files import NAMES

        refuse_overwriting(folder, NAMES, force)
    with opened(session.database) as connection:
        steps = len(sites) or len(site_ids(connection))
        with progress_bar(console(error=True), steps) as advance:
            document = rescreen(connection, session.standards(connection), question, sites, session.today(connection), advance)
    if folder is not None:
        from screening.outputs.package import put
        from screening.outputs.rescreen_files import files_of

        document["files"] = [str(path) for path in put(folder, files_of(document), force)]
    session.answer(document, lambda: show_rescreen(session.console(), document))
    context.exit(NEEDS_EYES if needs_eyes(document) else 0)
