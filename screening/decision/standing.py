"""How a run stands today: whether its data or the facts of its site have changed since, and whether newer law is in force."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.closure.situation import RELEASE_EVENTS
from screening.decision.request import Request
from screening.errors import Refused
from screening.levels.versions import Standards
from screening.site.site_file import SiteFile, fingerprint, parse_site
from screening.store.sites import site_text
from screening.store.snapshot import fingerprint as data_fingerprint
from screening.store.snapshot import known_on

if TYPE_CHECKING:
    import duckdb

DATA_CHANGED = "data changed since"
FACTS_CHANGED = "site file changed since"
BESIDE = {"events", "paper", "quantities", "atmosphere", "clock"}
"""Parts of a site file that reach no outcome and no recommendation, but for events that tell of a release."""


@dataclass(frozen=True)
class Standing:
    """``stale`` are the reasons why a run does not answer for today, ``notices`` what a reader should know besides."""

    stale: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()

    @property
    def document(self) -> dict[str, Any]:
        """The keys that every document on a run carries."""
        return {"stale": bool(self.stale), "stale_because": list(self.stale), "notices": list(self.notices)}

    @property
    def lines(self) -> list[str]:
        """What people read above everything else."""
        return [*(["stale: " + ", ".join(self.stale)] if self.stale else []), *(f"notice: {one}" for one in self.notices)]


class Today:
    """The store and the law as they are on a day; every site and table is looked up once."""

    def __init__(self, connection: duckdb.DuckDBPyConnection, standards: Standards | None, day: dt.date) -> None:
        self._connection, self._standards, self._day = connection, standards, day
        self._data: dict[str, str] = {}
        self._texts: dict[str, str] = {}
        self._in_force: dict[str, str | None] = {}

    def data(self, site: str) -> str:
        """The fingerprint of all data of a site known now."""
        if site not in self._data:
            self._data[site] = data_fingerprint(self._connection, known_on(self._connection, site, None))
        return self._data[site]

    def site_text(self, site: str) -> str:
        """The text of the last revision of a site file."""
        if site not in self._texts:
            self._texts[site] = site_text(self._connection, site)
        return self._texts[site]

    def standing(self, request: Request) -> Standing:
        """How a run stands."""
        stale = [DATA_CHANGED] if request.data != self.data(request.site) else []
        if self.facts_changed(request.site, request.site_sha256):
            stale.append(FACTS_CHANGED)
        return Standing(tuple(stale), tuple(self.newer_than((used.table, used.version) for used in request.levels)))

    def facts_changed(self, site: str, sha256: str) -> bool:
        """Whether the site file says another thing that decides than the revision of this fingerprint."""
        now = self.site_text(site)
        if fingerprint(now) == sha256:
            return False
        then = site_text(self._connection, site, sha256)
        return _deciding(parse_site(then, f"site {site}")) != _deciding(parse_site(now, f"site {site}"))

    def newer_than(self, versions: Iterable[tuple[str, str]]) -> list[str]:
        """A sentence for each table of which a version later than those used (table, effective day) is in force today."""
        last: dict[str, str] = {}
        for table, version in versions:
            last[table] = max(version, last.get(table, ""))
        return [
            f"a newer version of {table} is in force since {now}"
            for table, used in last.items()
            if (now := self._version_in_force(table)) is not None and now > used
        ]

    def _version_in_force(self, table: str) -> str | None:
        if table not in self._in_force:
            try:
                found = self._standards.in_force(table, self._day).effective.isoformat() if self._standards else None
            except Refused:  # the table is not at hand any more, or has ended: nothing newer is known
                found = None
            self._in_force[table] = found
        return self._in_force[table]


def _deciding(site: SiteFile) -> tuple[dict[str, Any], list[str]]:
    return site.plain(without=BESIDE), sorted(set(site.events) & set(RELEASE_EVENTS))
