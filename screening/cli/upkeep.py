"""Commands of upkeep: backup, restore, doctor."""

from __future__ import annotations

from pathlib import Path

import click

from screening.cli.common import NEEDS_EYES, PATH, Session, command
from screening.cli.group import screening

FORCE = click.option("--force", is_flag=True, help="Replace what is there.")


@command(screening, "backup")
@click.argument("file", type=PATH)
@FORCE
def backup(session: Session, file: Path, force: bool) -> None:
    """Copy the whole store into FILE, read it again and compare it before it counts."""
    from screening.outputs.upkeep_text import show_backup
    from screening.store.backup import back_up

    with session.console().status("copying"):
        made = back_up(session.database, file, force=force)
    session.answer({"backup": made}, lambda: show_backup(session.console(), made))


@command(screening, "restore")
@click.argument("file", type=PATH)
@FORCE
def restore(session: Session, file: Path, force: bool) -> None:
    """Put the store back as the backup FILE holds it; the store that was there is kept beside it."""
    from screening.outputs.upkeep_text import show_restore
    from screening.store.backup import restore as put_back

    with session.console().status("copying"):
        made = put_back(file, session.database, force=force)
    session.answer({"restored": made}, lambda: show_restore(session.console(), made))


@command(screening, "doctor")
@click.option("--every-result", "every", is_flag=True, help="Read every result again from its text, not only a sample.")
@click.pass_context
def doctor(context: click.Context, session: Session, every: bool) -> None:
    """Check every law of the store and say what is wrong: account of rows, references, hashes, decisions, runs, values."""
    from screening.decision.doctor import examine
    from screening.outputs.upkeep_text import show_health

    with session.console().status("looking") as status:
        found = examine(session.database, every=every, progress=status.update)
    session.answer(found, lambda: show_health(session.console(), found))
    context.exit(0 if found["sound"] else NEEDS_EYES)
