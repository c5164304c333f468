"""Blanks: what was found in them, and which results of the same batch or day may be the laboratory's or the field's own.

A result is never corrected by a blank. A method blank speaks for its batch, a trip blank for the samples that came on
the same day, a field or equipment blank for the samples taken on the same day; where batch or day is not stated, for
all samples of its deliverable.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.editions import Edition, Rule
from screening.quality.findings import BLANK, Checked, Finding, marked
from screening.quality.shown import counted, figures, plain

if TYPE_CHECKING:
    import duckdb

KINDS = ("method_blank", "trip_blank", "field_blank", "equipment_blank")

_BATCH = """
    ((b.batch <> '' AND r.batch = b.batch) OR ((b.batch = '' OR r.batch = '') AND r.deliverable = b.deliverable))
    AND (b.method = '' OR r.method = '' OR r.method = b.method)
"""
_DAY = """
    CASE WHEN b.{moment} IS NULL OR r.{moment} IS NULL THEN r.deliverable = b.deliverable
         ELSE CAST(r.{moment} AS DATE) = CAST(b.{moment} AS DATE) END
"""
SAME = {
    "method_blank": _BATCH,
    "trip_blank": _DAY.format(moment="received_at"),
    "field_blank": _DAY.format(moment="sampled_at"),
    "equipment_blank": _DAY.format(moment="sampled_at"),
}
"""Whether the result r belongs to the blank b."""

_HITS = """
SELECT row_id, sample_id, analyte, unit, value, value_text, batch FROM known
WHERE sample_kind = $kind AND detected ORDER BY sample_id, analyte, row_id
"""
_NEAR = """
SELECT b.row_id, r.row_id, r.sample_id, r.analyte, r.unit, r.value,
    r.value <= coalesce(r.reporting_limit, r.detection_limit) AS below, coalesce(r.reporting_limit, r.detection_limit)
FROM blank_bound AS n
JOIN known AS b ON b.row_id = n.row_id
JOIN known AS r ON r.class = 'result' AND r.analyte = b.analyte AND r.unit = b.unit AND r.detected
WHERE (r.value <= n.bound OR r.value <= coalesce(r.reporting_limit, r.detection_limit)) AND {same}
ORDER BY r.sample_id, r.analyte, r.row_id, b.row_id
"""
_SAMPLES = """
SELECT DISTINCT r.sample_id
FROM (SELECT DISTINCT batch, method, deliverable, received_at, sampled_at FROM known WHERE sample_kind = $kind) AS b
JOIN (SELECT DISTINCT sample_id, batch, method, deliverable, received_at, sampled_at FROM known WHERE class = 'result') AS r
    ON {same}
"""
_COUNT = "SELECT count(*), count(DISTINCT sample_id), bool_or(batch = '') FROM known WHERE sample_kind = $kind"


def check_blanks(connection: duckdb.DuckDBPyConnection, edition: Edition) -> list[Checked]:
    """One check a kind of blank. Reads ``known``."""
    return [_check(connection, edition, kind) for kind in KINDS]


def _check(connection: duckdb.DuckDBPyConnection, edition: Edition, kind: str) -> Checked:
    done, words = Checked(kind), kind.replace("_", " ")
    rows, samples, batchless = connection.execute(_COUNT, {"kind": kind}).fetchall()[0]
    if not rows:
        done.not_checkable.append(f"the deliverables hold no {words}")
        return done
    done.samples = {row[0] for row in connection.execute(_SAMPLES.format(same=SAME[kind]), {"kind": kind}).fetchall()}
    done.looked_at = f"{counted(rows, 'value')} of {counted(samples, words)}"
    hits = connection.execute(_HITS, {"kind": kind}).fetchall()
    bounds = {row[0]: _within(edition, row[2]) for row in hits}
    _bound(connection, [(row[0], row[4], bounds[row[0]].needed("times")) for row in hits if row[4] is not None])
    near = connection.execute(_NEAR.format(same=SAME[kind])).fetchall()
    touched: dict[int, int] = {}
    by_id = {row[0]: row for row in hits}
    for row in near:
        finding = _finding(edition, kind, by_id[row[0]], bounds[row[0]], row)
        if finding is not None:
            touched[row[0]] = touched.get(row[0], 0) + 1
            done.findings.append(finding)
    done.findings += [_told(kind, row, bounds[row[0]], touched.get(row[0], 0)) for row in hits]
    if kind == "method_blank" and batchless:
        done.looked_at += ", without a batch: taken for all results of the deliverable"
    return done


def _within(edition: Edition, analyte: str) -> Rule:
    rules = [rule for rule in edition.rules("blanks") if rule["rule"] == "within_times"]
    return next((rule for rule in rules if analyte in rule.names("analytes")), None) or next(
        rule for rule in rules if not rule["analytes"]
    )


def _bound(connection: duckdb.DuckDBPyConnection, hits: Sequence[tuple[int, Decimal, Decimal]]) -> None:
    connection.execute("CREATE OR REPLACE TEMP TABLE blank_bound (row_id BIGINT, bound DECIMAL(38, 18))")
    if hits:
        connection.executemany(
            "INSERT INTO blank_bound VALUES (?, CAST(? AS DECIMAL(38, 18)))",
            [(row_id, f"{value * times:f}") for row_id, value, times in hits],
        )


def _finding(edition: Edition, kind: str, hit: Sequence[Any], within: Rule, row: Sequence[Any]) -> Finding | None:
    """A detection that the blank touches: below its limit, or within so many times the blank."""
    _, row_id, sample, analyte, unit, value, below, limit = row
    words = kind.replace("_", " ")
    at_limit = next((rule for rule in edition.rules("blanks") if rule["rule"] == "at_or_below_limit"), None)
    rule = at_limit if below and at_limit is not None else within
    times = within.needed("times")
    if rule is within and value > hit[4] * times:
        return None
    ratio = f", {figures(value / hit[4])} times the blank" if hit[4] else ""
    criterion = (
        f"found in a {words} and at or below its own limit {plain(limit)} {unit}"
        if rule is at_limit
        else f"more than {plain(times)} times what the {words} holds"
    )
    qualifier = marked(rule.action(detected=True))
    action = "counts as not detected at its limit; kept as delivered" if qualifier == "not_detected_at_limit" else BLANK
    return Finding(
        kind, sample, analyte, criterion, f"{plain(value)} {unit}; {plain(hit[4])} {unit} in {hit[1]}{ratio}", action, qualifier,
        f"in_{kind}", rule.basis, (row_id,), blank=bool(qualifier),
    )  # fmt: skip


def _told(kind: str, hit: Sequence[Any], within: Rule, touched: int) -> Finding:
    words = kind.replace("_", " ")
    amount = (
        f"{plain(hit[4])} {hit[3]}" if hit[4] is not None else "detected without a number, so no result can be held against it"
    )
    batch = f" (batch {hit[6]})" if hit[6] else ""
    action = f"{touched} result{'' if touched == 1 else 's'} marked; nothing is subtracted"
    return Finding(kind, hit[1], hit[2], f"nothing detected in a {words}{batch}", amount, action, "", f"{kind}_hit", within.basis)
