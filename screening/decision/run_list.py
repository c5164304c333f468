"""The runs of a store, and what decided one: for people who look for an answer given before."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import orjson

from screening.decision.request import Request
from screening.decision.runs import asked_in, stored
from screening.decision.sign_off import of_run, signed_off
from screening.decision.standing import Today
from screening.store.asked import every_last_screened, origin, origins
from screening.store.rescreens import questions

if TYPE_CHECKING:
    import duckdb


def list_runs(connection: duckdb.DuckDBPyConnection, today: Today) -> list[dict[str, Any]]:
    """All runs in the order in which they were made: how each came about, how it stands, who signed it off.

    ``last`` marks the site's answer: what the last screen of a person gave.
    """
    made = []
    rows = connection.execute("SELECT id, site, made_at, answer, request FROM run ORDER BY number").fetchall()
    came, rescreened, signed = origins(connection), questions(connection), signed_off(connection, today)
    last = every_last_screened(connection)
    for run, site, made_at, answer, request_text in rows:
        kept, (request, _) = orjson.loads(answer), asked_in(request_text)
        made.append(
            {
                "run": run, "site": site, "made_at": made_at.isoformat(sep=" ", timespec="seconds"),
                "levels": [f"{used.table}@{used.version}" for used in request.levels],
                "counts": kept["counts"], "status": kept["recommendation"]["status"], **today.standing(request).document,
                "made_by": came[run].how, "rescreened_on": rescreened.get(run, []), "software": came[run].software,
                "last": last.get(site) == run, "sign_offs": of_run(signed, run),
            }
        )  # fmt: skip
    return made


def run_document(connection: duckdb.DuckDBPyConnection, today: Today, run: str) -> dict[str, Any]:
    """The answer of a run as given, with what decided it and how it stands. Raises `Refused` for an unknown run."""
    request, snapshot, answer = stored(connection, run)
    came = origin(connection, run)
    return {
        **answer, **today.standing(request).document, "sign_offs": of_run(signed_off(connection, today, [request.site]), run),
        "decided_by": decided_by(request, came.software) | {
            "deliverables": list(snapshot.deliverables), "decisions": len(snapshot.decisions), "custody": list(snapshot.custody),
        },
        "made_by": came.how, "rescreened_on": questions(connection).get(run, []),
    }  # fmt: skip


def decided_by(request: Request, software: str) -> dict[str, Any]:
    """Everything that decided a run, by its fingerprints and words."""
    review = request.review
    return {
        "data": request.data,
        "site_file": request.site_sha256,
        "levels": {f"{used.table}@{used.version}": used.sha256 for used in request.levels},
        "conditions": dict(request.conditions),
        "settings": dict(request.settings),
        "sampling": list(request.sampling),
        "review": None if review is None else {f"{review.edition}@{review.version}": review.sha256},
        "rules": {f"{used.kind}/{used.name}": used.sha256 for used in request.rule_files},
        "engine": request.rules,
        "software": request.software or software,
    }
