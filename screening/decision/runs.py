"""Runs: a screen made, stored with everything that decided it, shown again, reproduced and compared."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from screening.decision.recommend import recommend
from screening.decision.request import REVIEW, LevelUsed, Request, ReviewUsed, full_settings, resolve_versions, tables_asked
from screening.decision.reviewed import near_times, review_assumption, review_document, review_warnings
from screening.errors import Refused
from screening.levels.choose import choose
from screening.levels.versions import Standards, standards_folder
from screening.quality.chosen import LAST_RUN_RULE, RULE
from screening.quality.dry import dry
from screening.quality.editions import Edition, edition_asked, parse_edition
from screening.quality.review import review
from screening.screen.duplicates import DUPLICATE_RULES
from screening.screen.outcomes import OUTCOMES, Outcome, TableInUse, hold_against
from screening.screen.presence import presences_of, wordings_of
from screening.site.site_file import fingerprint as site_fingerprint
from screening.store import level_texts, review_texts
from screening.store.match import gaps
from screening.store.sites import site_of, site_text
from screening.store.snapshot import Snapshot, fingerprint, known_on, load, notes

if TYPE_CHECKING:
    import duckdb

Answer = dict[str, Any]


@dataclass(frozen=True)
class Asked:
    """What a person asks of a screen; None stands for now, or for what the site file says."""

    site: str
    levels: tuple[str, ...] = ()
    levels_on: dt.date | None = None
    data_on: dt.date | None = None
    conditions: Mapping[str, str] | None = None
    settings: Mapping[str, str] | None = None


def screen(connection: duckdb.DuckDBPyConnection, standards: Standards, asked: Asked, today: dt.date) -> Answer:
    """Make and store a run. The answer is the JSON document of the contract.

    Raises `Refused` for an unknown site, table, version, condition or setting; nothing is stored then.
    """
    site = site_of(connection, asked.site)
    versions = resolve_versions(standards, tables_asked(site, asked.levels), asked.levels_on or today)
    snapshot = known_on(connection, asked.site, asked.data_on)
    used = []
    for table, effective in versions:
        version = standards.version(table, effective)
        used.append(LevelUsed(table, effective, version.sha256))
    tables = [standards.table(table) for table, _ in versions]
    wordings: dict[str, tuple[str, ...]] = {}
    for table_facts in tables:
        wordings |= wordings_of(table_facts)
    conditions = {**site.conditions, **(asked.conditions or {})}
    known_keys = {key for table_facts in tables for key in table_facts.conditions}
    for key in asked.conditions or {}:
        if key not in known_keys:
            raise Refused(f"--condition {key}: no table used has it; known are {', '.join(sorted(known_keys)) or 'none'}")
    text = site_text(connection, asked.site)
    settings = dict(asked.settings or {})
    edition = edition_asked(settings.pop(REVIEW, "") or site.screening.review, standards_folder())
    request = Request(
        asked.site, site_fingerprint(text), fingerprint(connection, snapshot), tuple(used),
        dict(sorted(conditions.items())), full_settings(settings, wordings),
        review=ReviewUsed(edition.name, edition.version.isoformat(), edition.sha256) if edition else None,
    )  # fmt: skip
    answer = answer_to(connection, standards, request, snapshot, edition)
    connection.begin()
    try:
        level_texts.keep(connection, standards, versions)
        if edition is not None:
            review_texts.keep(connection, edition.sha256, edition.name, edition.version.isoformat(), edition.texts)
        number = connection.execute("SELECT coalesce(max(number), 0) + 1 FROM run").fetchone()
        stored = {**asdict(request), "snapshot": asdict(snapshot)}
        connection.execute(
            "INSERT INTO run VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
            [request.run_id, number[0] if number else 1, asked.site, dt.datetime.now(dt.UTC).replace(tzinfo=None),
             dump(stored), dump(answer)],
        )  # fmt: skip
        connection.commit()
    except BaseException:
        connection.rollback()
        raise
    return answer


def dump(document: object) -> str:
    """Canonical JSON text: sorted keys, no blanks, so that equal answers are equal bytes."""
    return json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def answer_to(
    connection: duckdb.DuckDBPyConnection, standards: Standards, request: Request, snapshot: Snapshot, edition: Edition | None
) -> Answer:
    """The answer to a request; depends on nothing but the request, the texts it names and what the store keeps."""
    site = site_of(connection, request.site, request.site_sha256)
    waiting = load(connection, snapshot)
    missing = gaps(connection, site, snapshot, waiting)
    dry(connection, request.settings["missing_basis"])
    chosen_rule = request.settings.get("chosen_rule", "default")
    found = review(
        connection, edition, snapshot.decisions, chosen_rule=chosen_rule, custody_asked=bool(site.custody or snapshot.custody),
        custody_gaps=missing,
    )  # fmt: skip
    in_use, assumptions = [], []
    for used in request.levels:
        table, version = standards.table(used.table), standards.version(used.table, used.version)
        chosen = choose(table, version, request.conditions)
        in_use.append(TableInUse(table, version, chosen, presences_of(table, request.settings)))
        assumptions += [item.assumed for item in chosen if item.assumed]
        if table.comparison_status.startswith("assumed"):
            assumptions.append(f"{used.table}: the comparison sign is {table.comparison_status}")
    held_up = hold_against(
        connection, in_use, request.settings["missing_basis"], request.settings.get("duplicate_rule", "higher")
    )
    outcomes = [item for item in held_up if not item.outweighed]
    assumptions += _data_assumptions(outcomes, request)
    assumptions += review_assumption(found)
    assumptions += notes(connection, snapshot)
    advice = recommend(site, outcomes, waiting, missing, near_times(edition))
    return {
        "run": request.run_id,
        "site": request.site,
        "site_name": site.site.name,
        "data": request.data[:12],
        "levels": [_level_document(use) for use in in_use],
        "conditions": dict(request.conditions),
        "settings": dict(request.settings),
        "assumptions": list(dict.fromkeys(assumptions)),
        "warnings": [*_warnings(in_use, outcomes), *review_warnings(found)],
        "review": review_document(found),
        "outcomes": [outcome_document(item) for item in outcomes],
        "outweighed": [outcome_document(item) for item in held_up if item.outweighed],
        "counts": {name: sum(item.outcome == name for item in outcomes) for name in OUTCOMES},
        "held_back": [asdict(row) for row in waiting],
        "recommendation": {
            "status": advice.status,
            "reasons": [asdict(reason) for reason in advice.reasons],
            "open_items": [asdict(item) for item in advice.open_items],
            "notes": list(advice.notes),
            "caution": advice.caution,
        },
    }


def _level_document(use: TableInUse) -> dict[str, Any]:
    status = sorted({item.row.transcription for item in use.chosen})
    return {
        "table": use.table.name,
        "version": use.version.effective.isoformat(),
        "until": use.version.until.isoformat() if use.version.until else None,
        "title": use.table.title,
        "stage": use.table.stage,
        "citation": use.table.citation,
        "transcription": status[0] if len(status) == 1 else ", ".join(status),
        "comparison": use.table.comparison,
        "incomplete": [f"{gap.scope}: {gap.text}" for gap in use.table.incomplete],
        "sha256": use.version.sha256,
    }


def outcome_document(item: Outcome) -> dict[str, Any]:
    """One outcome with the keys of the contract and a few more."""
    return {key: list(value) if isinstance(value, tuple) else value for key, value in vars(item).items()}


def _data_assumptions(outcomes: Sequence[Outcome], request: Request) -> list[str]:
    said = []
    if any(item.medium in ("soil", "sediment") for item in outcomes):
        said.append("soil results and levels are compared in dry weight")
        if request.settings["missing_basis"] == "dry":
            said.append("soil results without a stated basis are taken as dry weight, as the setting missing_basis says")
    if any("chosen of" in item.because for item in outcomes):
        rule = LAST_RUN_RULE if request.settings.get("chosen_rule") == "last_run" else RULE
        said.append(f"where a sample was analysed more than once: {rule}")
    if any(item.duplicate for item in outcomes):
        said.append(f"field duplicates with their parents: {DUPLICATE_RULES[request.settings.get('duplicate_rule', 'higher')]}")
    return said


def _warnings(in_use: Sequence[TableInUse], outcomes: Sequence[Outcome]) -> list[str]:
    said = []
    for use in in_use:
        for status, words in (
            ("secondhand", "read in another publication, not in the rule"),
            ("memory", "recalled and unverified"),
        ):
            count = sum(
                item.transcription == status and item.table == use.table.name and item.outcome in ("exceeds", "does_not_exceed")
                for item in outcomes
            )
            if count:
                said.append(
                    f"{use.table.name}: {count} outcomes rest on levels {words}; check them against the rule before relying on them"
                )
        said += [f"{use.table.name} is incomplete: {gap.scope}: {gap.text}" for gap in use.table.incomplete]
        if use.version.until:
            said.append(f"{use.table.name} version {use.version.effective} was in force until {use.version.until} only")
    return said


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
        kept["conditions"], kept["settings"], kept["rules"], ReviewUsed(**kept["review"]) if kept.get("review") else None,
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


def reproduce(connection: duckdb.DuckDBPyConnection, run: str) -> dict[str, Any]:
    """Make a stored run again from what the store keeps, and name each difference to the answer given then."""
    request, snapshot, before = stored(connection, run)
    standards = level_texts.kept_standards(connection, request.levels)
    used = request.review
    edition = parse_edition(used.edition, review_texts.kept(connection, used.sha256)) if used else None
    after = json.loads(dump(answer_to(connection, standards, request, snapshot, edition)))
    differences = [
        {"part": key, "before": before.get(key), "after": after.get(key)}
        for key in sorted({*before, *after})
        if before.get(key) != after.get(key)
    ]
    return {"run": run, "identical": not differences, "differences": differences}
