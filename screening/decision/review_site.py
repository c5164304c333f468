"""The document of a review: findings worst first, a grid of samples and checks, what could not be checked, a summary."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence, Set
from typing import TYPE_CHECKING, Any

from screening.decision.review_words import paragraph
from screening.decision.reviewed import review_document
from screening.decision.take_up import take_up
from screening.levels.versions import standards_folder
from screening.quality.chosen import LAST_RUN_RULE, RULE, switching
from screening.quality.criteria import criteria_of
from screening.quality.editions import Edition, edition_asked
from screening.quality.findings import SEVERITY, TRANSCRIPTIONS, Checked, Finding
from screening.quality.review import Review
from screening.site.site_file import SiteFile
from screening.store.overrides import override
from screening.store.sites import site_of
from screening.store.snapshot import Snapshot, known_on
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb

STATES = (*SEVERITY[:2], "open", *SEVERITY[2:], "note", "ok", "partly", "not_checked")
"""What a cell of the grid may say, the worst first."""

_CELLS = """
SELECT k.row_id, f.file, v.sheet, v.row, v.column_letter FROM known AS k JOIN delivered AS v USING (row_id)
JOIN deliverable AS f ON f.number = k.deliverable WHERE list_contains($rows, k.row_id)
"""


def review_site(
    connection: duckdb.DuckDBPyConnection,
    site: str,
    edition: str = "",
    data_on: dt.date | None = None,
    chosen_rule: str = "default",
) -> dict[str, Any]:
    """Review a site's results as known on a day. Raises `Refused` for an unknown site or edition."""
    return document_of(connection, site, _reviewed(connection, site, edition, data_on, chosen_rule), chosen_rule)


def document_of(connection: duckdb.DuckDBPyConnection, site: str, found: Review, chosen_rule: str) -> dict[str, Any]:
    """The document of a review that was just made in this connection; see `reviewed_as_known`."""
    switched = switching(connection, chosen_rule)
    samples = [
        row[0] for row in connection.execute("SELECT DISTINCT sample_id FROM known WHERE class = 'result' ORDER BY 1").fetchall()
    ]
    results = connection.execute("SELECT count(*) FROM ranked WHERE rank = 1").fetchone()
    cells = _cells(connection, found.findings)
    concerned = {check.check: _concerned(check) for check in found.checks}
    document: dict[str, Any] = {
        "site": site,
        "edition": {**review_document(found), "title": found.edition.title if found.edition else "",
                    "notes": list(found.edition.notes) if found.edition else []},
        "findings": [_finding(one, cells) for one in sorted(found.findings, key=_worst_first)],
        "overrides": [
            {"sample_id": one.sample_id, "analyte": one.analyte, "qualifier": one.qualifier,
             "automatic": found.marks[one.row_id].automatic, "by": one.by_whom, "why": one.why, "made_at": one.made_at.isoformat(sep=" ")}
            for one in found.overrides
        ],
        "checked": [_checked(one, found.edition, set(samples)) for one in found.checks if one.looked_at],
        "not_checkable": [{"check": one.check, "text": text} for one in found.checks for text in one.not_checkable],
        "grid": [{"sample_id": sample, "checks": _row(sample, found.checks, concerned)} for sample in samples],
        "counts": {"samples": len(samples), "results": results[0] if results else 0, "marked": review_document(found)["marked"],
                   "late_non_detects": review_document(found)["late_non_detects"],
                   "findings": dict(sorted(Counter(one.check for one in found.findings).items())),
                   "by_transcription": {name: count for name in TRANSCRIPTIONS if (count := sum(one.basis.transcription == name for one in found.findings))}},
        "chosen_rule": {"rule": chosen_rule, "text": RULE if chosen_rule == "default" else LAST_RUN_RULE, "switching_would_change": switched},
    }  # fmt: skip
    document["summary"] = paragraph(document)
    return document


