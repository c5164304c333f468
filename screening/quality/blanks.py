"""Blanks: what was found in them, and which results of the same batch or day may be the laboratory's or the field's own.

A result is never corrected by a blank. A method blank speaks for its batch, a trip blank for the samples that came on
the same day, a field or equipment blank for the samples taken on the same day; where batch or day is not stated, for
all samples of its deliverable.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.association import KEYS, WAYS_OF_BATCH, WAYS_OF_DAY, local_day, paired
from screening.quality.blank_reach import tell_reach
from screening.quality.editions import Edition, Rule
from screening.quality.findings import BLANK, Checked, Finding, marked
from screening.quality.negative_blanks import negative_blanks
from screening.quality.shown import counted, figures, marked_results, plain

if TYPE_CHECKING:
    import duckdb

MOMENTS = {
    "method_blank": "received_at",
    "trip_blank": "received_at",
    "field_blank": "sampled_at",
    "equipment_blank": "sampled_at",
}
"""Each kind of blank and the moment whose day it speaks for; a method blank goes by its batch instead."""
KINDS = tuple(MOMENTS)

_HITS = """
SELECT row_id, sample_id, analyte, unit, value, value_text, batch, dilution FROM known
WHERE sample_kind = $kind AND detected AND coalesce(value, 1) > 0 ORDER BY sample_id, analyte, row_id
"""
_TABLES = f"""
q AS (SELECT row_id, analyte, unit, {KEYS}, {{day}} AS day FROM known WHERE row_id IN (SELECT unnest($blanks))),
r AS (
    SELECT row_id, sample_id, analyte, unit, value, coalesce(reporting_limit, detection_limit) AS own_limit, dilution, detected,
        {KEYS}, {{day}} AS day
    FROM known WHERE class = 'result' AND analyte IN (SELECT analyte FROM q)
)
"""
_NEAR = f"""
WITH {_TABLES}
SELECT * FROM ({{pairs}}) ORDER BY sample_id, analyte, row_id, blank_id
"""
_COLUMNS = (
    "q.row_id AS blank_id, r.row_id AS row_id, r.sample_id AS sample_id, r.analyte AS analyte, r.unit AS unit, r.value AS value, "
    "r.value <= r.own_limit AS below, r.own_limit AS own_limit, r.dilution AS dilution"
)
_SAMPLES = f"""
WITH q AS (SELECT DISTINCT {KEYS}, {{day}} AS day FROM known WHERE sample_kind = $kind),
r AS (SELECT DISTINCT sample_id, {KEYS}, {{day}} AS day FROM known WHERE class = 'result')
SELECT DISTINCT sample_id FROM ({{pairs}})
"""
_COUNT = "SELECT count(*), count(DISTINCT sample_id), bool_or(batch = '') FROM known WHERE sample_kind = $kind"


def check_blanks(connection: duckdb.DuckDBPyConnection, edition: Edition) -> list[Checked]:
    """One check a kind of blank. Reads ``known`` and ``delivered``."""
    return [_check(connection, edition, kind) for kind in KINDS]


def ways(kind: str) -> tuple[str, ...]:
    """How results belong to a blank of this kind."""
    return WAYS_OF_BATCH if kind == "method_blank" else WAYS_OF_DAY


def _check(connection: duckdb.DuckDBPyConnection, edition: Edition, kind: str) -> Checked:
    done, words, day = Checked(kind), kind.replace("_", " "), local_day(MOMENTS[kind])
    rows, samples, batchless = connection.execute(_COUNT, {"kind": kind}).fetchall()[0]
    if not rows:
        done.not_checkable.append(f"the deliverables hold no {words}")
        return done
    belonging = _SAMPLES.format(day=day, pairs=paired("r.sample_id", ways(kind)))
    done.samples = {row[0] for row in connection.execute(belonging, {"kind": kind}).fetchall()}
    done.looked_at = f"{counted(rows, 'value')} of {counted(samples, words)}"
    hits = connection.execute(_HITS, {"kind": kind}).fetchall()
    bounds = {row[0]: within_times(edition, row[2]) for row in hits}
    near = _NEAR.format(day=day, pairs=paired(_COLUMNS, ways(kind), "q.analyte = r.analyte AND q.unit = r.unit AND r.detected"))
    touched: dict[int, int] = {}
    by_id = {row[0]: row for row in hits}
    for row in connection.execute(near, {"blanks": list(by_id)}).fetchall() if hits else []:
        hit = by_id[row[0]]
        finding = _finding(edition, kind, hit, bounds[row[0]], row) if hit[4] is not None else None
        if finding is not None:
            touched[row[0]] = touched.get(row[0], 0) + 1
            done.findings.append(finding)
    done.findings += [_told(kind, row, bounds[row[0]], touched.get(row[0], 0)) for row in hits]
    done.findings += negative_blanks(connection, edition, kind, done, _TABLES.format(day=day), ways(kind))
    tell_reach(connection, kind, done, day, ways(kind))
    if kind == "method_blank" and batchless:
        done.looked_at += ", some without a batch: taken for all results of their deliverable"
    return done


def within_times(edition: Edition, analyte: str) -> Rule:
    """The rule of the edition for detections near a blank: that of the analyte, else that of all."""
    rules = [rule for rule in edition.rules("blanks") if rule["rule"] == "within_times"]
    return next((rule for rule in rules if analyte in rule.names("analytes")), None) or next(
        rule for rule in rules if not rule["analytes"]
    )


def _finding(edition: Edition, kind: str, hit: Sequence[Any], within: Rule, row: Sequence[Any]) -> Finding | None:
    """A detection that the blank touches: below its limit, or within so many times the blank."""
    _, row_id, sample, analyte, unit, value, below, limit, dilution = row
    if value is None:
        return None
    words = kind.replace("_", " ")
    at_limit = next((rule for rule in edition.rules("blanks") if rule["rule"] == "at_or_below_limit"), None)
    rule = at_limit if below and at_limit is not None else within
    times = within.needed("times")
    scaled = edition.may_have("blank_at_dilution") if kind == "method_blank" else None
    above, under = (dilution or Decimal(1), hit[7] or Decimal(1)) if scaled else (Decimal(1), Decimal(1))
    if rule is within and value * under > hit[4] * times * above:
        return None
    ratio = f", {figures(value / hit[4])} times the blank" if hit[4] else ""
    basis = rule.basis
    if rule is at_limit:
        criterion = f"found in a {words} and at or below its own limit {plain(limit)} {unit}"
    else:
        criterion = f"more than {plain(times)} times what the {words} holds"
        if scaled and value > hit[4] * times:
            criterion += f", counted at the sample's dilution of {plain(above)}"
            basis = basis.with_(scaled.basis)
    qualifier = marked(rule.action(detected=True))
    action = "counts as not detected at its limit; kept as delivered" if qualifier == "not_detected_at_limit" else BLANK
    return Finding(
        kind, sample, analyte, criterion, f"{plain(value)} {unit}; {plain(hit[4])} {unit} in {hit[1]}{ratio}", action, qualifier,
        f"in_{kind}", basis, (row_id,), blank=bool(qualifier),
    )  # fmt: skip


def _told(kind: str, hit: Sequence[Any], within: Rule, touched: int) -> Finding:
    words = kind.replace("_", " ")
    amount = (
        f"{plain(hit[4])} {hit[3]}" if hit[4] is not None else "detected without a number, so no result can be held against it"
    )
    batch = f" (batch {hit[6]})" if hit[6] else ""
    action = f"{marked_results(touched)}; nothing is subtracted"
    return Finding(kind, hit[1], hit[2], f"nothing detected in a {words}{batch}", amount, action, "", f"{kind}_hit", within.basis)
