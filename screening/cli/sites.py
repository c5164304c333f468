"""Commands on the store and its sites: init, site."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from screening.cli.common import PATH, Session, command, global_options
from screening.cli.group import screening


@command(screening, "init")
@click.argument("folder", type=PATH, default=Path("."))
def init(session: Session, folder: Path) -> None:
    """Make a database and a commented example of a site file in FOLDER."""
    from importlib import resources

    from screening.files import write_text
    from screening.store.database import opened

    folder.mkdir(parents=True, exist_ok=True)
    database = session.database if session.database.is_absolute() else folder / session.database
    example = folder / "site.toml"
    with opened(database, create=True):
        pass
    if not example.exists():
        text = (resources.files("screening.site") / "example_site.toml").read_text(encoding="utf-8")
        write_text(example, text)
    session.answer(
        {"database": str(database), "site_file": str(example)},
        lambda: session.console().print(
            f"database {database}\nsite file {example}: fill it in, then: screening site add {example}", highlight=False
        ),
    )


@screening.group("site")
@global_options
def site() -> None:
    """Add, show and list sites."""


def _document(found: Any) -> dict[str, Any]:
    return dict(found.written())


@command(site, "add")
@click.argument("file", type=PATH)
def add(session: Session, file: Path) -> None:
    """Add a site from its site file, or a new revision of one."""
    from screening.site.site_file import read_site
    from screening.store.database import opened
    from screening.store.sites import add_site

    found, text = read_site(file)
    with opened(session.database, create=True) as connection:
        new = add_site(connection, found, text)
    said = "added" if new else "unchanged"
    session.answer(
        {"site": _document(found)},
        lambda: session.console().print(f"site {found.site.id} ({found.site.name}) {said}", highlight=False),
    )


@command(site, "show")
@click.argument("identity", metavar="ID")
def show(session: Session, identity: str) -> None:
    """Show a site's file as it was last added."""
    from screening.site.site_file import parse_site
    from screening.store.database import opened
    from screening.store.sites import site_text

    with opened(session.database) as connection:
        text = site_text(connection, identity)
    found = parse_site(text, f"site {identity}")
    session.answer({"site": _document(found)}, lambda: session.console().print(text, markup=False, highlight=False))


@command(site, "list")
def list_sites(session: Session) -> None:
    """List the sites."""
    from screening.store.database import opened
    from screening.store.sites import site_ids, site_of

    with opened(session.database) as connection:
        found = [site_of(connection, identity) for identity in site_ids(connection)]
    rows = [{"id": one.site.id, "name": one.site.name, "place": one.site.place} for one in found]
    session.answer(
        {"sites": rows},
        lambda: session.console().print(
            "\n".join(f"{row['id']}  {row['name']}  {row['place']}" for row in rows) or "no site yet", highlight=False
        ),
    )
