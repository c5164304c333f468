"""Control samples and matrix spikes: recoveries that speak for a batch, or for the sample that was spiked."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.recoveries import Recovery, number, outside, recoveries, spoken_for, told
from screening.quality.shown import plain
from screening.vocabulary.units import read_unit

if TYPE_CHECKING:
    import duckdb

OF_BATCH = """
SELECT r.row_id, r.sample_id, r.analyte, r.detected
FROM known AS r, (SELECT * FROM known WHERE row_id = $row) AS q
WHERE r.class = 'result' AND r.analyte = q.analyte
  AND ((q.batch <> '' AND r.batch = q.batch) OR ((q.batch = '' OR r.batch = '') AND r.deliverable = q.deliverable))
  AND (q.method = '' OR r.method = '' OR r.method = q.method)
ORDER BY r.row_id
"""
OF_PARENT = """
SELECT r.row_id, r.sample_id, r.analyte, r.detected, r.value
FROM known AS r, (SELECT * FROM known WHERE row_id = $row) AS q
WHERE r.class = 'result' AND r.analyte = q.analyte AND r.fraction IN (q.fraction, '')
  AND r.sample_id = CASE WHEN q.parent_sample <> '' THEN q.parent_sample ELSE q.sample_id END
  AND (q.method = '' OR r.method = '' OR r.method = q.method)
ORDER BY r.row_id
"""
CONTROLS = ("lab_control", "lab_control_duplicate")
SPIKES = ("matrix_spike", "matrix_spike_duplicate")
_SAMPLES = """
SELECT DISTINCT r.sample_id
FROM (SELECT DISTINCT batch, method, deliverable FROM known WHERE list_contains($kinds, sample_kind)) AS q
JOIN (SELECT DISTINCT sample_id, batch, method, deliverable FROM known WHERE class = 'result') AS r
    ON ((q.batch <> '' AND r.batch = q.batch) OR ((q.batch = '' OR r.batch = '') AND r.deliverable = q.deliverable))
    AND (q.method = '' OR r.method = '' OR r.method = q.method)
"""


def check_controls(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Control samples: each speaks for its analyte in its batch. Reads ``known``."""
    done = Checked("lab_control")
    found = recoveries(connection, CONTROLS)
    for one in found:
        broken = outside(edition, "lab_control", one)
        if broken is not None:
            rows = connection.execute(OF_BATCH, {"row": one.row_id}).fetchall()
            done.findings += spoken_for("lab_control", one, broken, rows)
    done.samples = {row[0] for row in connection.execute(_SAMPLES, {"kinds": list(CONTROLS)}).fetchall()}
    told(done, edition, "lab_control", found, "laboratory control sample")
    return done


def check_spikes(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Matrix spikes: organics speak for the spiked sample alone, metals for their batch. Reads ``known``."""
    done = Checked("matrix_spike")
    found = recoveries(connection, SPIKES)
    drowned, unsure, strange = 0, 0, set()
    times = edition.rule("spike_skip_times")
    for one in found:
        broken = outside(edition, "matrix_spike", one)
        parents = connection.execute(OF_PARENT, {"row": one.row_id}).fetchall() if broken or one.percent is not None else []
        done.samples |= {row[1] for row in parents}
        if broken is None:
            continue
        extra = ""
        native = max((row[4] for row in parents if row[3] and row[4] is not None), default=None)
        added = _added(one)
        if native is not None and added is not None and native > added * times.needed():
            drowned += 1
            words = f"spike {plain(added)}, native amount {plain(native)} {one.more['unit']}"
            done.findings.append(_skipped(one, words, times.needed(), times))
            continue
        if added is None and native is not None:
            unsure += 1
            extra = "; the amount added is not stated, so whether the native amount drowns it cannot be told"
        rows: Sequence[Sequence[Any]] = [row[:4] for row in parents]
        if broken.rule["reach"] == "batch":
            rows = connection.execute(OF_BATCH, {"row": one.row_id}).fetchall()
        if not parents:
            strange.add(one.sample_id)
        done.findings += spoken_for("matrix_spike", one, broken, rows, extra, unsure=bool(extra))
    told(done, edition, "matrix_spike", found, "matrix spike")
    if drowned:
        done.looked_at += f" ({drowned} not judged: the native amount drowns the spike)"
    if unsure:
        done.not_checkable.append(f"{unsure} matrix spikes outside their limits state no amount added")
    if strange:
        done.not_checkable.append(f"the spiked sample of {', '.join(sorted(strange)[:4])} is not among the results")
    return done


def _added(one: Recovery) -> Decimal | None:
    """The amount added in the normal unit; None where it is not stated."""
    amount = number(one.more["spike_amount"])
    if amount is None:
        return None
    unit = read_unit(one.more["delivered_unit"], one.more["medium"] or None)
    return None if unit.problem or unit.unit != one.more["unit"] else unit.convert(amount)


def _skipped(one: Recovery, observed: str, times: Decimal, rule: Any) -> Finding:
    assert one.percent is not None
    return Finding(
        "matrix_spike", one.sample_id, one.analyte, f"judged only where the native amount is at most {plain(times)} times the spike",
        f"recovery {plain(one.percent)} %; {observed}", "not judged: nothing is marked", "", "spike_drowned", rule.basis,
    )  # fmt: skip
