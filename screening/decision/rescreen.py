"""Rescreening: each site's last answer against a new run on the levels of another day, all else the same unless said."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from screening import __version__
from screening.decision.answer import Texts
from screening.decision.chain import steps
from screening.decision.compare import changes
from screening.decision.differences import Run, read_run
from screening.decision.flips import KINDS, badness
from screening.decision.kept import Kept
from screening.decision.law import law_on
from screening.decision.portfolio import portfolio
from screening.decision.request import REVIEW, ReviewUsed
from screening.decision.runs import record, rules_beside
from screening.decision.standing import Today
from screening.errors import Refused
from screening.levels.versions import Standards, standards_folder
from screening.quality.editions import Edition, edition_asked
from screening.store.asked import every_last_screened, origins
from screening.store.rescreens import begin, keep_sites
from screening.store.sites import site_ids, site_of
from screening.store.snapshot import fingerprint, known_on

if TYPE_CHECKING:
    import duckdb

NO_RUN = "no run yet; 'screening screen' makes the first"
CAUTION = (
    "A screening aid: whether a closed site is looked at again is decided by a licensed professional on the current rule; "
    "each level and its transcription must be checked against the rule before anything is done on it."
)


@dataclass(frozen=True)
class Question:
    """What is asked of every site: the day of the levels, and what shall be other than in the run before (None: nothing)."""

    levels_on: dt.date
    data_on: dt.date | None = None
    conditions: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, str] = field(default_factory=dict)

    @property
    def document(self) -> dict[str, Any]:
        """As it is stored and shown."""
        return {
            "levels_on": self.levels_on.isoformat(), "data_on": self.data_on.isoformat() if self.data_on else None,
            "conditions": dict(self.conditions), "settings": dict(self.settings),
        }  # fmt: skip


def rescreen(
    connection: duckdb.DuckDBPyConnection,
    standards: Standards,
    question: Question,
    sites: Sequence[str],
    today: Today,
    advance: Callable[[str], None] = lambda words: None,
) -> dict[str, Any]:
    """The document of `rescreen` for these sites (none: all); ``advance`` is told each site before its turn.

    A site without a run and one that is refused are listed with the reason and stop no other. Raises `Refused` for an
    unknown site.
    """
    for site in sites:
        site_of(connection, site)
    again = _Again(connection, standards, question, today)
    found: list[dict[str, Any]] = []
    without: list[dict[str, str]] = []
    refused: list[dict[str, str | None]] = []
    last = every_last_screened(connection)
    for site in dict.fromkeys(sites or site_ids(connection)):
        advance(site)
        before = last.get(site)
        if before is None:
            again.unmoved.append((site, None, None, NO_RUN))
            without.append({"site": site, "reason": NO_RUN})
            continue
        try:
            found.append(again.site(before))
        except Refused as error:
            again.unmoved.append((site, before, None, str(error)))
            refused.append({"site": site, "before_run": before, "reason": str(error)})
    keep_sites(connection, again.number, again.unmoved)
    found.sort(key=_worst_site)
    flipped = sorted(
        ({"site": one["site"], "before_run": one["before_run"], "run": one["run"], **change}
         for one in found for change in one["changes"] if change["flip"]),
        key=lambda change: (badness(change), change["site"]),
    )  # fmt: skip
    return {
        **question.document,
        "sites": found,
        "without_run": without,
        "refused": refused,
        "flips": {kind: [one for one in flipped if one["flip"] == kind] for kind in KINDS if any(one["flip"] == kind for one in flipped)},
        "counts": {
            "sites": len(found), "sites_flipped": sum(bool(one["flips"]) for one in found),
            **{kind: sum(one["flip"] == kind for one in flipped) for kind in KINDS},
            "levels_moved_tenfold": sum(change["tenfold"] for one in found for change in one["changes"]),
            "without_run": len(without), "refused": len(refused),
        },
        "portfolio": portfolio(found),
        "caution": CAUTION,
    }  # fmt: skip


def needs_eyes(document: Mapping[str, Any]) -> bool:
    """Whether anything flipped, or a site could not be answered or was answered on data or facts since revised."""
    stale = any(one["stale"] for one in document["sites"])
    return bool(document["flips"] or document["without_run"] or document["refused"] or stale)


class _Again:
    """One question put to site after site; texts that sites share are read once.

    ``unmoved`` are the sites for which no run was made: site, run before, run, why there is none.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, standards: Standards, question: Question, today: Today) -> None:
        self._connection, self._standards, self._question = connection, standards, question
        self._today, self._kept, self._origins = today, Kept(connection), origins(connection)
        self.unmoved: list[tuple[str, str | None, str | None, str]] = []
        said = dict(question.settings)
        self._edition = edition_asked(named, standards_folder()) if (named := said.pop(REVIEW, "")) else None
        self._other_edition, self._settings = bool(named), said
        self.number = begin(connection, question.document, __version__)

    def site(self, before_run: str) -> dict[str, Any]:
        """The entry of the site of a run. Raises `Refused`."""
        connection, question = self._connection, self._question
        first = read_run(connection, before_run, self._origins[before_run].software)
        before = first.request
        law = law_on(
            self._standards, list(dict.fromkeys(used.table for used in before.levels)), question.levels_on, before.conditions,
            question.conditions, self._settings, before.settings,
        )  # fmt: skip
        snapshot = first.snapshot if question.data_on is None else known_on(connection, before.site, question.data_on)
        review, edition = before.review, self._edition if self._other_edition else self._kept.edition(before)
        if self._other_edition:
            review = ReviewUsed(edition.name, edition.version.isoformat(), edition.sha256) if edition else None
        request = replace(
            before, levels=law.levels, conditions=law.conditions, settings=law.settings,
            data=before.data if question.data_on is None else fingerprint(connection, snapshot),
            review=review, software="",
        )  # fmt: skip
        standing = self._today.standing(request)
        second = self._made(first, before_run, replace(first, request=request, snapshot=snapshot), edition)
        path, notes = steps(connection, first, second)
        made = sorted(changes(path), key=badness)
        notes += [
            f"the setting {one} of the run before is known to no table in use any more and was left out" for one in law.dropped
        ]
        return {
            "site": before.site, "site_name": second.answer["site_name"], "before_run": before_run, "run": second.answer["run"],
            "before": _summary(first.answer), "after": _summary(second.answer),
            "levels": [
                {key: used[key] for key in ("table", "version", "citation", "transcription")} for used in second.answer["levels"]
            ],
            "flips": {kind: count for kind in KINDS if (count := sum(one["flip"] == kind for one in made))},
            "changes": made, "stale": bool(standing.stale), "stale_because": list(standing.stale), "notices": list(standing.notices),
            "notes": notes, "warnings": second.answer["warnings"],
        }  # fmt: skip

    def _made(self, first: Run, before_run: str, asked: Run, edition: Edition | None) -> Run:
        """The run of the new question, stored; the run before where this program answered the very same already."""
        connection = self._connection

        def keep(run: str) -> None:
            keep_sites(connection, self.number, [(asked.request.site, before_run, run, "")])

        if asked.request.run_id == before_run and first.software == __version__:
            self.unmoved.append((asked.request.site, before_run, before_run, ""))
            return first
        recorded = record(
            connection, Texts(self._standards, self._kept.library(asked.request.rule_files), edition), asked.request,
            asked.snapshot, "rescreen", rules_beside(connection, before_run), also=keep,
        )  # fmt: skip
        return Run(recorded.request, asked.snapshot, recorded.answer, __version__)


def _summary(answer: Mapping[str, Any]) -> dict[str, Any]:
    held: dict[str, dict[str, Any]] = {}
    for used in answer["levels"]:
        one = held.setdefault(used["table"], {"versions": [], "counts": dict.fromkeys(answer["counts"], 0)})
        one["versions"].append(used["version"])
    for item in answer["outcomes"]:
        held[item["table"]]["counts"][item["outcome"]] += 1
    return {"status": answer["recommendation"]["status"], "counts": answer["counts"], "tables": held}


def _worst_site(one: Mapping[str, Any]) -> tuple[Any, ...]:
    worst = one["changes"][0] if one["changes"] else None
    return (worst is None, badness(worst)[:3] if worst else (), one["site"])
