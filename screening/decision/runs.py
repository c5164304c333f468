"""Runs: a screen made and stored with everything that decided it, and read back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

import orjson

from screening import __version__
from screening.closure.assess import files_beside, files_deciding
from screening.closure.library import Library
from screening.closure.rules import RuleFile
from screening.decision.answer import Answer, Texts, answer_to, dump
from screening.decision.kept import Kept
from screening.decision.law import law_on
from screening.decision.request import REVIEW, LevelUsed, Request, ReviewUsed, day_of_levels, tables_asked
from screening.errors import Refused
from screening.levels.versions import Standards, standards_folder
from screening.quality.editions import edition_asked
from screening.site.site_file import fingerprint as site_fingerprint
from screening.store import level_texts, review_texts, rule_texts
from screening.store.asked import How, note
from screening.store.clock import now
from screening.store.database import transaction
from screening.store.rule_texts import RuleUsed
from screening.store.sites import site_of, site_text
from screening.store.snapshot import Snapshot, fingerprint, known_on

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Asked:
    """What a person asks of a screen; None stands for now, or for what the site file says."""

    site: str
    levels: tuple[str, ...] = ()
    levels_on: dt.date | str | None = None
    data_on: dt.date | None = None
    conditions: Mapping[str, str] | None = None
    settings: Mapping[str, str] | None = None
    sampling: tuple[str, ...] = ()


def screen(connection: duckdb.DuckDBPyConnection, standards: Standards, asked: Asked, today: dt.date) -> Answer:
    """Make and store a run. The answer is the JSON document of the contract.

    Raises `Refused` for an unknown site, table, version, condition or setting; nothing is stored then.
    """
    site = site_of(connection, asked.site)
    given = dict(asked.settings or {})
    review_asked = given.pop(REVIEW, "") or site.screening.review
    law = law_on(
        standards, tables_asked(site, asked.levels), day_of_levels(asked.levels_on, site, today),
        site.conditions, asked.conditions or {}, given,
    )  # fmt: skip
    snapshot = known_on(connection, asked.site, asked.data_on)
    edition = edition_asked(review_asked, standards_folder())
    library = Library(standards_folder())
    rule_files = files_deciding(library, site, asked.sampling)
    request = Request(
        asked.site, site_fingerprint(site_text(connection, asked.site)), fingerprint(connection, snapshot), law.levels,
        law.conditions, law.settings,
        rule_files=tuple(RuleUsed(file.kind, file.name, file.sha256) for file in rule_files), sampling=asked.sampling,
        review=ReviewUsed(edition.name, edition.version.isoformat(), edition.sha256) if edition else None,
    )  # fmt: skip
    files = files_beside(library, site)
    recorded = record(
        connection, Texts(standards, library, edition), request, snapshot, "screen",
        [RuleUsed(file.kind, file.name, file.sha256) for file in files], [*rule_files, *files],
    )  # fmt: skip
    return recorded.answer


@dataclass(frozen=True)
class Recorded:
    """A run in the store: its request and its answer, and whether it was not there before."""

    request: Request
    answer: Answer
    made: bool


def record(
    connection: duckdb.DuckDBPyConnection,
    texts: Texts,
    request: Request,
    snapshot: Snapshot,
    how: How,
    beside: Sequence[RuleUsed] | None,
    new_files: Sequence[RuleFile] = (),
    also: Callable[[str], None] = lambda run: None,
) -> Recorded:
    """Answer a request and store it with every text that decided it, in one transaction.

    ``beside`` are the rules that stand beside the run, ``new_files`` the rule files that the store may not hold yet; ``also``
    is called with the run's id inside the transaction. Where the store holds another answer to the same request, that of
    an earlier version of the program, both are kept: the new one names its program in the request.
    """
    answer = answer_to(connection, texts, request, snapshot)
    kept = connection.execute("SELECT answer FROM run WHERE id = ?", [request.run_id]).fetchone()
    if kept is not None and kept[0] != dump(answer):
        again = answer_to(connection, kept_texts(connection, request), request, snapshot)
        if kept[0] == dump(again):  # the law of the day is kept; only what stands around it has changed, as the day it ended
            answer = again
        else:
            request = replace(request, software=__version__)
            answer = {**answer, "run": request.run_id}
    with transaction(connection):
        level_texts.keep(connection, texts.standards, [(used.table, used.version) for used in request.levels])
        rule_texts.keep(connection, [(file.kind, file.name, file.sha256, file.text) for file in new_files])
        if texts.edition is not None:
            edition = texts.edition
            review_texts.keep(connection, edition.sha256, edition.name, edition.version.isoformat(), edition.texts)
        stored = {**asdict(request), "snapshot": asdict(snapshot)}
        if beside is not None:
            stored["beside"] = [asdict(used) for used in beside]
        made = connection.execute(
            "INSERT INTO run SELECT ?, coalesce(max(number), 0) + 1, ?, ?, ?, ? FROM run ON CONFLICT DO NOTHING RETURNING id",
            [request.run_id, request.site, now(connection), dump(stored), dump(answer)],
        ).fetchall()
        note(connection, request.run_id, request.site, how, __version__, made=bool(made))
        also(request.run_id)
    return Recorded(request, answer, bool(made))


def stored(connection: duckdb.DuckDBPyConnection, run: str) -> tuple[Request, Snapshot, Answer]:
    """A stored run: what decided it and its answer as given. Raises `Refused` for an unknown run."""
    row = connection.execute("SELECT request FROM run WHERE id = ?", [run]).fetchone()
    answer = orjson.loads(answer_text(connection, run))
    assert row is not None
    return *asked_in(row[0]), answer


def answer_text(connection: duckdb.DuckDBPyConnection, run: str) -> str:
    """The answer of a run as it is stored. Raises `Refused` for an unknown run."""
    row = connection.execute("SELECT answer FROM run WHERE id = ?", [run]).fetchone()
    if row is None:
        raise Refused(f"run '{run}' is unknown; 'screening runs list' shows the runs")
    return str(row[0])


def asked_in(text: str) -> tuple[Request, Snapshot]:
    """The request and the snapshot that a run stores as text."""
    kept = orjson.loads(text)
    known = kept["snapshot"]
    snapshot = Snapshot(tuple(known["deliverables"]), tuple(known["decisions"]), tuple(known.get("custody", ())))
    request = Request(
        kept["site"], kept["site_sha256"], kept["data"], tuple(LevelUsed(**used) for used in kept["levels"]),
        kept["conditions"], kept["settings"], kept["rules"],
        tuple(RuleUsed(**used) for used in kept.get("rule_files", ())), tuple(kept.get("sampling", ())),
        ReviewUsed(**kept["review"]) if kept.get("review") else None, kept.get("software", ""),
        kept.get("coverage", "rule_files" in kept),
    )  # fmt: skip
    return request, snapshot


def is_stale(connection: duckdb.DuckDBPyConnection, request: Request) -> bool:
    """Whether the site's data have changed since the run was made."""
    return request.data != fingerprint(connection, known_on(connection, request.site, None))


def kept_texts(connection: duckdb.DuckDBPyConnection, request: Request) -> Texts:
    """The law and the rules that a run used, as they were then."""
    return Kept(connection).texts(request)


def rules_beside(connection: duckdb.DuckDBPyConnection, run: str) -> list[RuleUsed] | None:
    """The rules of deadlines, papers and safety that a run kept; None for a run made before they were kept."""
    row = connection.execute("SELECT request FROM run WHERE id = ?", [run]).fetchone()
    kept = orjson.loads(row[0]).get("beside") if row else None
    return None if kept is None else [RuleUsed(**used) for used in kept]


def kept_beside(connection: duckdb.DuckDBPyConnection, run: str) -> Library | None:
    """The rules of deadlines, papers and safety as they were when the run was made; None where the run kept none."""
    used = rules_beside(connection, run)
    return None if used is None else Library(None, rule_texts.kept(connection, used))
