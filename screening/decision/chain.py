"""From one run to another a change at a time, so that each changed outcome can be laid to the step where it changed.

The steps are data, level, condition, setting, edition, software, in this order. Where more than one of them differs, the
runs between are screened again with the texts that the store keeps; nothing of them is stored.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import orjson

from screening import __version__
from screening.decision.answer import Answer, Texts, answer_to, dump
from screening.decision.differences import CAUSE_WORDS, CAUSES, Run, differs, edition_name, of_law
from screening.decision.kept import Kept
from screening.decision.request import Request
from screening.errors import Altered, Refused
from screening.store.snapshot import Snapshot

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Step:
    """An answer on the way, and the causes that led to it from the one before (several where they cannot be parted)."""

    causes: tuple[str, ...]
    answer: Answer


def steps(connection: duckdb.DuckDBPyConnection, first: Run, second: Run) -> tuple[list[Step], list[str]]:
    """The answers from the first run to the second, both as stored at the ends, and what could not be parted.

    Raises `Altered` where a text that a run used is gone.
    """
    moved = [cause for cause in CAUSES if differs(first, second, cause)]
    if len(moved) <= 1:
        return [Step((), first.answer), Step(tuple(moved), second.answer)], []
    kept = Kept(connection)
    path, notes = [Step((), first.answer)], []
    pending: list[str] = []
    now, snapshot = first.request, first.snapshot
    if first.software != __version__:
        path.append(Step(("software",), _again(connection, kept.texts(now), now, snapshot)))
    for cause in moved:
        if cause == "software" and first.request.rules == second.request.rules:
            continue
        now = _with(now, second.request, cause)
        snapshot = second.snapshot if cause == "data" else snapshot
        pending.append(cause)
        try:
            answer = _again(connection, _texts(kept, now, first.request, second.request), now, snapshot)
        except Altered:
            raise
        except Refused as error:
            notes.append(f"the step '{CAUSE_WORDS[cause]}' cannot be made alone: {error}")
            continue
        path.append(Step(tuple(pending), answer))
        pending = []
    path.append(Step(tuple(pending) or ("software",), second.answer))
    return path, notes


def _again(connection: duckdb.DuckDBPyConnection, texts: Texts, request: Request, snapshot: Snapshot) -> Answer:
    made: Answer = orjson.loads(dump(answer_to(connection, texts, request, snapshot)))
    return made


def _with(now: Request, then: Request, cause: str) -> Request:
    """The request of a step: as before it, but for what differs by this cause."""
    if cause == "data":
        return replace(now, data=then.data)
    if cause == "level":
        mine = {key: value for key, value in now.settings.items() if key not in of_law(now.settings)}
        settings = {**{key: mine.get(key, value) for key, value in then.settings.items()}, **of_law(then.settings)}
        return replace(now, levels=then.levels, settings=settings)
    if cause == "condition":
        return replace(now, conditions=then.conditions, site_sha256=then.site_sha256)
    if cause == "setting":
        review = now.review if edition_name(now) == edition_name(then) else then.review
        return replace(now, settings=then.settings, sampling=then.sampling, review=review)
    if cause == "edition":
        return replace(now, rule_files=then.rule_files, review=then.review)
    return replace(
        now, rules=then.rules, coverage=then.coverage, rule_files=then.rule_files, review=then.review, software=then.software
    )


def _texts(kept: Kept, now: Request, first: Request, second: Request) -> Texts:
    """The texts of a step. Rules of closure of the second run fill in where the first run's site had none of the kind."""
    files = now.rule_files
    if now.joins_coverage and files == first.rule_files and now.site_sha256 == second.site_sha256 != first.site_sha256:
        mine = {(used.kind, used.name) for used in files}
        files = (*files, *(used for used in second.rule_files if (used.kind, used.name) not in mine))
    return Texts(kept.standards(now.levels), kept.library(files), kept.edition(now))
