"""Holding times: how long each result's sample waited for extraction and analysis, against the edition's limits."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from screening.quality.editions import Edition, Rule
from screening.quality.findings import LATE, Basis, Checked, Finding, marked
from screening.quality.shown import counted
from screening.quality.sorts import media_class, sorts_of
from screening.quality.stages import POINTS, At, Held, held, parse_stages, total

if TYPE_CHECKING:
    import duckdb

CHECK = "holding_time"
KINDS = ("field", "field_duplicate", "trip_blank", "field_blank", "equipment_blank")
OWN_FLAG = Basis("the laboratory's own flag", "read")

_SUBSTANCES = "SELECT DISTINCT analyte, method, medium, fraction FROM known WHERE list_contains($kinds, sample_kind) AND unit IN ('mg/kg', 'ug/L')"
_KEPT = """
    h.no_limit
    OR coalesce(date_diff('day', k.sampled_at, k.analysed_at) BETWEEN 1 AND h.days - 2, false)
    OR coalesce(date_diff('day', k.sampled_at, k.prepared_at) BETWEEN 1 AND h.days_first - 2
        AND date_diff('day', k.prepared_at, k.analysed_at) BETWEEN 1 AND h.days_then - 2, false)
"""
"""Moments so far within every limit, and in their order, that neither clock nor offset could change it."""
_MOMENTS = f"""
SELECT DISTINCT h.rule_no, k.sampled_at, k.sampled_at_known, k.prepared_at, k.prepared_at_known, k.analysed_at, k.analysed_at_known
FROM known AS k JOIN holding_rule AS h USING (analyte, method, medium, fraction)
WHERE list_contains($kinds, k.sample_kind) AND k.state <> 'not_analysed' AND NOT ({_KEPT})
"""
_SAME = " AND ".join(
    f"v.{name} IS NOT DISTINCT FROM k.{name}"
    for moment in ("sampled_at", "prepared_at", "analysed_at")
    for name in (moment, f"{moment}_known")
)
_FOUND = f"""
SELECT v.verdict_no, h.rule_no, list(k.row_id ORDER BY k.row_id), k.sample_id, k.analyte, k.detected, h.alone, k.sample_kind
FROM known AS k
JOIN holding_rule AS h USING (analyte, method, medium, fraction)
JOIN holding_verdict AS v
    ON v.rule_no = h.rule_no AND {_SAME}
WHERE list_contains($kinds, k.sample_kind) AND k.state <> 'not_analysed' AND v.tell
GROUP BY ALL ORDER BY k.sample_id, k.analyte, k.detected
"""
_FLAGGED = """
SELECT row_id, sample_id, analyte, detected, lab_qualifiers FROM known
WHERE list_contains($kinds, sample_kind) AND ' ' || effects || ' ' LIKE '% late %' ORDER BY sample_id, analyte, row_id
"""
_VERDICT = {
    "verdict_no": "int32", "rule_no": "int32", "sampled_at": "datetime64[us]", "sampled_at_known": "str", "prepared_at": "datetime64[us]",
    "prepared_at_known": "str", "analysed_at": "datetime64[us]", "analysed_at_known": "str", "state": "str", "tell": "bool",
}  # fmt: skip
_SAMPLES = f"""
SELECT k.sample_id, count(*) FILTER (h.rule_no IS NOT NULL AND coalesce(v.state, 'fine') <> 'unknown') AS told, count(*) AS results
FROM known AS k
LEFT JOIN holding_rule AS h USING (analyte, method, medium, fraction)
LEFT JOIN holding_verdict AS v
    ON v.rule_no = h.rule_no AND {_SAME}
