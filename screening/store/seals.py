"""Whether each kept text is the one that its hash names, and the chain of decisions unbroken."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from screening.errors import Refused
from screening.levels.table import parse_facts, parse_version
from screening.site.site_file import fingerprint
from screening.store.intake import deliverable_id
from screening.store.ledger import broken_seal, decisions
from screening.store.soundness import Check, Problem, told

if TYPE_CHECKING:
    import duckdb

CHANGED = "its text is not the one that its hash names; it was changed after it was kept"


def checked_seals(connection: duckdb.DuckDBPyConnection) -> Iterator[Check]:
    """Hashes of all kept texts and identities, and the chain of seals over all decisions."""
    rows = list(_texts(connection))
    problems = [Problem(table, row, text) for table, row, text in rows if text]
    yield told("hashes", "every kept text is the one that its hash names", len(rows), problems)
    yield _chain(connection)


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
    return "" if version.sha256 == digest else CHANGED


def _chain(connection: duckdb.DuckDBPyConnection) -> Check:
    made = decisions(connection)
    problems = []
    broken = broken_seal(connection)
    if broken is not None:
        problems.append(
            Problem(
                "decision", str(broken), "its seal does not fit what it says and the decision before it; one of them was changed"
            )
        )
    for at, one in enumerate(made, start=1):
        if one.number != at:
            problems.append(Problem("decision", str(one.number), f"decision {at} is missing before it"))
            break
    for before, after in pairwise(made):
        if after.made_at < before.made_at:
            problems.append(
                Problem("decision", str(after.number), f"it is dated {after.made_at}, before the one that it follows")
            )
    return told("decisions", "the chain of decisions is unbroken", len(made), problems)
