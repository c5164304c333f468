"""Whether limits of solids are those of the sample: limits per dry mass move with percent solids, others do not.

Held where a deliverable has the limits of one analyte by one method, at one dilution, for samples of different percent
solids. A limit that stays the same is not per dry mass, though the basis says so: a non-detect then proves less than it
seems. Limits that move just so although "as received" is stated speak for results that are per dry mass already. Where
amounts taken are delivered, `screening.quality.recomputed_limits` holds them as well.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.amounts import PRACTICE
from screening.quality.dry import REPORTED_SOLIDS, dry_amount
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.printed import printed
from screening.quality.recomputed_limits import recompute
from screening.quality.shown import counted, figures, plain

if TYPE_CHECKING:
    import duckdb

CHECK = "adjusted_limits"
APART = Decimal("1.1")
"""From this ratio of percent solids on limits are compared: what masses taken may move them by (own choice, no source)."""
NEAR = Decimal("1.03")
"""Limits times percent solids within this ratio count as moving with them (own choice, no source)."""

_ROWS = f"""
CREATE OR REPLACE TEMP TABLE solid_limit AS
SELECT k.row_id, k.sample_id, k.delivery, k.method, k.analyte, k.basis, coalesce(k.dilution, 1) AS dilution, k.detected, k.limit_text,
    k.nondetect_limit, coalesce(k.percent_solids, s.percent_solids) AS solids, coalesce(k.reporting_limit, k.quantitation_limit) AS bound,
    k.row_id IN (SELECT row_id FROM delivered WHERE amount_taken <> '') AS has_amount
FROM known AS k LEFT JOIN ({REPORTED_SOLIDS}) AS s USING (row_id)
WHERE k.class = 'result' AND k.medium IN ('soil', 'sediment') AND k.unit = 'mg/kg' AND k.fraction <> 'leachate'
"""
_GROUPS = """
CREATE OR REPLACE TEMP TABLE limit_group AS
SELECT delivery, method, analyte, basis, dilution, min(bound) AS low, max(bound) AS high, min(solids) AS wettest, max(solids) AS driest,
    count(DISTINCT sample_id) AS samples, any_value(limit_text) FILTER (NOT detected AND nondetect_limit = bound) AS printed,
    min(CAST(bound AS DECIMAL(26, 14)) * CAST(solids AS DECIMAL(8, 4))) AS least,
    max(CAST(bound AS DECIMAL(26, 14)) * CAST(solids AS DECIMAL(8, 4))) AS most