WHERE list_contains($kinds, k.sample_kind) AND k.state <> 'not_analysed' AND k.unit IN ('mg/kg', 'ug/L')
GROUP BY k.sample_id HAVING told > 0
"""


def picked(edition: Edition, analyte: str, method: str, medium: str, fraction: str) -> tuple[int, bool] | None:
    """The criterion for a substance (its place in the file) and whether it is the only one possible.

    An analyte named goes before a group, a narrow group before a wide one; where the method is not stated and the
    analyte is measured in several analyses, the shortest holding time is taken.
    """
    rules = edition.rules("holding_times")
    fitting = [
        (number, rule)
        for number, rule in enumerate(rules)
        if rule["media"] in ("any", media_class(medium)) and (rule["fraction"] == "leachate") == (fraction == "leachate")
    ]
    named = [number for number, rule in fitting if analyte in rule.names("analytes")]
    if named:
        return named[0], True
    found = []
    for way in sorts_of(analyte, method):
        of_way = [(place, number) for number, rule in fitting for place, group in enumerate(way) if group == rule["group"]]
        if of_way:
            found.append(min(of_way)[1])
    if not found:
        return None
    return min(found, key=lambda number: _length(rules[number])), len(set(found)) == 1


def _length(rule: Rule) -> dt.timedelta:
    return total(parse_stages(rule["stages"])) or dt.timedelta.max


def check_holding_times(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Every result of a field sample or of a blank that travelled with them. Reads ``known``."""
    done = Checked(CHECK)
    kinds = {"kinds": list(KINDS)}
    substances = connection.execute(_SUBSTANCES, kinds).fetchall()
    picks = [(row, picked(edition, *row)) for row in substances]
    done.not_checkable += _without_rule(picks) + _without_material(picks)
    _fill_rules(connection, edition, [(*row, *pick) for row, pick in picks if pick])
    verdicts = _judge(connection, edition, kinds)
    for verdict_no, rule_no, rows, sample, analyte, detected, alone, kind in connection.execute(_FOUND, kinds).fetchall():
        finding = _finding(
            edition, edition.rules("holding_times")[rule_no], verdicts[verdict_no], sample, analyte, detected, alone
        )
        if kind not in ("field", "field_duplicate") and finding.qualifier:
            finding = replace(finding, qualifier="", late=False, action="told: a late blank proves less")
        elif finding.qualifier:
            finding = replace(finding, rows=tuple(rows))
        done.findings.append(finding)
    dated = {row for finding in done.findings if finding.qualifier for row in finding.rows}
    flagged = connection.execute(_FLAGGED, kinds).fetchall()
    done.findings += [_flag(edition, *row) for row in flagged if row[0] not in dated]
    told = connection.execute(_SAMPLES, kinds).fetchall()
    done.samples = {row[0] for row in told} | {row[1] for row in flagged}
    done.partly = {row[0] for row in told if row[1] < row[2]} | ({row[1] for row in flagged} - {row[0] for row in told})
    done.not_checkable += _missing(verdicts)
    if not substances:
        done.not_checkable.append("the deliverables hold no result of a field sample")
    done.looked_at = f"holding times of {counted(len(done.samples), 'sample')}" if done.samples or done.findings else ""
    return done


def _without_rule(picks: Sequence[tuple[tuple[str, ...], object]]) -> list[str]:
    names = sorted({row[0] for row, pick in picks if pick is None and media_class(row[2])})
    if not names:
        return []
    more = f" and {len(names) - 6} more" if len(names) > 6 else ""
    return [f"the edition has no holding time for {', '.join(names[:6])}{more}"]


def _without_material(picks: Sequence[tuple[tuple[str, ...], object]]) -> list[str]:
    return (
        ["blanks come without a material, which decides their holding time"]
        if any(not media_class(row[2]) for row, _ in picks)
        else []
    )


def _missing(verdicts: Sequence[Held]) -> list[str]:
    lacking = {what for one in verdicts for what in one.lacks}
    points = [point for point in POINTS if point in lacking]
    said = [f"the deliverables hold no date of {' or '.join(points)} for some or all results"] if points else []
    if "time of day" in lacking:
        said.append("a limit is in hours and the deliverables hold no time of day for it")
    if "time zone" in lacking:
        said.append("a change of the clock may decide whether a limit is kept, and the deliverables hold no time zone")
    return said


