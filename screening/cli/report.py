"""The command that writes what people look at: report."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

import click

from screening.cli.common import PATH, Day, Session, command
from screening.cli.group import screening


@command(screening, "report")
@click.option("--run", metavar="RUN", help="The run to report; 'screening runs list' shows the runs.")
@click.option("--to", "folder", type=PATH, metavar="DIR", help="The folder to write into.")
@click.option("--only", multiple=True, metavar="KIND", help="Only this kind: workbook, page, document, plan or data.")
@click.option("--today", type=Day(), metavar="DATE", help="The day from which overdue is judged (default: that of the run).")
@click.option("--template", type=PATH, metavar="FILE", help="A Word template of your own for the document.")
@click.option(
    "--save-template",
    type=PATH,
    metavar="FILE",
    help="Write the shipped Word template, to be changed, and end.",
)
@click.option("--force", is_flag=True, help="Replace files that are there.")
def report(
    session: Session, run: str | None, folder: Path | None, only: tuple[str, ...], today: dt.date | None, template: Path | None,
    save_template: Path | None, force: bool,
) -> None:  # fmt: skip
    """Write the package of a run: workbook, page, document, plan and data."""
    from screening.errors import Misuse
    from screening.outputs.package import put

    if save_template is not None:
        from screening.outputs.document.template import shipped

        saved = save_template.absolute()
        _told(session, put(saved.parent, {saved.name: shipped()}, force))
        return
    if run is None or folder is None:
        raise Misuse("say which run and where: --run RUN --to DIR")
    from screening.decision.contents import contents_of
    from screening.outputs.package import write_package
    from screening.store.database import opened

    with session.console().status("gathering") as status:
        with opened(session.database) as connection:
            contents = contents_of(connection, run, today)

        def progress(kinds: Iterable[str]) -> Iterable[str]:
            for kind in kinds:
                status.update(f"writing the {kind}")
                yield kind

        files = write_package(contents, folder, only, force, template, progress)
    _told(session, files)


def _told(session: Session, files: Iterable[Path]) -> None:
    written = [str(path) for path in files]
    session.answer({"files": written}, lambda: session.console().print("\n".join(written), highlight=False, soft_wrap=True))