FROM solid_limit WHERE solids IS NOT NULL AND bound IS NOT NULL AND basis <> '' AND NOT has_amount
GROUP BY delivery, method, analyte, basis, dilution
HAVING count(DISTINCT sample_id) >= 2 AND max(solids) * 10 >= min(solids) * 11
"""
_SAME = "SELECT * FROM limit_group WHERE basis = 'dry' AND low = high ORDER BY delivery, method, analyte, dilution"
_MOVING = "SELECT * FROM limit_group WHERE basis = 'as_received' AND low < high ORDER BY delivery, method, analyte, dilution"
_TOLD = """
SELECT DISTINCT l.sample_id FROM solid_limit AS l JOIN limit_group AS g USING (delivery, method, analyte, basis, dilution)
WHERE NOT (g.basis = 'dry' AND g.low = g.high)
"""
_OF_GROUP = """
SELECT row_id, sample_id, detected, nondetect_limit, solids FROM solid_limit
WHERE delivery = $delivery AND method = $method AND analyte = $analyte AND basis = $basis AND dilution = $dilution AND solids IS NOT NULL
ORDER BY sample_id, row_id
"""
_GIVEN = "SELECT count(DISTINCT sample_id), count(DISTINCT sample_id) FILTER (solids IS NOT NULL AND bound IS NOT NULL AND basis <> '') FROM solid_limit"


def check_adjusted_limits(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Limits against percent solids and, where they are delivered, amounts taken. Reads ``known`` and ``delivered``."""
    done, rule = Checked(CHECK), edition.may_have("limit_unadjusted")
    if rule is None:
        done.not_checkable.append("the edition has no criterion for it")
        return done
    connection.execute(_ROWS)
    connection.execute(_GROUPS)
    done.samples |= {row[0] for row in connection.execute(_TOLD).fetchall()}
    groups = _records(connection, _SAME)
    held = [group for group in groups if not _rounding_explains(group)]
    for group in held:
        for row_id, sample, detected, limit, solids in connection.execute(_OF_GROUP, _keys(group)).fetchall():
            done.samples.add(sample)
            done.findings.append(_unadjusted(rule, group, row_id, sample, None if detected else limit, solids))
    for group in _records(connection, _MOVING):
        if group["most"] <= group["least"] * NEAR:
            done.findings += [
                _dry_already(group, sample)
                for sample in sorted({row[1] for row in connection.execute(_OF_GROUP, _keys(group)).fetchall()})
            ]
    recompute(connection, done, rule)
    done.looked_at = (
        f"limits of {counted(len(done.samples), 'sample')} against solids, amounts and dilutions" if done.samples else ""
    )
    solid, given = connection.execute(_GIVEN).fetchall()[0]
    if done.samples:
        return done
    if not solid:
        done.not_checkable.append("the deliverables hold no solid")
    elif not given:
        done.not_checkable.append("the deliverables hold no solid with limit, basis and percent solids")
    else:
        done.not_checkable.append(
            "no two solids of one deliverable differ enough in percent solids to tell whether limits move with them"
        )
    return done


def _records(connection: duckdb.DuckDBPyConnection, query: str) -> list[dict[str, Any]]:
    answer = connection.execute(query)
    names = [column[0] for column in answer.description or []]
    return [dict(zip(names, row, strict=True)) for row in answer.fetchall()]


def _keys(group: dict[str, Any]) -> dict[str, Any]:
    return {name: group[name] for name in ("delivery", "method", "analyte", "basis", "dilution")}


def _rounding_explains(group: dict[str, Any]) -> bool:
    """Whether one limit as received, printed per dry mass at both ends of the solids, may look the same."""
    shown = printed(Decimal(group["printed"]) if group["printed"] else Decimal(plain(group["low"])))
    return shown.times(group["driest"]).meets(shown.times(group["wettest"]))


def _unadjusted(rule: Rule, group: dict[str, Any], row_id: int, sample: str, limit: Decimal | None, solids: Decimal) -> Finding:
    """``limit`` is that of a non-detect; None for a detection, which stands whatever its limit."""
    highest = dry_amount(group["low"] if limit is None else limit, solids)
    assert highest is not None
    shown, action = figures(highest), rule.action(detected=limit is None)
    told = (
        "the result stands; its limit may be higher"
        if limit is None
        else f"{ACTIONS[action]}; open where a level lies below {shown} mg/kg"
    )
    return Finding(
        CHECK, sample, group["analyte"], "a limit per dry mass moves with the percent solids",
        f"{plain(group['low'])} mg/kg in {group['samples']} samples of {plain(group['wettest'])} to {plain(group['driest'])} % solids; at "
        f"{plain(solids)} % it may be {shown} mg/kg",
        told, "" if limit is None else marked(action), "limit_unadjusted", rule.basis, () if limit is None else (row_id,),
        limit=None if limit is None else highest,
    )  # fmt: skip


def _dry_already(group: dict[str, Any], sample: str) -> Finding:
    return Finding(
        CHECK, sample, group["analyte"], "limits as received do not move with the percent solids",
        f"{plain(group['low'])} to {plain(group['high'])} mg/kg move just as limits per dry mass do ({group['samples']} samples of "
        f"{plain(group['wettest'])} to {plain(group['driest'])} % solids)",
        "ask whether the results are per dry mass already: they are converted once more", "", "dry_already", PRACTICE,
    )  # fmt: skip
