"""The main job on the invented demo site: site, two laboratories' files, screen, outputs."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from screening.decision.answer import Answer
from screening.decision.runs import Asked, screen
from screening.files import write_text
from screening.levels.versions import Standards, standards_folder
from screening.site.site_file import read_site
from screening.store.bring_in import Wish, bring_in
from screening.store.database import opened
from screening.store.sites import add_site

FILES = ("pemberwick-volatiles.csv", "sundrell-petroleum.xlsx")
DAY = dt.date(2025, 7, 1)
"""The demo's clock, so that it gives the same answer on any day."""


@dataclass(frozen=True)
class Done:
    """What the demo did: the documents of its imports, the answer, the files written."""

    imports: list[dict[str, Any]]
    answer: Answer
    files: list[Path]


def demo_folder() -> Path:
    """The demo's data: beside the package in a checkout, inside it once installed."""
    package = Path(str(resources.files("screening")))
    beside = package.parent / "demo"
    return beside if beside.is_dir() else package / "_demo"


def run_demo(folder: Path) -> Done:
    """Make a new store in ``folder``, import the demo's deliverables, screen, and write the answer as JSON."""
    from screening.decision.answer import dump

    folder.mkdir(parents=True, exist_ok=True)
    database = folder / "demo.duckdb"
    for stale in (database, database.with_name("demo.duckdb.wal")):
        stale.unlink(missing_ok=True)
    site, text = read_site(demo_folder() / "site.toml")
    with opened(database, create=True) as connection:
        add_site(connection, site, text)
    imports = [bring_in(database, demo_folder() / name, Wish(site.site.id, received=DAY)) for name in FILES]
    with opened(database) as connection:
        answer = screen(connection, Standards([standards_folder()]), Asked(site.site.id, levels_on=DAY), DAY)
    written = folder / "answer.json"
    write_text(written, dump(answer) + "\n")
    return Done(imports, answer, [database, written])
