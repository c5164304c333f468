"""What should be there beside the results: a blank and a control in every batch, a trip blank a day, all that was asked for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screening.quality.amounts import PRACTICE
from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.shown import counted
from screening.quality.sorts import sorts_of

if TYPE_CHECKING:
    import duckdb

_BATCHES = """
SELECT batch, list(DISTINCT sample_id ORDER BY sample_id) FILTER (class = 'result'), count(*) FILTER (sample_kind = 'method_blank'),
    count(*) FILTER (sample_kind IN ('lab_control', 'lab_control_duplicate'))
FROM known WHERE batch <> '' GROUP BY batch HAVING count(*) FILTER (class = 'result' AND unit IN ('mg/kg', 'ug/L')) > 0 ORDER BY batch
"""
_QUALITY = "SELECT count(*) FROM known WHERE sample_kind IN ('method_blank', 'lab_control', 'lab_control_duplicate')"
_DAYS = """
SELECT CAST(k.sampled_at AS DATE) AS day, analyte, method, list(DISTINCT k.sample_id ORDER BY k.sample_id)
FROM known AS k WHERE k.class = 'result' AND k.medium IN ('groundwater', 'surface_water', 'other_water') AND k.unit = 'ug/L'
GROUP BY ALL ORDER BY day, analyte
"""
_TRIPS = """
SELECT DISTINCT CAST(coalesce(t.sampled_at, w.sampled_at) AS DATE)
FROM known AS t LEFT JOIN known AS w
    ON w.class = 'result' AND t.sampled_at IS NULL AND (t.received_at IS NULL OR CAST(w.received_at AS DATE) = CAST(t.received_at AS DATE))
    AND w.deliverable = t.deliverable
WHERE t.sample_kind = 'trip_blank'
"""


def check_batches(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Batches of results without a method blank or a control sample. Reads ``known``."""
    done, rule = Checked("batches"), edition.rule("control_in_batch")
    rows = connection.execute(_BATCHES).fetchall()
    quality = connection.execute(_QUALITY).fetchone()
    if not rows:
        done.not_checkable.append("the deliverables hold no batch")
    if not quality or not quality[0]:
        done.not_checkable.append(
            "the deliverables hold no method blank and no control sample: the laboratory keeps them, ask for them"
        )
        return done
    for batch, samples, blanks, controls in rows:
        done.samples |= set(samples)
        lacking = [name for name, count in (("method blank", blanks), ("control sample", controls)) if not count]
        if lacking:
            done.findings.append(
                Finding(
                    done.check,
                    ", ".join(samples),
                    "",
                    "a method blank and a control sample in every batch",
                    f"batch {batch} has no {' and no '.join(lacking)}",
                    "ask the laboratory for it",
                    "",
                    "batch_incomplete",
                    rule.basis,
                    samples=tuple(samples),
                )
            )
    done.looked_at = f"{len(rows)} batch{'' if len(rows) == 1 else 'es'}" if rows else ""
    return done


def check_trip_blanks_there(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Days with volatile water samples and no trip blank. Reads ``known``."""
    done, rule = Checked("trip_blank_each_day"), edition.rule("trip_blank_each_day")
    by_day: dict[object, set[str]] = {}
    for day, analyte, method, samples in connection.execute(_DAYS).fetchall():
        if any("VOC" in way for way in sorts_of(analyte, method)):
            by_day.setdefault(day, set()).update(samples)
    if not by_day:
        done.not_checkable.append("the deliverables hold no volatile analysis of a water")
        return done
    days = {row[0] for row in connection.execute(_TRIPS).fetchall()}
    for day, found in by_day.items():
        done.samples |= found
        if day not in days and not (days and (day is None or None in days)):
            when = f" on {day}" if day is not None else ""
            done.findings.append(
                Finding(
                    done.check,
                    ", ".join(sorted(found)),
                    "",
                    "a trip blank for each day of volatile samples",
                    f"none{when}",
                    "what the journey added cannot be told",
                    "",
                    "no_trip_blank",
                    rule.basis,
                    samples=tuple(sorted(found)),
                )
            )
    done.looked_at = f"{counted(len(by_day), 'day')} of volatile samples of waters"
    return done


def check_custody(asked: bool, gaps: Sequence[str]) -> Checked:
    """Custody records against results: what the match of `screening.store.match` found missing."""
    done = Checked("custody")
    if not asked:
        done.not_checkable.append("no custody record is added: screening custody add FILE")
        return done
    done.looked_at = "custody records against results"
    done.findings = [
        Finding(
            done.check,
            "",
            "",
            "everything asked for is delivered",
            gap,
            "a gap: rules out 'not triggered'",
            "",
            "custody_gap",
            PRACTICE,
        )
        for gap in gaps
    ]
    return done
