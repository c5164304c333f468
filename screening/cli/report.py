"""The command that writes what people look at: report."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

import click

from screening.cli.common import Day, Session, command
from screening.cli.group import screening


@command(screening, "report")
@click.option("--run", required=True, metavar="RUN", help="The run to report; 'screening runs list' shows the runs.")
@click.option("--to", "folder", required=True, type=click.Path(path_type=Path), metavar="DIR", help="The folder to write into.")
@click.option("--only", multiple=True, metavar="KIND", help="Only this kind: workbook, page, document, plan or data.")
@click.option("--today", type=Day(), metavar="DATE", help="The day from which overdue is judged (default: that of the run).")
@click.option("--force", is_flag=True, help="Replace files that are there.")
def report(session: Session, run: str, folder: Path, only: tuple[str, ...], today: dt.date | None, force: bool) -> None:
    """Write the package of a run: workbook, page, document, plan and data."""
    from screening.decision.contents import contents_of
    from screening.outputs.package import write_package
    from screening.store.database import opened

    console = session.console()
    with console.status("gathering") as status:
        with opened(session.database) as connection:
            contents = contents_of(connection, run, today)

        def told(kinds: Iterable[str]) -> Iterable[str]:
            for kind in kinds:
                status.update(f"writing the {kind}")
                yield kind

        files = write_package(contents, folder, only, force, told)
    written = [str(path) for path in files]
    session.answer({"files": written}, lambda: console.print("\n".join(written), highlight=False, soft_wrap=True))
