"""Runs: a screen made, stored with everything that decided it, shown again, reproduced and compared."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from screening.closure.assess import files_beside, files_deciding
from screening.closure.library import Library
from screening.decision.answer import Answer, Texts, answer_to, dump
from screening.decision.request import (
    REVIEW,
    SAMPLING,
    LevelUsed,
    Request,
    ReviewUsed,
    day_of_levels,
    full_settings,
    resolve_versions,
    tables_asked,
)
from screening.errors import Refused
from screening.levels.versions import Standards, standards_folder
from screening.quality.editions import edition_asked, parse_edition
from screening.screen.presence import wordings_of
from screening.site.site_file import fingerprint as site_fingerprint
from screening.store import level_texts, review_texts, rule_texts
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
    levels_on = day_of_levels(asked.levels_on, site, today)
    versions = resolve_versions(standards, tables_asked(site, asked.levels), levels_on, asked.settings or {})
    snapshot = known_on(connection, asked.site, asked.data_on)
    used = []
    for table, effective in versions:
        version = standards.version(table, effective)
        used.append(LevelUsed(table, effective, version.sha256))
    tables = [standards.table(table) for table in dict.fromkeys(table for table, _ in versions)]
    wordings: dict[str, tuple[str, ...]] = {}
    for table_facts in tables:
        wordings |= wordings_of(table_facts)
    conditions = {**site.conditions, **(asked.conditions or {})}
    known_keys = {key for table_facts in tables for key in table_facts.conditions}
    for key in asked.conditions or {}:
        if key not in known_keys:
            raise Refused(f"--condition {key}: no table used has it; known are {', '.join(sorted(known_keys)) or 'none'}")
    given = dict(asked.settings or {})
    review_asked = given.pop(REVIEW, "") or site.screening.review
    settings = full_settings(given, wordings, (one.name for one in tables if one.phase_in))
    if levels_on == SAMPLING:
        settings["levels_by"] = SAMPLING
    elif "previous" in (settings[f"phase_in.{one.name}"] for one in tables if one.phase_in):
        settings["levels_on"] = str(levels_on)
    text = site_text(connection, asked.site)
    edition = edition_asked(review_asked, standards_folder())
    library = Library(standards_folder())
    rule_files = files_deciding(library, site, asked.sampling)
    request = Request(
        asked.site, site_fingerprint(text), fingerprint(connection, snapshot), tuple(used),
        dict(sorted(conditions.items())), settings,
        rule_files=tuple(RuleUsed(file.kind, file.name, file.sha256) for file in rule_files), sampling=asked.sampling,
        review=ReviewUsed(edition.name, edition.version.isoformat(), edition.sha256) if edition else None,
    )  # fmt: skip
    answer = answer_to(connection, Texts(standards, library, edition), request, snapshot)
    with transaction(connection):
        level_texts.keep(connection, standards, versions)
        beside = files_beside(library, site)
        rule_texts.keep(connection, [(file.kind, file.name, file.sha256, file.text) for file in (*rule_files, *beside)])
        if edition is not None:
            review_texts.keep(connection, edition.sha256, edition.name, edition.version.isoformat(), edition.texts)
        number = connection.execute("SELECT coalesce(max(number), 0) + 1 FROM run").fetchone()
        kept_beside = [asdict(RuleUsed(file.kind, file.name, file.sha256)) for file in beside]
        stored = {**asdict(request), "snapshot": asdict(snapshot), "beside": kept_beside}
        connection.execute(
            "INSERT INTO run VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
            [request.run_id, number[0] if number else 1, asked.site, dt.datetime.now(dt.UTC).replace(tzinfo=None),
             dump(stored), dump(answer)],
        )  # fmt: skip
    return answer


def stored(connection: duckdb.DuckDBPyConnection, run: str) -> tuple[Request, Snapshot, Answer]:
    """A stored run: what decided it and its answer as given. Raises `Refused` for an unknown run."""
    row = connection.execute("SELECT request, answer FROM run WHERE id = ?", [run]).fetchone()
    if row is None:
        raise Refused(f"run '{run}' is unknown; 'screening runs list' shows the runs")
    kept = json.loads(row[0])
    known = kept["snapshot"]
    snapshot = Snapshot(tuple(known["deliverables"]), tuple(known["decisions"]), tuple(known.get("custody", ())))
    request = Request(
        kept["site"], kept["site_sha256"], kept["data"], tuple(LevelUsed(**used) for used in kept["levels"]),
        kept["conditions"], kept["settings"], kept["rules"],
        tuple(RuleUsed(**used) for used in kept.get("rule_files", ())), tuple(kept.get("sampling", ())),
        ReviewUsed(**kept["review"]) if kept.get("review") else None,
    )  # fmt: skip
    return request, snapshot, json.loads(row[1])


def is_stale(connection: duckdb.DuckDBPyConnection, request: Request) -> bool:
    """Whether the site's data have changed since the run was made."""
    return request.data != fingerprint(connection, known_on(connection, request.site, None))


def list_runs(connection: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    """All runs in the order in which they were made; stale where the site's data have changed since."""
    made = []
    rows = connection.execute("SELECT id, site, made_at, answer, request FROM run ORDER BY number").fetchall()
    now = {site: fingerprint(connection, known_on(connection, site, None)) for site in {row[1] for row in rows}}
    for run, site, made_at, answer, request in rows:
        kept, asked = json.loads(answer), json.loads(request)
        made.append(
            {
                "run": run, "site": site, "made_at": made_at.isoformat(sep=" ", timespec="seconds"),
                "levels": [f"{used['table']}@{used['version']}" for used in asked["levels"]],
                "counts": kept["counts"], "status": kept["recommendation"]["status"], "stale": asked["data"] != now[site],
            }
        )  # fmt: skip
    return made


def kept_texts(connection: duckdb.DuckDBPyConnection, request: Request) -> Texts:
    """The law and the rules that a run used, as they were then."""
    used = request.review
    return Texts(
        level_texts.kept_standards(connection, request.levels),
        Library(None, rule_texts.kept(connection, request.rule_files)),
        parse_edition(used.edition, review_texts.kept(connection, used.sha256)) if used else None,
    )


def kept_beside(connection: duckdb.DuckDBPyConnection, run: str) -> Library | None:
    """The rules of deadlines, papers and safety as they were when the run was made; None where the run kept none."""
    row = connection.execute("SELECT request FROM run WHERE id = ?", [run]).fetchone()
    kept = json.loads(row[0]).get("beside") if row else None
    return None if kept is None else Library(None, rule_texts.kept(connection, [RuleUsed(**used) for used in kept]))


def reproduce(connection: duckdb.DuckDBPyConnection, run: str) -> dict[str, Any]:
    """Make a stored run again from what the store keeps, and name each difference to the answer given then."""
    request, snapshot, before = stored(connection, run)
    after = json.loads(dump(answer_to(connection, kept_texts(connection, request), request, snapshot)))
    differences = [
        {"part": key, "before": before.get(key), "after": after.get(key)}
        for key in sorted({*before, *after})
        if before.get(key) != after.get(key)
    ]
    return {"run": run, "identical": not differences, "differences": differences}