def _fill_rules(connection: duckdb.DuckDBPyConnection, edition: Edition, rows: Sequence[tuple[object, ...]]) -> None:
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE holding_rule (analyte VARCHAR, method VARCHAR, medium VARCHAR, fraction VARCHAR, "
        "rule_no INTEGER, alone BOOLEAN, no_limit BOOLEAN, days INTEGER, days_first INTEGER, days_then INTEGER)"
    )
    if rows:
        made = [(*row, *_in_days(edition.rules("holding_times")[int(str(row[4]))])) for row in rows]
        connection.executemany(f"INSERT INTO holding_rule VALUES ({', '.join('?' * 10)})", made)


def _in_days(rule: Rule) -> tuple[bool, int | None, int | None, int | None]:
    """Whether there is no limit, and the limits in days: of one stage to analysis, or of two by way of preparation."""
    stages = parse_stages(rule["stages"])
    days = [stage.limit.days for stage in stages]
    points = [(stage.begin, stage.end) for stage in stages]
    if points == [("collection", "analysis")]:
        return False, days[0], None, None
    if points == [("collection", "preparation"), ("preparation", "analysis")]:
        return False, None, days[0], days[1]
    return not stages, None, None, None


def _judge(connection: duckdb.DuckDBPyConnection, edition: Edition, kinds: Mapping[str, object]) -> list[Held]:
    grossly = edition.rule("grossly_late").needed()
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE holding_verdict (verdict_no INTEGER, rule_no INTEGER, sampled_at TIMESTAMP, "
        "sampled_at_known VARCHAR, prepared_at TIMESTAMP, prepared_at_known VARCHAR, analysed_at TIMESTAMP, "
        "analysed_at_known VARCHAR, state VARCHAR, tell BOOLEAN)"
    )
    verdicts: list[Held] = []
    rows = []
    for rule_no, *stored in connection.execute(_MOMENTS, kinds).fetchall():
        stages = parse_stages(edition.rules("holding_times")[rule_no]["stages"])
        points = {
            point: At(stored[at], stored[at + 1]) if stored[at] is not None else None
            for point, at in (("collection", 0), ("preparation", 2), ("analysis", 4))
        }
        one = held(stages, points, grossly)
        tell = one.state in ("late", "grossly_late") or "order" in one.lacks
        rows.append((len(verdicts), rule_no, *stored, one.state, tell))
        verdicts.append(one)
    if rows:
        frame = pd.DataFrame(rows, columns=list(_VERDICT)).astype(_VERDICT)
        connection.register("verdict_frame", frame)
        connection.execute("INSERT INTO holding_verdict SELECT * FROM verdict_frame")
        connection.unregister("verdict_frame")
    return verdicts


def _finding(edition: Edition, rule: Rule, verdict: Held, sample: str, analyte: str, detected: bool, alone: bool) -> Finding:
    criterion = verdict.criterion + (f" ({rule['note']})" if rule["note"] else "")
    if not alone:
        criterion += " (no method is stated: the shortest of the possible limits)"
    if verdict.state == "unknown":
        return Finding(
            CHECK, sample, analyte, criterion, verdict.observed, "ask the laboratory: the time cannot be told", "", "dates_out_of_order", rule.basis,
        )  # fmt: skip
    consequence = edition.rule(verdict.state)
    return _late(
        consequence, criterion, verdict.observed, sample, analyte, detected, verdict.state, rule.basis.with_(consequence.basis)
    )


def _late(
    consequence: Rule, criterion: str, observed: str, sample: str, analyte: str, detected: bool, reason: str, basis: Basis
) -> Finding:
    qualifier = marked(consequence.action(detected=detected))
    if detected:
        action = "counts and is marked as late: likely too low"
    else:
        action = "rejected: takes no part in a pass" if qualifier == "rejected" else LATE
    return Finding(CHECK, sample, analyte, criterion, observed, action, qualifier, reason, basis, late=not detected)


def _flag(edition: Edition, row_id: int, sample: str, analyte: str, detected: bool, letters: str) -> Finding:
    consequence = edition.rule("late")
    made = _late(
        consequence, "analysed within the holding time", f"the laboratory's flag {letters} says that it was late", sample, analyte,
        detected, "late", OWN_FLAG.with_(consequence.basis),
    )  # fmt: skip
    return replace(made, rows=(row_id,))
