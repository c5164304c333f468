"""Everything that a package of outputs shows of one run, gathered from what the store keeps of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from screening.closure.library import Library
from screening.decision.answer import Answer
from screening.decision.closing import deadlines_of, papers_of, verdict_in
from screening.decision.explain import Cell, DeliveredCell, delivered_cells
from screening.decision.listing import results_in
from screening.decision.review_site import document_of, reviewed_as_known
from screening.decision.runs import is_stale, kept_beside, kept_texts, stored
from screening.levels.versions import Standards, standards_folder
from screening.site.site_file import SiteFile
from screening.store.sites import site_of

if TYPE_CHECKING:
    import duckdb

STALE = "stale: the data have changed since this run was made; screen again before relying on it"

_DELIVERABLES = """
SELECT id, file, sha256, received::VARCHAR AS received, layout_name AS layout, rows_read, results, quality_control, held_back, ignored, assumptions
FROM deliverable WHERE list_contains($known, id) ORDER BY file, id
"""


@dataclass(frozen=True, eq=False)
class Contents:
    """A run with all that stands around it, as of its data, law and site facts; each is equal to itself alone.

    ``answer`` is the document of `screen`, ``results`` that of `results --all`, ``review``, ``deadlines`` and ``papers`` those of
    their commands; ``today`` is the day from which deadlines are judged, the run's own unless another is asked for; ``cells`` are
    what `steps_of` needs to explain each outcome and chosen result; ``standards`` are the level tables that the run used.
    """

    answer: Answer
    site: SiteFile
    today: dt.date
    stale: bool
    results: list[dict[str, Any]]
    review: dict[str, Any]
    deadlines: dict[str, Any]
    papers: dict[str, Any]
    deliverables: list[dict[str, Any]]
    cells: Mapping[Cell, DeliveredCell] = field(default_factory=dict)
    standards: Standards = field(default_factory=lambda: Standards([]))


def contents_of(connection: duckdb.DuckDBPyConnection, run: str, today: dt.date | None = None) -> Contents:
    """Gather the contents of a package. Raises `Refused` for an unknown run."""
    request, snapshot, answer = stored(connection, run)
    site = site_of(connection, request.site, request.site_sha256)
    texts = kept_texts(connection, request)
    beside = kept_beside(connection, run)
    chosen_rule = request.settings.get("chosen_rule", "default")
    made = connection.execute("SELECT made_at::DATE FROM run WHERE id = ?", [run]).fetchone()
    assert made is not None
    day = today or made[0]
    stale = is_stale(connection, request)
    notes = [STALE] if stale else []
    if beside is None:
        notes.append("this run kept no rules of deadlines and papers: those that are stored today are used")
        beside = Library(standards_folder())
    verdict = verdict_in(answer)
    found = connection.execute(_DELIVERABLES, {"known": list(snapshot.deliverables)})
    names = [column[0] for column in found.description or []]
    deliverables = [dict(zip(names, row, strict=True)) for row in found.fetchall()]
    review = reviewed_as_known(connection, site, texts.edition, snapshot, chosen_rule)
    results = results_in(connection, everything=True)
    explained = [*answer["outcomes"], *answer.get("outweighed", ()), *(row for row in results if row["chosen"])]
    return Contents(
        answer, site, day, stale, results,
        document_of(connection, site.site.id, review, chosen_rule),
        deadlines_of(site, beside, verdict, notes, day),
        papers_of(site, beside, verdict, notes, bool(site.custody or snapshot.custody)),
        deliverables,
        delivered_cells(connection, explained), texts.standards,
    )  # fmt: skip
