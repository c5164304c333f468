"""Commands on many sites at once: a portfolio written out, and held against levels."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from screening.cli.common import NEEDS_EYES, PATH, Day, LevelsOn, Session, command, global_options, pairs
from screening.cli.group import screening

FEW = 9
"""Sites that are named where there are many."""


@screening.group("portfolio")
@global_options
def portfolio() -> None:
    """Many sites at once: written out as Parquet, screened in one query by DuckDB or Apache Spark."""


@command(portfolio, "write")
@click.argument("folder", type=PATH)
@click.option(
    "--store", "stores", multiple=True, type=PATH, metavar="PATH", help="A further store to write out beside --database."
)
@click.option("--site", "sites", multiple=True, metavar="ID", help="This site (default: all); may be said more than once.")
@click.option("--levels", multiple=True, metavar="TABLE", help="Level tables in place of the site files'.")
@click.option("--data-on", type=Day(), metavar="DATE", help="Data as known on this day (default: all).")
@click.option("--setting", "settings", multiple=True, metavar="KEY=VALUE", help="How to review and measure, as for 'screen'.")
@click.pass_context
def write(
    context: click.Context, session: Session, folder: Path, stores: tuple[Path, ...], sites: tuple[str, ...],
    levels: tuple[str, ...], data_on: dt.date | None, settings: tuple[str, ...],
) -> None:  # fmt: skip
    """Write sites into the new FOLDER: reviewed, one value chosen of several, in dry weight, sums formed.

    What is left is to hold them against levels, which 'portfolio screen' does. Ends with status 3 where a site was refused.
    """
    from screening.outputs.terminal import console, progress_bar
    from screening.portfolio.write import Wish, write_portfolio

    wish = Wish(sites, data_on, levels, pairs(settings, "--setting"))
    with progress_bar(console(error=True), len(sites) or 1) as advance:
        done = write_portfolio([session.database, *stores], folder, wish, advance)
    document = {"portfolio": str(folder), **done}

    def show() -> None:
        said = session.console()
        said.print(f"{folder}: {done['sites']} sites, {done['amounts']} amounts", highlight=False, soft_wrap=True)
        for one in done["refused"]:
            said.print(f"not written: {one['site']}: {one['reason']}", highlight=False, soft_wrap=True, markup=False)

    session.answer(document, show)
    context.exit(NEEDS_EYES if done["refused"] else 0)


@command(portfolio, "screen")
@click.argument("folder", type=PATH)
@click.option(
    "--to", required=True, type=PATH, metavar="DIR", help="The new folder for outcomes, counts by site and the law used."
)
@click.option(
    "--levels", multiple=True, metavar="TABLE@VERSION", help="This version of a table, at the sites that have the table."
)
@click.option(
    "--levels-on", type=LevelsOn(), metavar="DATE",
    help="Levels in force on this day (default: today), on an event of the site file, or on each sample's day ('sampling').",
)  # fmt: skip
@click.option(
    "--condition", "conditions", multiple=True, metavar="KEY=VALUE", help="A fact that picks level rows, at every site."
)
@click.option(
    "--setting", "settings", multiple=True, metavar="KEY=VALUE", help="duplicate_rule or phase_in.TABLE, as for 'screen'."
)
@click.option("--engine", type=click.Choice(["duckdb", "spark"]), default="duckdb", help="What runs the query (default: duckdb).")
@click.option("--master", default="", metavar="URL", help="The Spark cluster (default: this machine).")
@click.option("--spark", "options", multiple=True, metavar="KEY=VALUE", help="A property of Spark, as spark.executor.memory=8g.")
@click.pass_context
def screen(
    context: click.Context, session: Session, folder: Path, to: Path, levels: tuple[str, ...], levels_on: dt.date | str | None,
    conditions: tuple[str, ...], settings: tuple[str, ...], engine: str, master: str, options: tuple[str, ...],
) -> None:  # fmt: skip
    """Hold every site of the portfolio in FOLDER against action levels: the same outcomes as 'screen' gives for each.

    No run is stored, and coverage is not looked at; 'screen' a site for its recommendation, its reasons and its record.
    """
    from screening.portfolio.law import Question
    from screening.portfolio.verdicts import needs_eyes, screen_portfolio

    question = Question(levels_on, levels, pairs(conditions, "--condition"), pairs(settings, "--setting"))
    document = screen_portfolio(folder, to, question, dt.date.today(), engine, master, pairs(options, "--spark"))

    def show() -> None:
        said = session.console()
        for one in document["tables"]:
            said.print(
                f"{one['table']}@{one['version']}: {one['sites']} sites, {one['sites_exceeding']} with exceedances, {one['sites_open']} "
                f"with open results; {one['exceeds']} exceed, {one['open']} open, {one['no_level']} without level, "
                f"{one['does_not_exceed']} do not exceed",
                highlight=False, soft_wrap=True,
            )  # fmt: skip
        for words in ("rows held back", "samples missing", "nothing compared"):
            if sites := document[f"sites_with_{words.replace(' ', '_')}"]:
                more = f" and {len(sites) - FEW} more" if len(sites) > FEW else ""
                said.print(
                    f"not clean, with {words}: {', '.join(sites[:FEW])}{more}", highlight=False, soft_wrap=True, markup=False
                )
        for one in document["refused"]:
            said.print(f"not screened: {one['site']}: {one['reason']}", highlight=False, soft_wrap=True, markup=False)
        for text in document["assumptions"]:
            said.print(f"assumed: {text}", highlight=False, soft_wrap=True, markup=False)
        said.print(f"by {document['engine']}; written: {', '.join(document['files'])}", highlight=False, soft_wrap=True)
        said.print(document["caution"], highlight=False, soft_wrap=True)

    session.answer(document, show)
    context.exit(NEEDS_EYES if needs_eyes(document) else 0)
