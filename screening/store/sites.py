"""Sites in the store: every revision of a site file is kept, the last one counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.errors import Refused
from screening.site.site_file import SiteFile, fingerprint, parse_site
from screening.store.clock import now

if TYPE_CHECKING:
    import duckdb


def add_site(connection: duckdb.DuckDBPyConnection, site: SiteFile, text: str) -> bool:
    """Store a revision of a site file; False where the same text is the last revision already."""
    identity = site.site.id
    last = connection.execute(
        "SELECT revision, sha256 FROM site_file WHERE site = ? ORDER BY revision DESC LIMIT 1", [identity]
    ).fetchone()
    if last and last[1] == fingerprint(text):
        return False
    moment = now(connection)
    connection.execute(
        "INSERT INTO site_file VALUES (?, ?, ?, ?, ?)",
        [identity, (last[0] if last else 0) + 1, fingerprint(text), text, moment],
    )
    return True


def site_text(connection: duckdb.DuckDBPyConnection, identity: str, sha256: str | None = None) -> str:
    """The text of a site's last revision, or of the one with that fingerprint. Raises `Refused` for an unknown site."""
    row = connection.execute(
        "SELECT text FROM site_file WHERE site = ? AND (? IS NULL OR sha256 = ?) ORDER BY revision DESC LIMIT 1",
        [identity, sha256, sha256],
    ).fetchone()
    if row is None:
        from difflib import get_close_matches  # imported here: only an unknown name needs it

        known = site_ids(connection)
        near = get_close_matches(identity, known, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"known are {', '.join(known)}" if known else "there is none yet"
        raise Refused(f"site '{identity}' is unknown ({hint}); add one with 'screening site add FILE'")
    return str(row[0])


def site_of(connection: duckdb.DuckDBPyConnection, identity: str, sha256: str | None = None) -> SiteFile:
    """The parsed site file."""
    return parse_site(site_text(connection, identity, sha256), f"site {identity}")


def site_ids(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """The ids of all sites, sorted."""
    return [row[0] for row in connection.execute("SELECT DISTINCT site FROM site_file ORDER BY site").fetchall()]
