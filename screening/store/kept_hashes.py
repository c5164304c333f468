"""Whether each kept text is the one that its hash names."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from screening.errors import Refused
from screening.levels.table import parse_facts, parse_version
from screening.site.site_file import fingerprint
from screening.store.intake import deliverable_id
from screening.store.soundness import Check, Problem, told

if TYPE_CHECKING:
    import duckdb

CHANGED = "its text is not the one that its hash names; it was changed after it was kept"


def checked_hashes(connection: duckdb.DuckDBPyConnection) -> Check:
    """The hashes of all kept texts, and the identities made of hashes."""
    rows = list(_texts(connection))
    problems = [Problem(table, row, text) for table, row, text in rows if text]
    return told("hashes", "every kept text is the one that its hash names", len(rows), problems)


def _texts(connection: duckdb.DuckDBPyConnection) -> Iterator[tuple[str, str, str]]:
    """(table, row, what is wrong or '') of everything that carries a hash."""
    for site, revision, digest, text in connection.execute("SELECT site, revision, sha256, text FROM site_file").fetchall():
        yield "site_file", f"{site} revision {revision}", "" if fingerprint(text) == digest else CHANGED
    for identity, site, digest, layout in connection.execute("SELECT id, site, sha256, layout FROM deliverable").fetchall():
        fits = identity == deliverable_id(site, digest, layout)
        yield "deliverable", identity, "" if fits else "its id does not follow from its site, file and layout; one was changed"
    for identity, site, digest in connection.execute("SELECT id, site, sha256 FROM custody").fetchall():
        fits = identity == "c" + hashlib.sha256(f"{site}\n{digest}".encode()).hexdigest()[:10]
        yield "custody", identity, "" if fits else "its id does not follow from its site and file; one was changed"
    levels = connection.execute("SELECT sha256, level_table, effective, facts, rows FROM level_text").fetchall()
    for digest, table, effective, facts, text in levels:
        yield "level_text", f"{table}@{effective}", _of_levels(digest, table, effective, facts, text)
    for digest, kind, name, text in connection.execute("SELECT sha256, kind, name, text FROM rule_text").fetchall():
        yield "rule_text", f"{kind}/{name}", "" if hashlib.sha256(text.encode()).hexdigest() == digest else CHANGED
    for digest, edition, text in connection.execute("SELECT sha256, edition, texts FROM review_text").fetchall():
        made = hashlib.sha256(repr(sorted(json.loads(text).items())).encode()).hexdigest()
        yield "review_text", edition, "" if made == digest else CHANGED


def _of_levels(digest: str, table: str, effective: str, facts: str, text: str) -> str:
    try:
        version = parse_version(parse_facts(table, facts, "table.toml"), effective, text, f"{effective}.csv")
    except Refused as error:
        return f"its text can no longer be read ({error})"
    return "" if version.is_named_by(digest) else CHANGED