def override_result(
    connection: duckdb.DuckDBPyConnection,
    site: str,
    sample: str,
    analyte: str,
    qualifier: str,
    by_whom: str,
    why: str,
    row: int | None,
) -> dict[str, Any]:
    """Record what a named person says of a result; returns what the review said before. Raises `Refused`."""
    found = _reviewed(connection, site, "", None, "default")
    listed = Vocabulary.load().named(analyte)
    analyte = listed.name if listed is not None else analyte
    automatic = {row_id: mark.automatic for row_id, mark in found.marks.items()}
    rows = override(connection, site, sample, analyte, qualifier, automatic, by_whom, why, row)
    return {
        "sample_id": sample, "analyte": analyte, "results": len(rows), "qualifier": qualifier,
        "automatic": sorted({automatic.get(row_id, "") for row_id in rows}), "by": by_whom, "why": why,
    }  # fmt: skip


def _reviewed(
    connection: duckdb.DuckDBPyConnection, site: str, edition: str, data_on: dt.date | None, chosen_rule: str
) -> Review:
    of_site = site_of(connection, site)
    criteria = edition_asked(edition or of_site.screening.review, standards_folder())
    return reviewed_as_known(connection, of_site, criteria, known_on(connection, site, data_on), chosen_rule)


def reviewed_as_known(
    connection: duckdb.DuckDBPyConnection,
    site: SiteFile,
    edition: Edition | None,
    snapshot: Snapshot,
    chosen_rule: str = "default",
) -> Review:
    """The review of a site's data as they were known, by an edition and a rule of choice.

    Fills ``known``, ``dry``, ``reviewed``, ``ranked`` and ``field_pair``; what waits for a person is not in them.
    """
    _, _, found = take_up(connection, site, snapshot, edition, {"missing_basis": "open", "chosen_rule": chosen_rule})
    return found


def _severity(finding: Finding) -> int:
    state = finding.qualifier or "note"
    return STATES.index("open" if finding.late and state != "rejected" else state)


def _worst_first(finding: Finding) -> tuple[int, str, str, str]:
    return (_severity(finding), finding.check, finding.sample_id, finding.analyte)


def _cells(connection: duckdb.DuckDBPyConnection, findings: Sequence[Finding]) -> dict[int, dict[str, Any]]:
    rows = sorted({row for one in findings for row in one.rows})
    return {
        row_id: {"file": file, "sheet": sheet, "row": row, "column": column}
        for row_id, file, sheet, row, column in connection.execute(_CELLS, {"rows": rows}).fetchall()
    }


def _finding(one: Finding, cells: Mapping[int, Mapping[str, Any]]) -> dict[str, Any]:
    return {
        "check": one.check, "sample_id": one.sample_id, "analyte": one.analyte, "criterion": one.criterion, "observed": one.observed,
        "action": one.action, "qualifier": one.qualifier, "reason": one.reason, "citation": one.basis.citation,
        "transcription": one.basis.transcription, "state": STATES[_severity(one)], "sources": [dict(cells[row]) for row in one.rows],
    }  # fmt: skip


def _checked(one: Checked, edition: Edition | None, samples: Set[str]) -> dict[str, Any]:
    """What a check looked at, how many samples it reached, wholly or in part, and how its criteria were seen."""
    reached = one.samples | {sample for item in one.findings for sample in (item.sample_id, *item.samples)}
    seen = Counter(rule.basis.transcription for rule in (criteria_of(edition, one.check) if edition else ()))
    return {
        "check": one.check, "text": one.looked_at, "samples": len(reached & samples), "in_part": len(one.partly & samples), "of": len(samples),
        "criteria": {name: seen[name] for name in TRANSCRIPTIONS if seen[name]},
    }  # fmt: skip


def _row(sample: str, checks: Sequence[Checked], concerned: Mapping[str, Mapping[str, int]]) -> dict[str, str]:
    """The state of a sample by each check."""
    return {one.check: _state(one, sample, concerned[one.check].get(sample)) for one in checks}


def _concerned(check: Checked) -> dict[str, int]:
    """The worst of what a check found, by sample."""
    worst: dict[str, int] = {}
    for one in check.findings:
        severity = _severity(one)
        for sample in (one.sample_id, *one.samples):
            worst[sample] = min(severity, worst.get(sample, severity))
    return worst


def _state(check: Checked, sample: str, worst: int | None) -> str:
    if worst is not None:
        return STATES[worst]
    if sample in check.partly:
        return "partly"
    return "ok" if sample in check.samples else "not_checked"
