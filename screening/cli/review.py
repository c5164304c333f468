"""Commands on the quality review: review, review override, review editions, review criteria."""

from __future__ import annotations

import datetime as dt

import click

from screening.cli.common import NEEDS_EYES, Day, Session, command, global_options, told_in_one_line
from screening.cli.group import screening


@screening.group("review", invoke_without_command=True)
@global_options
@click.option("--site", help="The site whose results are reviewed.")
@click.option("--edition", default="", help="Review edition: a name or a folder (default: that of the site file).")
@click.option("--data-on", type=Day(), metavar="DATE", help="Data as known on this day (default: all).")
@click.option(
    "--chosen-rule", type=click.Choice(["default", "last_run"]), default="default", help="Which of several analyses stands."
)
@click.pass_context
def review(context: click.Context, site: str | None, edition: str, data_on: dt.date | None, chosen_rule: str) -> None:
    """Review which results can carry a decision: holding times, blanks, recoveries, duplicates and more."""
    if context.invoked_subcommand is not None:
        return
    if site is None:
        raise click.UsageError("Missing option '--site'.", context)
    session = context.ensure_object(Session)
    with told_in_one_line():
        from screening.decision.review_site import review_site
        from screening.outputs.review_text import show_review
        from screening.store.database import opened

        with opened(session.database) as connection:
            document = review_site(connection, site, edition, data_on, chosen_rule)
    session.answer(document, lambda: show_review(session.console(), document))
    context.exit(NEEDS_EYES if any(item["qualifier"] for item in document["findings"]) else 0)


@command(review, "override")
@click.option("--site", required=True)
@click.option("--sample", required=True)
@click.option("--analyte", required=True)
@click.option("--row", type=int, help="Only the result in this row of its sheet (default: all of the sample and analyte).")
@click.option(
    "--as", "qualifier", required=True,
    type=click.Choice(["rejected", "not_detected_at_limit", "biased_low", "biased_high", "estimated", "usable"]),
    help="What the result is worth.",
)  # fmt: skip
@click.option("--by", "by_whom", required=True, metavar="NAME")
@click.option("--why", required=True, metavar="TEXT")
def review_override(
    session: Session, site: str, sample: str, analyte: str, row: int | None, qualifier: str, by_whom: str, why: str
) -> None:
    """Say what a result is worth, with name and reason; the automatic answer stays beside it."""
    from screening.decision.review_site import override_result
    from screening.outputs.review_text import show_override
    from screening.store.database import opened

    with opened(session.database) as connection:
        made = override_result(connection, site, sample, analyte, qualifier, by_whom, why, row)
    session.answer({"override": made}, lambda: show_override(session.console(), made))


@command(review, "editions")
def review_editions(session: Session) -> None:
    """List the review editions with version and status."""
    from screening.levels.versions import standards_folder
    from screening.quality.editions import edition_names, read_edition

    folder = standards_folder()
    found = [read_edition(name, folder) for name in edition_names(folder)]
    listed = [
        {"edition": one.name, "version": one.version.isoformat(), "title": one.title, "citation": one.citation, "status": one.status,
         "criteria": sum(len(rows) for rows in one.files.values())}
        for one in found
    ]  # fmt: skip

    def show() -> None:
        for one in listed:
            session.console().print(
                f"{one['edition']} {one['version']}: {one['title']}; {one['criteria']} criteria; {one['status']}",
                markup=False,
                highlight=False,
            )

    session.answer({"editions": listed}, show)


@command(review, "criteria")
@click.argument("edition", default="")
def review_criteria(session: Session, edition: str) -> None:
    """List every criterion of an EDITION (default: the shipped one) with its source, and how it was seen."""
    from screening.levels.versions import standards_folder
    from screening.outputs.review_text import show_criteria
    from screening.quality.criteria import listed_criteria
    from screening.quality.editions import DEFAULT, read_edition

    document = listed_criteria(read_edition(edition or DEFAULT, standards_folder()))
    session.answer(document, lambda: show_criteria(session.console(), document))
