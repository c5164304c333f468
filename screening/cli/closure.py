"""Commands of closure: coverage, deadlines, papers."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from screening.cli.common import NEEDS_EYES, PATH, Day, Session, command
from screening.cli.group import screening


@command(screening, "coverage")
@click.option("--site", required=True)
@click.option("--sampling", multiple=True, metavar="RULES", help="Sampling rules in place of the site's, as PLACE/NAME.")
@click.pass_context
def coverage(context: click.Context, session: Session, site: str, sampling: tuple[str, ...]) -> None:
    """Hold the samples and analytes of a site against what the place asks for."""
    from screening.closure.assess import coverage_now
    from screening.closure.library import Library
    from screening.levels.versions import standards_folder
    from screening.outputs.closure_text import show_coverage
    from screening.store.database import opened

    with opened(session.database) as connection:
        found = coverage_now(connection, Library(standards_folder()), site, sampling)
    session.answer(found, lambda: show_coverage(session.console(), found))
    context.exit(0 if found["complete"] else NEEDS_EYES)


@command(screening, "deadlines")
@click.option("--site", required=True)
@click.option("--today", type=Day(), metavar="DATE", help="The day from which overdue is judged (default: today).")
@click.option("--run", metavar="RUN", help="The run whose recommendation counts (default: the site's last).")
@click.option("--ics", type=PATH, help="Write the dates to this calendar file.")
@click.pass_context
def deadlines(
    context: click.Context, session: Session, site: str, today: dt.date | None, run: str | None, ics: Path | None
) -> None:
    """List what is due when: each clock with its start event, rule and whether it applies."""
    from screening.closure.library import Library
    from screening.decision.closing import calendar_of, deadlines_now
    from screening.files import write_text
    from screening.levels.versions import standards_folder
    from screening.outputs.closure_text import show_deadlines
    from screening.store.database import opened

    with opened(session.database) as connection:
        day, now = today or dt.date.today(), session.today(connection)
        found = deadlines_now(connection, Library(standards_folder()), site, day, run, now)
    if ics is not None:
        found["files"] = [str(write_text(ics, calendar_of(found)))]
    session.answer(found, lambda: show_deadlines(session.console(), found))
    context.exit(NEEDS_EYES if any(one["status"] == "overdue" and one["applies"] for one in found["deadlines"]) else 0)


@command(screening, "papers")
@click.option("--site", required=True)
@click.option("--run", metavar="RUN", help="The run whose recommendation counts (default: the site's last).")
@click.pass_context
def papers(context: click.Context, session: Session, site: str, run: str | None) -> None:
    """List what the closure report must hold, what is there, and whether quantities reconcile."""
    from screening.closure.library import Library
    from screening.decision.closing import papers_now
    from screening.levels.versions import standards_folder
    from screening.outputs.closure_text import show_papers
    from screening.store.database import opened

    with opened(session.database) as connection:
        found = papers_now(connection, Library(standards_folder()), site, run, session.today(connection))
    session.answer(found, lambda: show_papers(session.console(), found))
    context.exit(0 if found["complete"] else NEEDS_EYES)
