"""Commands on the data: import, held, results."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import click

from screening.cli.common import DONE, NEEDS_EYES, PATH, REFUSED, Day, Session, command, global_options, pairs, tell
from screening.cli.group import screening

NOTHING = {"read": 0, "results": 0, "quality_control": 0, "held_back": 0, "ignored": 0}


@command(screening, "import")
@click.argument("files", nargs=-1, required=True, type=PATH)
@click.option("--site", required=True, help="The site the results belong to.")
@click.option("--layout", help="A saved layout: its name or file.")
@click.option(
    "--set",
    "settings",
    multiple=True,
    metavar="FIELD=VALUE",
    help="A value the file does not state; FIELD:TEXT=VALUE reads a delivered text as VALUE.",
)
@click.option("--replaces", metavar="DELIVERABLE", help="The deliverable that this revision replaces.")
@click.option("--replaces-only-contents", is_flag=True, help="The revision replaces only the values it contains.")
@click.option("--adds", is_flag=True, help="A further analysis of samples delivered before; it replaces nothing.")
@click.option("--received", type=Day(), help="The day the deliverable came (default: today).")
@click.option("--preview", is_flag=True, help="Show how the file is read and store nothing.")
@click.option("--save-layout", type=PATH, help="Write the layout found to this TOML file.")
@click.option("--screen", "screened", is_flag=True, help="Screen the site afterwards, as its site file says.")
@click.pass_context
def import_files(
    context: click.Context, session: Session, files: tuple[Path, ...], site: str, layout: str | None,
    settings: tuple[str, ...], replaces: str | None, replaces_only_contents: bool, adds: bool, received: dt.date | None,
    preview: bool, save_layout: Path | None, screened: bool,
) -> None:  # fmt: skip
    """Import laboratory FILES: every row becomes a result, quality control, held back or ignored."""
    from screening.cli.runs import answered, exit_status
    from screening.errors import Refused
    from screening.outputs.custody_text import show_revisions
    from screening.outputs.terminal import progress_bar, show_answer, show_import
    from screening.store.bring_in import Wish, bring_in

    if screened and preview:
        raise click.UsageError("--preview stores nothing that --screen could hold against levels; give one of them")
    wish = Wish(site, layout, pairs(settings, "--set"), received, replaces, replaces_only_contents, preview, save_layout, adds)
    documents: list[dict[str, Any]] = []
    refusals: list[str] = []
    steps = 4  # reading, normal form, validating, storing
    with progress_bar(session.console(), steps * len(files)) as advance:
        for file in files:
            try:
                done = bring_in(session.database, file, wish, lambda step, name=file.name: advance(f"{name}: {step}"))  # type: ignore[misc]
            except Refused as error:
                if len(files) == 1:
                    raise
                refusals.append(str(error))
                done = {"id": "", "file": file.name, "status": "refused", "reason": str(error), "rows": dict(NOTHING)}
            documents.append(done)

    taken = [document for document in documents if document["status"] != "refused"]

    def show() -> None:
        show_import(session.console(), taken)
        show_revisions(session.console(), taken)
        for words in refusals:  # each file is a transaction of its own: the others are in
            tell(words)

    status = REFUSED if refusals else NEEDS_EYES if any(document["rows"]["held_back"] for document in taken) else DONE
    if not screened or refusals:
        session.answer({"deliverables": documents}, show)
        context.exit(status)
    from screening.decision.runs import Asked  # loads all that decides

    show()
    try:
        answer = answered(session, Asked(site))
    except Refused as error:  # the rows are in the store all the same
        why = str(error)
        session.answer({"deliverables": documents, "not_screened": why}, lambda: tell(f"not screened: {why}"))
        context.exit(NEEDS_EYES)
    session.answer({"deliverables": documents, "screen": answer}, lambda: show_answer(session.console(), answer))
    context.exit(max(status, exit_status(answer)))


@screening.group("held")
@global_options
def held() -> None:
    """Rows that wait for a person: list, accept, reject."""


@command(held, "list")
@click.option("--site", required=True)
def held_list(session: Session, site: str) -> None:
    """List the rows held back, with the reason and what is proposed."""
    from dataclasses import asdict

    from screening.outputs.terminal import show_held
    from screening.store.database import opened
    from screening.store.held import all_waiting
    from screening.store.sites import site_text

    with opened(session.database) as connection:
        site_text(connection, site)
        found = [asdict(item) for item in all_waiting(connection, site)]
    session.answer({"held": found}, lambda: show_held(session.console(), found))


ALL_LIKE_IT = click.option(
    "--all-like-it", is_flag=True, help="All waiting rows of the same deliverable with the same text in the same field."
)


@command(held, "accept")
@click.argument("identity", metavar="HELD")
@click.option("--by", "by_whom", required=True, metavar="NAME")
@click.option("--why", required=True, metavar="TEXT")
@click.option("--as", "text", metavar="TEXT", help="The text to read instead of the one at fault (default: the proposal).")
@ALL_LIKE_IT
@click.option("--for-all-sites", is_flag=True, help="Learn the name or word for every site, not only for this one.")
def held_accept(
    session: Session, identity: str, by_whom: str, why: str, text: str | None, all_like_it: bool, for_all_sites: bool
) -> None:
    """Take a held row in; the delivered text is kept, who and why go into the ledger."""
    from dataclasses import asdict

    from screening.outputs.custody_text import show_accepted
    from screening.store.database import opened
    from screening.store.held import accept

    with opened(session.database) as connection:
        done = accept(connection, identity, by_whom, why, text, all_like_it=all_like_it, for_all_sites=for_all_sites)
    document = {
        "held": [asdict(item) for item in done.rows], "further": [asdict(item) for item in done.further],
        "unsettled": done.unsettled, "also_waiting": done.also_waiting, "read_otherwise": done.read_otherwise,
    }  # fmt: skip
    session.answer(document, lambda: show_accepted(session.console(), document, by_whom, why))


@command(held, "reject")
@click.argument("identity", metavar="HELD")
@click.option("--by", "by_whom", required=True, metavar="NAME")
@click.option("--why", required=True, metavar="TEXT")
@ALL_LIKE_IT
def held_reject(session: Session, identity: str, by_whom: str, why: str, all_like_it: bool) -> None:
    """Leave a held row out for good; it stays readable."""
    from dataclasses import asdict

    from screening.store.database import opened
    from screening.store.held import reject

    with opened(session.database) as connection:
        items = reject(connection, identity, by_whom, why, all_like_it=all_like_it)
    said = f"{', '.join(item.id for item in items)} rejected by {by_whom}: {why}"
    session.answer(
        {"held": [asdict(item) for item in items]}, lambda: session.console().print(said, markup=False, highlight=False)
    )


@command(screening, "results")
@click.option("--site", required=True)
@click.option("--all", "everything", is_flag=True, help="Also values not chosen and quality control.")
@click.option("--data-on", type=Day(), metavar="DATE", help="Data as known on this day (default: all).")
def results(session: Session, site: str, everything: bool, data_on: dt.date | None) -> None:
    """Show the results of a site in the normal form, each with its source cell."""
    from screening.decision.listing import list_results
    from screening.outputs.terminal import show_results
    from screening.store.database import opened

    with opened(session.database) as connection:
        found = list_results(connection, site, everything, data_on)
    session.answer({"results": found}, lambda: show_results(session.console(), found))
