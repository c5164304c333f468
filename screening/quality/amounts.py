"""The delivered amounts themselves: over range, between or without limits, zero or below."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.quality.editions import Edition
from screening.quality.findings import ACTIONS, Basis, Checked, Finding, marked
from screening.quality.shown import counted, plain

if TYPE_CHECKING:
    import duckdb

PRACTICE = Basis("common practice, no source", "memory")

_OVER = """
SELECT sample_id, analyte, row_id, value, unit, dilution FROM ranked
WHERE rank = 1 AND is_over_range AND detected ORDER BY sample_id, analyte, row_id
"""
_FLAGS = """
WITH flagged AS (SELECT DISTINCT delivery FROM known WHERE class = 'result' AND lab_qualifiers <> '')
SELECT k.sample_id, bool_or(f.delivery IS NOT NULL), bool_or(f.delivery IS NULL)
FROM known AS k LEFT JOIN flagged AS f USING (delivery) WHERE k.class = 'result' AND k.unit IN ('mg/kg', 'ug/L')
GROUP BY k.sample_id
"""
_DILUTED = "SELECT DISTINCT sample_id FROM ranked WHERE is_over_range AND rank > 1 ORDER BY 1"
_BETWEEN = """
SELECT sample_id, analyte, row_id, value, unit, quantitation, detection_limit
FROM (SELECT *, coalesce(quantitation_limit, reporting_limit) AS quantitation FROM ranked WHERE rank = 1)
WHERE detected AND value < quantitation AND state = 'number' ORDER BY sample_id, analyte, row_id
"""
_CROSSED = """
SELECT sample_id, analyte, detection_limit, coalesce(quantitation_limit, reporting_limit), unit FROM ranked
WHERE rank = 1 AND detection_limit > coalesce(quantitation_limit, reporting_limit) ORDER BY sample_id, analyte, row_id
"""
_LIMITLESS = """
SELECT sample_id, analyte FROM ranked
WHERE rank = 1 AND unit IN ('mg/kg', 'ug/L') AND NOT detected AND nondetect_limit IS NULL ORDER BY sample_id, analyte, row_id
"""
_LIMITS = """
SELECT sample_id, bool_or(quantitation_limit IS NOT NULL OR reporting_limit IS NOT NULL), bool_and(quantitation_limit IS NULL AND reporting_limit IS NULL AND detection_limit IS NULL),
    bool_or(detection_limit IS NOT NULL), bool_or(quantitation_limit IS NULL AND reporting_limit IS NULL)
FROM ranked WHERE rank = 1 AND unit IN ('mg/kg', 'ug/L') GROUP BY sample_id
"""
_NOT_ABOVE_ZERO = """
SELECT k.sample_id, k.analyte, v.result FROM known AS k JOIN delivered AS v USING (row_id)
WHERE k.class = 'result' AND k.unit IN ('mg/kg', 'ug/L') AND ' ' || k.effects || ' ' NOT LIKE '% not_detected %' AND regexp_full_match(trim(v.result), '-?0*[.,]?0*|-.*[0-9].*') AND regexp_matches(v.result, '[0-9]')
ORDER BY k.sample_id, k.analyte, k.row_id
"""
_RESULTS = "SELECT DISTINCT sample_id FROM known WHERE class = 'result' AND unit IN ('mg/kg', 'ug/L')"


def check_over_range(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Chosen results over the calibrated range for which no diluted run stands. Reads ``known`` and ``ranked``."""
    done, rule = Checked("over_range"), edition.rule("over_range")
    for sample, analyte, row_id, value, unit, dilution in connection.execute(_OVER).fetchall():
        amount = f"{plain(value)} {unit}" if value is not None else "no number"
        done.findings.append(
            Finding(
                "over_range",
                sample,
                analyte,
                "a run within the calibrated range",
                f"{amount} flagged over range{f' at dilution {plain(dilution)}' if dilution else ''}, and no diluted run",
                "known only to lie at or above what is reported",
                marked(rule.action(detected=True)),
                "over_range",
                rule.basis,
                (row_id,),
            )
        )
    rows = connection.execute(_FLAGS).fetchall()
    done.samples = {sample for sample, flags, _ in rows if flags}
    if not done.samples:
        done.not_checkable.append("the deliverables hold no laboratory flag (which alone tells of a run over range)")
        return done
    done.partly = {sample for sample, flags, bare in rows if flags and bare}
    silent = sum(not flags for _, flags, _ in rows)
    if silent:
        done.not_checkable.append(f"{counted(silent, 'sample')} came in deliverables without any laboratory flag")
    diluted = len(connection.execute(_DILUTED).fetchall())
    done.looked_at = f"results of {counted(len(done.samples), 'sample')}"
    if diluted:
        done.looked_at += f" ({counted(diluted, 'sample')} with runs over range that a diluted run replaces)"
    return done


