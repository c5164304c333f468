"""Field duplicates with their parents and laboratory duplicates with their samples.

A relative difference is computed only where both results are well above their limit; below, the difference is held
against a number of limits. The laboratory's own limit of the relative difference goes before the edition's. A non-detect
with a limit above the other result agrees with anything, so nothing is held.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.normal.values import read_number
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Basis, Checked, Finding, marked
from screening.quality.pairs import Agreement, Side, agreement
from screening.quality.shown import beside, counted, plain
from screening.quality.sorts import media_class

if TYPE_CHECKING:
    import duckdb

OWN_LIMIT = Basis("the laboratory's own limit", "read")
"""What stands behind a criterion that the deliverable states."""

FIELD_PAIRS = """
CREATE OR REPLACE TEMP TABLE field_pair AS
WITH pairing AS (  -- by the parent named, else by place, depth and day where one field sample alone was taken there
    SELECT DISTINCT d.sample_id AS duplicate, p.sample_id AS parent
    FROM (SELECT DISTINCT sample_id, parent_sample, location, medium, depth_top, sampled_at FROM known
          WHERE sample_kind = 'field_duplicate') AS d
    JOIN (SELECT DISTINCT sample_id, location, medium, depth_top, sampled_at FROM known WHERE sample_kind = 'field') AS p
        ON CASE WHEN d.parent_sample <> '' THEN p.sample_id = d.parent_sample
                ELSE p.medium = d.medium AND p.depth_top IS NOT DISTINCT FROM d.depth_top
                    AND (p.location = d.location OR p.sample_id = d.sample_id)
                    AND (p.sampled_at IS NULL OR d.sampled_at IS NULL
                         OR CAST(p.sampled_at AS DATE) = CAST(d.sampled_at AS DATE)) END
),
alone AS (SELECT duplicate FROM pairing GROUP BY duplicate HAVING count(*) = 1)
SELECT duplicate, parent FROM pairing JOIN alone USING (duplicate)
"""
"""Field duplicates (sample numbers) and their parents. Reads ``known``."""

_SIDED = """
sided AS (
    SELECT k.row_id, k.sample_id, k.sample_kind, k.parent_sample, v.rpd_limit, k.analyte, k.fraction, k.medium, k.unit, k.method, k.detected,
        CASE WHEN y.row_id IS NULL THEN coalesce(k.value, k.nondetect_limit) ELSE coalesce(y.value, y.nondetect_limit) END AS amount,
        CASE WHEN y.row_id IS NULL
             THEN coalesce(k.quantitation_limit, k.reporting_limit, CASE WHEN NOT k.detected THEN k.nondetect_limit END)
             ELSE coalesce(y.quantitation_limit, y.reporting_limit, CASE WHEN NOT k.detected THEN y.nondetect_limit END)
        END AS own_limit,
        row_number() OVER (  -- of several runs of a laboratory duplicate the one in range, then the least diluted
            PARTITION BY k.sample_id, k.sample_kind, k.analyte, k.fraction, k.medium
            ORDER BY ' ' || k.effects || ' ' LIKE '% over_range %', coalesce(k.dilution, 1), k.row_id
        ) AS place
    FROM known AS k JOIN delivered AS v USING (row_id) LEFT JOIN dry AS y USING (row_id)
    WHERE k.state <> 'not_analysed' AND k.sample_id IN (SELECT sample_id FROM concerned)
)
"""
_FIELD = f"""
WITH concerned AS (SELECT duplicate AS sample_id FROM field_pair UNION SELECT parent FROM field_pair), {_SIDED}
SELECT p.sample_id, d.sample_id, p.analyte, p.medium, p.unit, p.row_id, p.detected, p.amount, p.own_limit, d.row_id, d.detected,
    d.amount, d.own_limit, p.rpd_limit, d.rpd_limit
FROM field_pair AS f
JOIN sided AS p ON p.sample_id = f.parent AND p.sample_kind = 'field'
JOIN sided AS d ON d.sample_id = f.duplicate AND d.sample_kind = 'field_duplicate' AND d.analyte = p.analyte
    AND d.fraction = p.fraction AND d.unit = p.unit AND d.medium = p.medium
JOIN ranked AS pr ON pr.row_id = p.row_id AND pr.rank = 1
JOIN ranked AS dr ON dr.row_id = d.row_id AND dr.rank = 1
ORDER BY p.sample_id, d.sample_id, p.analyte, p.row_id
"""
_LAB = f"""
WITH concerned AS (
    SELECT sample_id FROM known WHERE sample_kind = 'lab_duplicate'
    UNION SELECT parent_sample FROM known WHERE sample_kind = 'lab_duplicate'
), {_SIDED}
SELECT p.sample_id, d.sample_id, p.analyte, p.medium, p.unit, p.row_id, p.detected, p.amount, p.own_limit, d.row_id, d.detected,
    d.amount, d.own_limit, p.rpd_limit, d.rpd_limit
FROM sided AS d
JOIN sided AS p ON p.sample_id = CASE WHEN d.parent_sample <> '' THEN d.parent_sample ELSE d.sample_id END
    AND p.analyte = d.analyte AND p.unit = d.unit AND p.fraction IN (d.fraction, '')
