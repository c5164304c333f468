"""A store with the made-up portfolio, each site screened on the old levels; built with one import.

By default 8 sites stand on a table with a new version and 192 on one without; RESCREEN_MOVED=200 puts all on the former,
which takes some minutes (make rescreen-of-200).
"""

from __future__ import annotations

import datetime as dt
import os
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from screening.decision.runs import Asked, asked_in, screen
from screening.levels.versions import Standards, standards_folder
from screening.site.site_file import fingerprint as text_fingerprint
from screening.site.site_file import parse_site
from screening.store.database import opened
from screening.store.level_texts import own_texts
from screening.store.sites import add_site
from screening.store.snapshot import fingerprint, known_on
from tests.conftest import Office
from tests.rescreen.portfolio import LAW, NEW, OLD, Level, Portfolio, make

SITES = 200
MOVED = int(os.environ.get("RESCREEN_MOVED", "8"))
FACTS = """\
title = "A table made up for tests"
issuing_body = "nobody"
citation = "none: made up"
media = ["soil", "groundwater"]
stage = "closure"
comparison = "above"
comparison_status = "made up"
[conditions.soil_class]
from = "site"
values = ["1", "2"]
title = "soil class"
"""


@dataclass(frozen=True)
class Store:
    """The office with its store, the portfolio behind it, and what `rescreen --all` said."""

    office: Office
    portfolio: Portfolio
    document: dict[str, Any]
    said: str
    status: int
    seconds: float


def _table(office: Office, name: str, versions: dict[str, list[tuple[str, str, str, Level]]]) -> None:
    folder: Path = office.folder / "xx" / name
    folder.mkdir(parents=True)
    (folder / "table.toml").write_text(
        FACTS + "".join(f'[versions."{day}"]\neffective = "made up"\n' for day in versions), encoding="utf-8"
    )
    for day, rows in versions.items():
        text = "analyte,cas,medium,level,unit,comparison,soil_class,citation,transcription\n"
        text += "".join(
            f'{analyte},,{medium},"{level.figure}",{level.unit},{level.sign},{soil_class},made up,read\n'
            for analyte, medium, soil_class, level in rows
        )
        (folder / f"{day}.csv").write_text(text, encoding="utf-8")
        said = office.run("levels", "add", folder / f"{day}.csv", "--by", "Nobody", "--why", "a test")
        assert said.status == 0, said.error


def _levels(office: Office) -> None:
    both = {
        day: [(row.analyte, row.medium, row.soil_class, level) for row in LAW if (level := getattr(row, side)) is not None]
        for day, side in ((OLD, "old"), (NEW, "new"))
    }
    _table(office, "moved", both)
    still = [("Benzene", "groundwater", "", Level("5", "ug/L")), ("Benzene", "soil", "1", Level("0.246", "mg/kg"))]
    _table(office, "still", {OLD: still})


SPLIT = (
    "CREATE TEMP TABLE numbered AS SELECT left(sample_id, 9) AS site, row_number() OVER (ORDER BY left(sample_id, 9)) + 1 AS number, "
    "min(row) AS first FROM delivered GROUP BY left(sample_id, 9)",
    "INSERT INTO deliverable SELECT d.* REPLACE (n.number AS number, 'd-' || n.site AS id, n.site AS site) FROM deliverable AS d, numbered AS n",
    "UPDATE delivered SET deliverable = n.number, row = row - n.first + 2 FROM numbered AS n WHERE left(sample_id, 9) = n.site",
    "UPDATE result SET deliverable = n.number FROM numbered AS n WHERE left(sample_id, 9) = n.site",
    "DELETE FROM deliverable WHERE site = 'carrier'",
)
"""One import is parted among the sites, as if each had brought its own rows."""


def _sites(connection: Any, portfolio: Portfolio) -> None:
    for site, soil_class in portfolio.classes.items():
        text = (
            f'[site]\nid = "{site}"\nname = "{site}"\nplace = "us-oh"\n[screening]\nlevels = ["xx/{site[:5]}"]\nreview = "none"\n'
            f'[conditions]\nsoil_class = "{soil_class}"\n'
        )
        add_site(connection, parse_site(text, site), text)


def _screened(connection: Any, portfolio: Portfolio) -> None:
    """Screen every site of the moved table, and one of the still table, whose twins get its answer with their own names."""
    day = dt.date.fromisoformat(OLD)
    standards = Standards([standards_folder()], own_texts(connection))
    twins = [site for site in portfolio.classes if site.startswith("still")]
    for site in (*(site for site in portfolio.classes if site not in twins), *twins[:1]):
        screen(connection, standards, Asked(site, levels_on=day), day)
    if not twins:
        return
    row = connection.execute("SELECT * FROM run WHERE site = ?", [twins[0]]).fetchone()
    request, _ = asked_in(row[4])
    for number, site in enumerate(twins[1:], start=len(portfolio.classes)):
        text = connection.execute("SELECT text FROM site_file WHERE site = ?", [site]).fetchone()[0]
        data = fingerprint(connection, known_on(connection, site, None))
        own = replace(request, site=site, site_sha256=text_fingerprint(text), data=data)
        words = {
            twins[0]: site,
            row[0]: own.run_id,
            request.site_sha256: own.site_sha256,
            request.data: data,
            request.data[:12]: data[:12],
        }
        made = [row[4], row[5]]
        for old, new in words.items():
            made = [part.replace(old, new) for part in made]
        connection.execute("INSERT INTO run VALUES (?, ?, ?, ?, ?, ?)", [own.run_id, number, site, row[3], *made])
        connection.execute(
            "INSERT INTO run_asked SELECT max(number) + 1, ?, ?, ?, 'screen', max(software), true FROM run_asked",
            [own.run_id, site, row[3]],
        )


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The store, rescreened on the day of the new version."""
    office = Office(tmp_path_factory.mktemp("portfolio"))
    portfolio = make(MOVED, SITES - MOVED)
    _levels(office)
    assert office.plain_site("carrier", levels="xx/moved").status == 0
    rows = [
        {"sample_id": one.sample, "location": one.sample, "medium": one.medium, "analyte": one.analyte, "result": one.text, "unit": one.unit,
         "basis": "dry" if one.medium == "soil" else ""}
        for one in portfolio.results
    ]  # fmt: skip
    said = office.run("import", office.deliverable("all.csv", rows), "--site", "carrier")
    assert said.status == 0 and said.document["deliverables"][0]["rows"]["results"] == len(rows), said.error
    with opened(office.database) as connection:
        for statement in SPLIT:
            connection.execute(statement)
        _sites(connection, portfolio)
        _screened(connection, portfolio)
    begun = time.process_time()
    again = office.run("rescreen", "--levels-on", NEW, "--all")
    return Store(office, portfolio, again.document, again.error, again.status, time.process_time() - begun)
