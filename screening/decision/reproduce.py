"""A stored run made again from what the store keeps, and the cause of each difference."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import orjson

from screening import __version__
from screening.decision.answer import answer_to, dump
from screening.decision.kept import Kept
from screening.decision.request import Request
from screening.decision.runs import stored
from screening.store.asked import origin
from screening.store.snapshot import Snapshot, fingerprint

if TYPE_CHECKING:
    import duckdb


def reproduce(connection: duckdb.DuckDBPyConnection, run: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The document of `runs reproduce`, and the answer made again.

    Identical means byte for byte in canonical JSON. Raises `Altered` where a kept text is gone.
    """
    request, snapshot, before = stored(connection, run)
    kept = Kept(connection)
    after = answer_to(connection, kept.texts(request), request, snapshot)
    again = orjson.loads(dump(after))
    cause = _cause(connection, kept, request, snapshot, run) if again != before else ""
    differences = [
        {"part": key, "before": before.get(key), "after": again.get(key), "cause": cause}
        for key in sorted({*before, *again})
        if before.get(key) != again.get(key)
    ]
    return {"run": run, "identical": not differences, "differences": differences}, after


def _cause(
    connection: duckdb.DuckDBPyConnection, kept: Kept, request: Request, snapshot: Snapshot, run: str
) -> str:  # fmt: skip
    """Why a run is not what it was: a kept text was altered, the data were, or the program is another."""
    texts = kept.texts(request)
    lost = [
        f"{used.table}@{used.version}"
        for used in request.levels
        if not texts.standards.version(used.table, used.version).is_named_by(used.sha256)
    ]
    lost += [
        f"{used.kind}/{used.name}"
        for used in request.rule_files
        if texts.library.file(used.kind, used.name).sha256 != used.sha256
    ]
    if request.review is not None and texts.edition is not None and texts.edition.sha256 != request.review.sha256:
        lost.append(f"review edition {request.review.edition}")
    if lost:
        return f"store altered: the kept text of {', '.join(lost)} is not what the run used"
    if fingerprint(connection, snapshot) != request.data:
        return "store altered: the deliverables, decisions or custody records that the run used are not what they were"
    then = request.software or origin(connection, run).software
    if then != __version__:
        return f"software: made with version {then or 'unknown'}, made again with {__version__}"
    return f"store altered, or the program: both are version {__version__}, and the kept texts are whole"
