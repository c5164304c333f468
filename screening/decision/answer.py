"""The answer to a request: outcomes, counts, what was assumed, the review, the coverage and the recommendation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import orjson

from screening.closure.assess import assess
from screening.closure.library import Library
from screening.decision.recommend import recommend
from screening.decision.request import SAMPLING, Request
from screening.decision.reviewed import near_times, review_assumption, review_document, review_warnings
from screening.decision.take_up import take_up
from screening.decision.uses import refuse_undated, tables_in_use
from screening.levels.versions import Standards
from screening.quality.chosen import LAST_RUN_RULE, RULE
from screening.quality.editions import Edition
from screening.screen.duplicates import DUPLICATE_RULES
from screening.screen.measure import sampling_days
from screening.screen.outcomes import OUTCOMES, Outcome, hold_against
from screening.screen.register import TableInUse
from screening.store.jumps import across_deliverables
from screening.store.sites import site_of
from screening.store.snapshot import Snapshot, notes

if TYPE_CHECKING:
    import duckdb

Answer = dict[str, Any]


@dataclass(frozen=True)
class Texts:
    """The law and the rules that a request names: level tables, rules of closure, the review edition (None: none)."""

    standards: Standards
    library: Library
    edition: Edition | None


def dump(document: object) -> str:
    """Canonical JSON text: sorted keys, no blanks, so that equal answers are equal bytes (RFC 8259)."""
    return orjson.dumps(document, option=orjson.OPT_SORT_KEYS).decode()


def answer_to(connection: duckdb.DuckDBPyConnection, texts: Texts, request: Request, snapshot: Snapshot) -> Answer:
    """The answer to a request; depends on nothing but the request, the texts it names and what the store keeps."""
    settings = request.settings
    site = site_of(connection, request.site, request.site_sha256)
    waiting, missing, found = take_up(connection, site, snapshot, texts.edition, settings)
    in_use, assumptions = tables_in_use(texts.standards, request, site)
    if settings.get("levels_by") == SAMPLING:
        refuse_undated(in_use, sampling_days(connection))
    held_up = hold_against(
        connection, in_use, settings["missing_basis"], settings.get("duplicate_rule", "higher"),
        settings.get("equivalents_nondetects", "rule"),
    )  # fmt: skip
    outcomes = [item for item in held_up if not item.outweighed]
    assumed, doubted = notes(connection, snapshot)
    assumptions += [*_data_assumptions(outcomes, request), *review_assumption(found), *assumed]
    closure = assess(connection, site, texts.library, snapshot, waiting, request.sampling) if request.joins_coverage else None
    advice = recommend(site, outcomes, waiting, list(missing.values()), closure, near_times(texts.edition))
    doubted += across_deliverables(connection)
    answer: Answer = {
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
            "notes": [*advice.notes, *doubted],
            "caution": advice.caution,
        },
    }
    if closure is not None:
        answer["coverage"] = closure.document()
        answer["recommendation"]["actions"] = list(advice.actions)
        answer["recommendation"]["closure_methods"] = closure.methods
    return answer


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
    return {**vars(item), "parts": list(item.parts), "beside": list(item.beside)}


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
