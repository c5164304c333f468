"""What should be there beside the results: a blank and a control in every batch, a trip blank a day."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from screening.quality.association import KEYS, WAYS_OF_BATCH, local_day, paired
from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.shown import counted
from screening.quality.sorts import sorts_of

if TYPE_CHECKING:
    import duckdb

_BATCHES = f"""
WITH q AS (
    SELECT DISTINCT sample_kind = 'method_blank' AS is_blank, {KEYS} FROM known
    WHERE sample_kind IN ('method_blank', 'lab_control', 'lab_control_duplicate') AND trim(batch) <> ''
),
r AS (
    SELECT {KEYS}, min(trim(batch)) AS batch, min(method) AS method, list(DISTINCT sample_id) AS samples
    FROM known WHERE class = 'result' AND unit IN ('mg/kg', 'ug/L') AND trim(batch) <> '' GROUP BY ALL
),
pair AS ({paired("r.batch_key AS batch_key, r.delivery AS delivery, r.method_key AS method_key, r.lab_key AS lab_key, q.is_blank AS is_blank", WAYS_OF_BATCH)}),
held AS (
    SELECT r.*, coalesce(bool_or(p.is_blank), false) AS blank, coalesce(bool_or(NOT p.is_blank), false) AS control
    FROM r LEFT JOIN pair AS p USING (batch_key, delivery, method_key, lab_key) GROUP BY ALL
)
SELECT min(batch), list_sort(list_distinct(flatten(list(samples)))), blank, control, list_sort(list(DISTINCT method))
FROM held GROUP BY batch_key, delivery, blank, control ORDER BY batch_key, delivery, blank, control
"""
_SPELLED = """
SELECT list_sort(list(DISTINCT trim(batch))) FROM known WHERE trim(batch) <> ''
GROUP BY lower(trim(batch)), delivery HAVING count(DISTINCT trim(batch)) > 1 ORDER BY 1
"""
_BARE = "SELECT DISTINCT sample_id FROM known WHERE class = 'result' AND unit IN ('mg/kg', 'ug/L') AND trim(batch) = ''"
_QUALITY = "SELECT count(*) FROM known WHERE sample_kind IN ('method_blank', 'lab_control', 'lab_control_duplicate')"
_DAYS = f"""
SELECT {local_day("sampled_at")} AS day, delivery, {local_day("received_at")} AS came, analyte, method, list(DISTINCT sample_id ORDER BY sample_id)
FROM known WHERE class = 'result' AND medium IN ('groundwater', 'surface_water', 'other_water') AND unit = 'ug/L'
GROUP BY ALL ORDER BY day, delivery, came, analyte
"""
_TRIPS = f"""
SELECT DISTINCT {local_day("sampled_at")}, delivery, {local_day("received_at")} FROM known WHERE sample_kind = 'trip_blank'
"""
WATERS = "no volatile analysis of a water"


def check_batches(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Batches of results without a method blank or a control sample. Reads ``known``."""
    done, rule = Checked("batches"), edition.rule("control_in_batch")
    rows = connection.execute(_BATCHES).fetchall()
    quality = connection.execute(_QUALITY).fetchone()
    if not rows:
        done.not_checkable.append("the deliverables hold no batch")
    if not quality or not quality[0]:
        done.not_checkable.append(
            "the deliverables hold no method blank or control sample for their batches (ask the laboratory, which keeps them)"
        )
        return done
    batches = {row[0] for row in rows}
    for batch, samples, blank, control, methods in rows:
        done.samples |= set(samples)
        lacking = [name for name, there in (("method blank", blank), ("control sample", control)) if not there]
        if lacking:
            by = f" by {', '.join(filter(None, methods))}" if sum(row[0] == batch for row in rows) > 1 and any(methods) else ""
            done.findings.append(
                Finding(
                    done.check, ", ".join(samples), "", "a method blank and a control sample in every batch",
                    f"batch {batch}{by} has no {' and no '.join(lacking)}", "ask the laboratory for it", "", "batch_incomplete", rule.basis,
                    samples=tuple(samples),
                )
            )  # fmt: skip
    done.looked_at = counted(len(batches), "batch", "batches") if rows else ""
    done.partly = {row[0] for row in connection.execute(_BARE).fetchall()} & done.samples
    folded = [" and ".join(row[0]) for row in connection.execute(_SPELLED).fetchall()]
    if folded:
        done.looked_at += f" ({'; '.join(folded)} taken as one)"
    return done


def check_trip_blanks_there(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Days with volatile water samples and no trip blank. Reads ``known``."""
    done, rule = Checked("trip_blank_each_day"), edition.rule("trip_blank_each_day")
    trips = connection.execute(_TRIPS).fetchall()
    by_day: dict[object, set[str]] = {}
    bare: dict[object, set[str]] = {}
    for day, delivery, came, analyte, method, samples in connection.execute(_DAYS).fetchall():
        if any("VOC" in way for way in sorts_of(analyte, method)):
            by_day.setdefault(day, set()).update(samples)
            if not any(_travelled(trip, day, delivery, came) for trip in trips):
                bare.setdefault(day, set()).update(samples)
    if not by_day:
        done.not_checkable.append(f"the deliverables hold {WATERS}")
        return done
    done.samples = set().union(*by_day.values())
    for day, found in bare.items():
        when = f" on {day}" if day is not None else ""
        done.findings.append(
            Finding(
                done.check, ", ".join(sorted(found)), "", "a trip blank for each day of volatile samples", f"none{when}",
                "what the journey added cannot be told", "", "no_trip_blank", rule.basis, samples=tuple(sorted(found)),
            )
        )  # fmt: skip
    done.looked_at = f"{counted(len(by_day), 'day')} of volatile samples of waters"
    return done


def _travelled(trip: Sequence[object], day: object, delivery: object, came: object) -> bool:
    """Whether a trip blank is one of this day: by its own day, else within its deliverable by the day of receipt."""
    if trip[0] is not None and day is not None:
        return trip[0] == day
    return trip[1] == delivery and (trip[2] is None or came is None or trip[2] == came)
