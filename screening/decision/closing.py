"""Deadlines and papers of a site on the verdict of a run."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from screening.closure.calendar import calendar_text
from screening.closure.deadlines import Deadline, Verdict, clocks
from screening.closure.library import Library
from screening.closure.papers import checks, entries
from screening.closure.quantities import balances
from screening.closure.safety import CAUTION, SITE_CAUTION, read_atmosphere
from screening.decision.answer import Answer
from screening.decision.runs import stored
from screening.decision.standing import Today
from screening.errors import Refused
from screening.site.site_file import SiteFile
from screening.store.asked import last_screened
from screening.store.custody import records
from screening.store.sites import site_of

if TYPE_CHECKING:
    import duckdb


def verdict_of(
    connection: duckdb.DuckDBPyConnection, site: str, run: str | None, today: Today
) -> tuple[Verdict, list[str]]:  # fmt: skip
    """The verdict of a named run, or of the last one that a person asked for; notes say how it stands.

    Raises `Refused` for a run of another site.
    """
    if run is None:
        run = last_screened(connection, site)
        if run is None:
            return Verdict(None, None), ["the site has no run yet: what hangs on the recommendation is left open"]
    request, _, answer = stored(connection, run)
    if request.site != site:
        raise Refused(f"run '{run}' is of site '{request.site}', not of '{site}'; 'screening runs list' shows the runs")
    standing = today.standing(request)
    stale = [f"run {run} is stale: {', '.join(standing.stale)}; screen again"] if standing.stale else []
    return verdict_in(answer), [*stale, *(f"run {run}: {one}" for one in standing.notices)]


def verdict_in(answer: Answer) -> Verdict:
    """The verdict that an answer holds."""
    water = any(item["outcome"] == "exceeds" and item["medium"] == "groundwater" for item in answer["outcomes"])
    return Verdict(answer["run"], answer["recommendation"]["status"], water)


def deadlines_now(
    connection: duckdb.DuckDBPyConnection, library: Library, identity: str, today: dt.date, run: str | None, now: Today
) -> dict[str, Any]:
    """The document of `deadlines`. Raises `Refused` for an unknown site, run or rule file."""
    site = site_of(connection, identity)
    return deadlines_of(site, library, *verdict_of(connection, identity, run, now), today)


def deadlines_of(site: SiteFile, library: Library, verdict: Verdict, notes: Sequence[str], today: dt.date) -> dict[str, Any]:
    """As `deadlines_now`, for site facts as they were and a verdict."""
    made, more = clocks(site, library.taken("deadlines", site), verdict, today)
    return {
        "site": site.site.id, "run": verdict.run, "verdict": verdict.status, "today": today.isoformat(),
        "time_zone": site.site.time_zone, "deadlines": [asdict(one) for one in made], "notes": [*notes, *more],
        "caution": SITE_CAUTION,
    }  # fmt: skip


def calendar_of(document: dict[str, Any]) -> str:
    """The dates of a `deadlines` document as a calendar file."""
    return calendar_text(document["site"], document["deadlines"], dt.date.fromisoformat(document["today"]))


def papers_now(
    connection: duckdb.DuckDBPyConnection, library: Library, identity: str, run: str | None, now: Today
) -> dict[str, Any]:  # fmt: skip
    """The document of `papers`. Raises `Refused` for an unknown site, run or rule file."""
    site = site_of(connection, identity)
    custody = bool(site.custody) or bool(records(connection, identity, None))
    return papers_of(site, library, *verdict_of(connection, identity, run, now), custody)


def papers_of(site: SiteFile, library: Library, verdict: Verdict, notes: Sequence[str], custody: bool) -> dict[str, Any]:
    """As `papers_now`, for site facts as they were, a verdict, and whether a custody record is there."""
    taken = library.taken("papers", site)
    asked = entries(site, library, taken, verdict, custody)
    made = checks(site, _clocks(site, library, verdict))
    accounts = balances(site)
    safety = library.taken("safety", site)
    rows = [row for file in safety.files for row in file.rows]
    missing = [one for one in asked if one.applies is not False and not one.held]
    return {
        "site": site.site.id, "run": verdict.run, "verdict": verdict.status,
        "papers": [asdict(one) for one in asked],
        "missing": [one.item for one in missing],
        "checks": [asdict(one) for one in made],
        "balances": [{**asdict(one), "out": _text(one.out), "accounted": _text(one.accounted)} for one in accounts],
        "atmosphere": [asdict(one) for one in read_atmosphere(site, rows)],
        "safety_rules": [
            {"topic": row.topic, "rule": row.rule, "citation": row.citation, "transcription": row.status} for row in rows
        ],
        "notes": [
            *notes, f"lists of papers: {', '.join(file.name for file in taken.files) or 'none'} ({taken.because}), and common practice",
            "a paper that is not listed may be asked for all the same: only what was read or recalled is stored",
        ],
        "complete": not missing and all(one.passes for one in made) and all(one.status == "reconciled" for one in accounts),
        "caution": CAUTION,
    }  # fmt: skip


def _clocks(site: SiteFile, library: Library, verdict: Verdict) -> list[Deadline]:
    """The clocks for checks of notices: judged without a today, since only what was done counts."""
    return clocks(site, library.taken("deadlines", site), verdict, dt.date.min)[0]


def _text(amount: object) -> str | None:
    return None if amount is None else str(amount)
