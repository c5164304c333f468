"""The command `statistics`."""

from __future__ import annotations

import datetime as dt

import click

from screening.cli.common import NEEDS_EYES, Day, LevelsOn, Session, command, pairs
from screening.cli.group import screening


@command(screening, "statistics")
@click.option("--site", required=True)
@click.option("--analyte", required=True)
@click.option("--test", metavar="NAME", help="One test alone (default: all that can be made).")
@click.option("--by", default="medium", metavar="medium|location", help="Samples of a medium together, or each location alone.")
@click.option("--location", "locations", multiple=True, metavar="NAME", help="Samples of this location alone; may be repeated.")
@click.option("--seed", type=int, help="Where random draws begin (default: always the same).")
@click.option("--levels", multiple=True, metavar="TABLE[@VERSION]", help="Level tables (default: those of the site file).")
@click.option("--levels-on", type=LevelsOn(), metavar="DATE", help="Levels in force on this day (default: today); see screen.")
@click.option("--data-on", type=Day(), metavar="DATE", help="Data as known on this day (default: all).")
@click.option("--condition", "conditions", multiple=True, metavar="KEY=VALUE", help="A fact that picks level rows.")
@click.option("--setting", "settings", multiple=True, metavar="KEY=VALUE", help="How to compare where the rule leaves a choice.")
@click.pass_context
def statistics_of(
    context: click.Context, session: Session, site: str, analyte: str, test: str | None, by: str, locations: tuple[str, ...],
    seed: int | None, levels: tuple[str, ...], levels_on: dt.date | str | None, data_on: dt.date | None,
    conditions: tuple[str, ...], settings: tuple[str, ...],
) -> None:  # fmt: skip
    """Make the statistics of one analyte that the table's rule allows, beside the sample-by-sample answer."""
    from screening.decision.runs import Asked
    from screening.decision.statistics import Wanted, statistics
    from screening.outputs.statistics_text import show_statistics
    from screening.screen.statistics.resampling import SEED
    from screening.store.database import opened

    asked = Asked(site, levels, levels_on, data_on, pairs(conditions, "--condition"), pairs(settings, "--setting"))
    wanted = Wanted(analyte, test, by, locations, SEED if seed is None else seed)
    with opened(session.database) as connection, session.console().status("statistics"):
        found = statistics(connection, session.standards(connection), asked, wanted, dt.date.today())
    session.answer(found, lambda: show_statistics(session.console(), found))
    context.exit(0 if found["status"] == "not_triggered" and not found["held_back"] else NEEDS_EYES)