def check_limits(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Results below the quantitation limit, limits in the wrong order, non-detects without any. Reads ``ranked``."""
    done, rule = Checked("limits"), edition.rule("between_limits")
    for sample, analyte, row_id, value, unit, quantitation, detection in connection.execute(_BETWEEN).fetchall():
        below = f", detection limit {plain(detection)}" if detection is not None else ""
        done.findings.append(
            Finding(
                "limits",
                sample,
                analyte,
                f"not below the quantitation limit {plain(quantitation)} {unit}",
                f"{plain(value)} {unit}{below}",
                ACTIONS[rule.action(detected=True)],
                marked(rule.action(detected=True)),
                "between_limits",
                rule.basis,
                (row_id,),
            )
        )
    for sample, analyte, detection, quantitation, unit in connection.execute(_CROSSED).fetchall():
        done.findings.append(
            Finding(
                "limits",
                sample,
                analyte,
                "the detection limit is not above the quantitation limit",
                f"{plain(detection)} above {plain(quantitation)} {unit}",
                "ask the laboratory",
                "",
                "limits_out_of_order",
                PRACTICE,
            )
        )
    for sample, analyte in connection.execute(_LIMITLESS).fetchall():
        done.findings.append(
            Finding(
                "limits",
                sample,
                analyte,
                "every non-detect has a limit",
                "not detected, and no limit is delivered",
                "open wherever a level is listed",
                "",
                "no_limit",
                PRACTICE,
            )
        )
    rows = connection.execute(_LIMITS).fetchall()
    done.samples = {row[0] for row in rows if not row[2]}
    done.partly = {row[0] for row in rows if row[4]} & done.samples
    if not any(row[1] for row in rows):
        done.not_checkable.append("the deliverables hold no quantitation or reporting limit")
    if not any(row[3] for row in rows):
        done.not_checkable.append("the deliverables hold no detection limit")
    done.looked_at = f"limits of {counted(len(done.samples), 'sample')}"
    return done


def check_signs(connection: duckdb.DuckDBPyConnection) -> Checked:
    """Results delivered as zero or below without a flag that says not detected. Reads ``known`` and ``delivered``."""
    done = Checked("zero_or_negative")
    for sample, analyte, text in connection.execute(_NOT_ABOVE_ZERO).fetchall():
        done.findings.append(
            Finding(
                "zero_or_negative",
                sample,
                analyte,
                "a result is above 0",
                f"delivered as '{text}'",
                "taken as not detected at its limit",
                "",
                "zero_or_negative",
                PRACTICE,
            )
        )
    done.samples = _results(connection)
    done.looked_at = f"signs of the results of {counted(len(done.samples), 'sample')}"
    return _empty(done)


def _results(connection: duckdb.DuckDBPyConnection) -> set[str]:
    return {row[0] for row in connection.execute(_RESULTS).fetchall()}


def _empty(done: Checked) -> Checked:
    if not done.samples:
        done.looked_at = ""
        done.not_checkable.append("the deliverables hold no concentration of a field sample")
    return done
