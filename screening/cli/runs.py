"""Commands that decide: screen, explain, runs, demo."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from screening.cli.common import NEEDS_EYES, PATH, Day, LevelsOn, Session, command, global_options, pairs
from screening.cli.group import screening

if TYPE_CHECKING:
    from screening.decision.answer import Answer
    from screening.decision.runs import Asked


def exit_status(answer: dict[str, object]) -> int:
    """3 where something needs a person's eyes: rows held back, or any status but 'not_triggered'."""
    advice = answer["recommendation"]
    assert isinstance(advice, dict)
    return 0 if advice["status"] == "not_triggered" and not answer["held_back"] else NEEDS_EYES


def answered(session: Session, asked: Asked) -> Answer:
    """What `screen` asks, answered and kept."""
    from screening.decision.runs import screen
    from screening.store.database import opened

    with opened(session.database) as connection, session.console().status("screening"):
        return screen(connection, session.standards(connection), asked, dt.date.today())


@command(screening, "screen")
@click.option("--site", required=True)
@click.option("--levels", multiple=True, metavar="TABLE[@VERSION]", help="Level tables (default: those of the site file).")
@click.option(
    "--levels-on", type=LevelsOn(), metavar="DATE",
    help="Levels in force on this day (default: today), on an event of the site file, or on each sample's day ('sampling').",
)  # fmt: skip
@click.option("--data-on", type=Day(), metavar="DATE", help="Data as known on this day (default: all).")
@click.option("--condition", "conditions", multiple=True, metavar="KEY=VALUE", help="A fact that picks level rows.")
@click.option("--setting", "settings", multiple=True, metavar="KEY=VALUE", help="How to compare where the rule leaves a choice.")
@click.option("--sampling", multiple=True, metavar="RULES", help="Sampling rules in place of the site's, as PLACE/NAME.")
@click.pass_context
def screen_site(
    context: click.Context, session: Session, site: str, levels: tuple[str, ...], levels_on: dt.date | str | None,
    data_on: dt.date | None, conditions: tuple[str, ...], settings: tuple[str, ...], sampling: tuple[str, ...],
) -> None:  # fmt: skip
    """Hold a site's results against action levels: recommendation, exceedances, open items."""
    from screening.decision.runs import Asked
    from screening.outputs.terminal import show_answer

    asked = Asked(site, levels, levels_on, data_on, pairs(conditions, "--condition"), pairs(settings, "--setting"), sampling)
    answer = answered(session, asked)
    session.answer(answer, lambda: show_answer(session.console(), answer))
    context.exit(exit_status(answer))


@command(screening, "explain")
@click.argument("run")
@click.option("--sample", required=True)
@click.option("--analyte", required=True)
def explain(session: Session, run: str, sample: str, analyte: str) -> None:
    """Tell how one verdict came about: from the cell of the laboratory's file to the line of the law."""
    from screening.decision.explain import explain_outcome
    from screening.decision.runs import stored
    from screening.outputs.run_text import show_standing
    from screening.outputs.terminal import show_steps
    from screening.store.database import opened

    with opened(session.database) as connection:
        steps = explain_outcome(connection, run, sample, analyte)
        standing = session.today(connection).standing(stored(connection, run)[0])

    def show() -> None:
        show_standing(session.console(), standing.document)
        show_steps(session.console(), steps)

    session.answer({"steps": steps, **standing.document}, show)


@screening.group("runs")
@global_options
def runs() -> None:
    """Screens made before: list, show, reproduce."""


@command(runs, "list")
def runs_list(session: Session) -> None:
    """List the runs, oldest first: how each came about, whether it is stale, who signed it off."""
    from screening.decision.run_list import list_runs
    from screening.outputs.run_text import show_runs
    from screening.store.database import opened

    with opened(session.database) as connection:
        found = list_runs(connection, session.today(connection))
    session.answer({"runs": found}, lambda: show_runs(session.console(), found))


@command(runs, "show")
@click.argument("run")
@click.pass_context
def runs_show(context: click.Context, session: Session, run: str) -> None:
    """Show a run as it was answered, what decided it, and whether it is stale."""
    from screening.decision.run_list import run_document
    from screening.outputs.run_text import show_run
    from screening.store.database import opened

    with opened(session.database) as connection:
        document = run_document(connection, session.today(connection), run)
    session.answer(document, lambda: show_run(session.console(), document))
    context.exit(exit_status(document))


@command(runs, "reproduce")
@click.argument("run")
@click.option(
    "--to",
    "file",
    type=PATH,
    metavar="FILE",
    help="Write the answer made again, as 'screen --json' gives it.",
)
@click.pass_context
def runs_reproduce(context: click.Context, session: Session, run: str, file: Path | None) -> None:
    """Make a run again from what the store keeps, and say identical or name each difference with its cause."""
    from screening.decision.reproduce import reproduce
    from screening.files import write_text
    from screening.outputs.run_text import show_reproduced
    from screening.store.database import opened

    with opened(session.database) as connection:
        found, answer = reproduce(connection, run)
    if file is not None:
        found["files"] = [str(write_text(file, session.written(answer) + "\n"))]
    session.answer(found, lambda: show_reproduced(session.console(), found))
    context.exit(0 if found["identical"] else NEEDS_EYES)


@command(screening, "compare")
@click.argument("before")
@click.argument("after")
def compare(session: Session, before: str, after: str) -> None:
    """Name every outcome that differs between two runs of a site, and the chain of causes that led there."""
    from screening.decision.compare import compare_runs
    from screening.outputs.run_text import show_comparison
    from screening.store.database import opened

    with opened(session.database) as connection, session.console().status("comparing"):
        found = compare_runs(connection, before, after, session.today(connection))
    session.answer(found, lambda: show_comparison(session.console(), found))


@command(screening, "demo")
@click.argument("folder", type=PATH, default=Path("screening-demo"))
def demo(session: Session, folder: Path) -> None:
    """Run the main job on the invented demo site into FOLDER; ends with status 0 when it did its work."""
    from screening.decision.contents import contents_of
    from screening.decision.demo import DAY, run_demo
    from screening.outputs.package import write_package
    from screening.outputs.terminal import show_answer, show_import
    from screening.store.database import opened

    done = run_demo(folder)
    with opened(done.files[0]) as connection:
        contents = contents_of(connection, done.answer["run"], DAY)
    files = [*done.files, *write_package(contents, folder, force=True)]
    answer = {**done.answer, "files": [str(path) for path in files]}

    def show() -> None:
        show_import(session.console(), done.imports)
        show_answer(session.console(), done.answer)
        session.console().print("written: " + ", ".join(str(path) for path in files), highlight=False, soft_wrap=True)

    session.answer(answer, show)