JOIN ranked AS r ON r.row_id = p.row_id AND r.rank = 1
WHERE d.sample_kind = 'lab_duplicate' AND d.place = 1
ORDER BY p.sample_id, p.analyte, p.row_id
"""
_COUNTS = "SELECT count(DISTINCT sample_id), count(DISTINCT (sample_id, analyte, fraction)) FROM known WHERE sample_kind = $kind"


def check_field_duplicates(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Field duplicates against their parents. Reads ``known``, ``dry``, ``ranked`` and ``field_pair``."""
    done = _check(connection, edition, "field_duplicate", _FIELD, "field duplicate")
    lone = connection.execute(
        "SELECT DISTINCT sample_id FROM known WHERE sample_kind = 'field_duplicate' "
        "AND sample_id NOT IN (SELECT duplicate FROM field_pair) ORDER BY 1"
    ).fetchall()
    if lone:
        names = ", ".join(row[0] for row in lone[:4])
        done.not_checkable.append(f"whose duplicate {names} is cannot be told: no parent is named, or none is delivered")
    return done


def check_lab_duplicates(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Laboratory duplicates against the chosen result of their sample. Reads ``known``, ``dry`` and ``ranked``."""
    return _check(connection, edition, "lab_duplicate", _LAB, "laboratory duplicate")


def criterion_of(edition: Edition, kind: str, medium: str) -> Rule | None:
    """The criterion for pairs of a kind in a medium; None where the edition has none."""
    fitting = [
        rule for rule in edition.rules("duplicates") if rule["kind"] == kind and rule["media"] in ("any", media_class(medium))
    ]
    return fitting[0] if fitting else None


def own_limit(*texts: str) -> Decimal | None:
    """The laboratory's own limit of the relative difference in percent, the lower of two; None where none can be read."""
    stated = [found for text in texts if text.strip() and (found := read_number(text, ".").number) is not None and found > 0]
    return min(stated, default=None)


def _check(connection: duckdb.DuckDBPyConnection, edition: Edition, kind: str, pairs: str, words: str) -> Checked:
    done = Checked(kind)
    counts = connection.execute(_COUNTS, {"kind": kind}).fetchone()
    if counts is None or not counts[0]:
        done.not_checkable.append(f"the deliverables hold no {words}")
        return done
    high, rows = edition.rule("high_times_limit"), connection.execute(pairs).fetchall()
    limitless, blind, owned, ruleless = 0, 0, 0, set()
    for row in rows:
        rule = criterion_of(edition, kind, row[3])
        if rule is None:
            ruleless.add(row[3] or "no medium")
            continue
        if row[7] is None or row[11] is None:
            limitless += 1
            continue
        one, two = Side(row[7], row[6], row[8]), Side(row[11], row[10], row[12])
        allowed = own_limit(row[13], row[14])
        found = agreement(
            one, two, allowed if allowed is not None else rule.needed("rpd_above"), rule.needed("low_times"), high.needed()
        )
        if found.met is None:
            limitless += 1
            continue
        pair = {row[0], row[1]} if kind == "field_duplicate" else {row[0]}
        done.samples |= pair
        if found.met and found.rule == "difference" and _shows_nothing(one, two):
            blind += 1
            done.partly |= pair
        owned += allowed is not None and found.rule == "relative"
        if not found.met:
            done.findings += _apart(kind, row, found, rule, high, owned=allowed is not None)
    done.looked_at = f"{counted(len(rows) - limitless, 'pair')} of {counted(counts[0], words)}"
    if owned:
        done.looked_at += f" ({owned} against the laboratory's own limit)"
    if limitless:
        done.not_checkable.append(
            f"{counted(limitless, f'{words} pair')} {'comes' if limitless == 1 else 'come'} without a limit, so neither rule can be held"
        )
    if blind:
        done.not_checkable.append(
            f"in {counted(blind, f'{words} pair')} a limit lies above the other result, which shows nothing"
        )
    if ruleless:
        done.not_checkable.append(f"the edition has no criterion for {words}s in {', '.join(sorted(ruleless))}")
    if len(rows) < counts[1]:
        done.not_checkable.append(f"{counts[1] - len(rows)} of {counts[1]} {words} values have no partner among the results")
    return done


def _shows_nothing(one: Side, two: Side) -> bool:
    """Whether one is a non-detect whose limit is not below what the other shows."""
    return any(not side.detected and other.detected and side.amount >= other.amount for side, other in ((one, two), (two, one)))


def _apart(kind: str, row: Sequence[Any], found: Agreement, rule: Rule, high: Rule, *, owned: bool) -> list[Finding]:
    parent, duplicate, analyte, _, unit = row[:5]
    assert found.figure is not None and found.allowed is not None
    times = plain(high.needed())
    if found.rule == "relative":
        whose = "the laboratory's limit" if owned else "the edition's limit"
        criterion = f"relative difference at most {plain(found.allowed)} % ({whose}; both above {times} times their limit)"
        figure = f"{beside(found.figure, found.allowed)} %"
    else:
        criterion = f"difference at most {rule['low_times']} limits, {plain(found.allowed)} {unit} (not both above {times} times their limit)"
        figure = f"difference {plain(found.figure)} {unit}"
    shown = " and ".join(
        f"{'' if detected else '<'}{plain(amount)}" for detected, amount in ((row[6], row[7]), (row[10], row[11]))
    )
    observed = f"{shown} {unit} ({parent}, {duplicate if kind == 'field_duplicate' else 'laboratory duplicate'}): {figure}"
    basis = rule.basis.with_(high.basis)
    if owned and found.rule == "relative":
        basis = OWN_LIMIT.with_(basis)
    sides = [(parent, row[5], row[6])] + ([(duplicate, row[9], row[10])] if kind == "field_duplicate" else [])
    made = []
    for sample, row_id, detected in sides:
        action = rule.action(detected=detected)
        made.append(
            Finding(
                kind,
                sample,
                analyte,
                criterion,
                observed,
                ACTIONS[action],
                marked(action),
                f"{kind}s_differ",
                basis,
                (row_id,) if marked(action) else (),
            )
        )
    return made
