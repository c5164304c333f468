"""What decided two runs differently, by kind: data, level, condition, setting, rule edition, software."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.decision.answer import Answer
from screening.decision.law import CLOCKS
from screening.decision.request import SETTINGS, Request
from screening.decision.runs import stored
from screening.store.asked import origin
from screening.store.snapshot import Snapshot

if TYPE_CHECKING:
    import duckdb

CAUSES = ("data", "level", "condition", "setting", "edition", "software")
CAUSE_WORDS: Mapping[str, str] = {
    "data": "data revised", "level": "level changed", "condition": "condition changed", "setting": "setting changed",
    "edition": "rule edition changed", "software": "software changed",
}  # fmt: skip


@dataclass(frozen=True)
class Run:
    """A stored run with the version of the program that made it ('': not told)."""

    request: Request
    snapshot: Snapshot
    answer: Answer
    software: str


def read_run(connection: duckdb.DuckDBPyConnection, run: str, software: str | None = None) -> Run:
    """A stored run; ``software`` where the caller knows already which version made it. Raises `Refused` for an unknown one."""
    request, snapshot, answer = stored(connection, run)
    known = request.software or software
    return Run(request, snapshot, answer, origin(connection, run).software if known is None else known)


def differs(first: Run, second: Run, cause: str) -> bool:
    """Whether two runs were decided by another thing of this kind."""
    one, two = first.request, second.request
    if cause == "data":
        return one.data != two.data
    if cause == "level":
        return one.levels != two.levels or of_law(one.settings) != of_law(two.settings)
    if cause == "condition":
        return dict(one.conditions) != dict(two.conditions) or one.site_sha256 != two.site_sha256
    if cause == "setting":
        shared = {key for key in one.settings if key in two.settings and key not in of_law(one.settings)}
        return _chosen(one, shared) != _chosen(two, shared)
    if cause == "edition":
        return one.rule_files != two.rule_files or (one.review != two.review and edition_name(one) == edition_name(two))
    return one.rules != two.rules or first.software != second.software


def of_law(settings: Mapping[str, str]) -> dict[str, str]:
    """Settings that say which version of a table applies, and so go with the levels."""
    return {key: value for key, value in settings.items() if key in CLOCKS or key.startswith("phase_in.")}


def edition_name(request: Request) -> str:
    """The name of the review edition: choosing another is a setting, another text of the same is an edition."""
    return request.review.edition if request.review else "none"


def _chosen(request: Request, shared: Collection[str]) -> tuple[Any, ...]:
    """What a person chose. A wording that only one of two runs knows came with its table; a setting not stored had its default."""
    mine = {key: request.settings[key] for key in shared} | {
        key: request.settings.get(key, values[0]) for key, values in SETTINGS.items()
    }
    return mine, request.sampling, edition_name(request)


def told(connection: duckdb.DuckDBPyConnection, first: Run, second: Run, cause: str) -> str:
    """What differs between two runs by one cause, in words."""
    one, two = first.request, second.request
    if cause == "data":
        return "; ".join(_data(connection, first, second)) or "the same files read otherwise"
    if cause == "level":
        return _levels(one, two)
    if cause == "condition":
        revised = ["the site file was revised"] if one.site_sha256 != two.site_sha256 else []
        return "; ".join([*_pairs(one.conditions, two.conditions), *revised])
    if cause == "setting":
        mine, yours = ({**asked.settings, "review": edition_name(asked)} for asked in (one, two))
        named = {"sampling rules": ", ".join(one.sampling)}, {"sampling rules": ", ".join(two.sampling)}
        return "; ".join([*_pairs(mine, yours), *_pairs(*named)])
    if cause == "edition":
        files = {f"{used.kind}/{used.name}" for used in {*one.rule_files} ^ {*two.rule_files}}
        dated = [f"{used.edition} of {used.version}" if used else "none" for used in (one.review, two.review)]
        return "; ".join([*sorted(files), *([f"review {dated[0]} to {dated[1]}"] if one.review != two.review else [])])
    return f"version {first.software or 'unknown'} to {second.software or 'unknown'}"


def _data(connection: duckdb.DuckDBPyConnection, first: Run, second: Run) -> list[str]:
    files = {row[0]: row[1:] for row in connection.execute("SELECT id, file, replaces FROM deliverable").fetchall()}

    def name(identity: str) -> str:
        file, replaces = files.get(identity, (identity, None))
        return f"{file} in place of {files[replaces][0]}" if replaces in files else file

    old, new = (set(run.snapshot.deliverables) for run in (first, second))
    said = [f"without {name(item)}" for item in sorted(old - new)] + [f"with {name(item)}" for item in sorted(new - old)]
    more = len({*first.snapshot.decisions} ^ {*second.snapshot.decisions})
    said += [f"{more} decision{'' if more == 1 else 's'} made between"] if more else []
    return said + (["other custody records"] if first.snapshot.custody != second.snapshot.custody else [])


def _levels(one: Request, two: Request) -> str:
    old, new = ({f"{used.table}@{used.version}" for used in asked.levels} for asked in (one, two))
    if old == new:
        return "; ".join(_pairs(of_law(one.settings), of_law(two.settings))) or f"another text of {', '.join(sorted(old))}"
    return f"{', '.join(sorted(old - new)) or 'nothing'} to {', '.join(sorted(new - old)) or 'nothing'}"


def _pairs(one: Mapping[str, str], two: Mapping[str, str]) -> list[str]:
    return [
        f"{key}: {one.get(key) or 'not stated'} to {two.get(key) or 'not stated'}"
        for key in sorted({*one, *two})
        if one.get(key) != two.get(key)
    ]
