"""Control samples and matrix spikes: recoveries that speak for a batch, or for the sample that was spiked."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.association import KEYS, WAYS_OF_BATCH, paired
from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.recoveries import CONTROLS, Recovery, added, has_limits, outside, percent_of, recoveries, spoken_for, told
from screening.quality.recovery_reach import tell_reach
from screening.quality.shown import counted, plain

if TYPE_CHECKING:
    import duckdb

OF_BATCH = f"""
WITH q AS (SELECT analyte, {KEYS} FROM known WHERE row_id = $row),
r AS (
    SELECT row_id, sample_id, analyte, detected, {KEYS} FROM known WHERE class = 'result' AND analyte IN (SELECT analyte FROM q)
)
SELECT * FROM ({paired("r.row_id, r.sample_id, r.analyte, r.detected", WAYS_OF_BATCH)}) ORDER BY row_id
"""
OF_PARENT = """
SELECT r.row_id, r.sample_id, r.analyte, r.detected, CASE WHEN r.unit = q.unit THEN r.value END
FROM known AS r, (SELECT * FROM known WHERE row_id = $row) AS q
WHERE r.class = 'result' AND r.analyte = q.analyte AND r.fraction IN (q.fraction, '')
  AND r.sample_id = CASE WHEN q.parent_sample <> '' THEN q.parent_sample ELSE q.sample_id END
  AND (q.method = '' OR r.method = '' OR lower(trim(r.method)) = lower(trim(q.method)))
ORDER BY r.row_id
"""
SPIKES = ("matrix_spike", "matrix_spike_duplicate")


def check_controls(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Control samples: each speaks for its analyte in its batch. Reads ``known``."""
    done = Checked("lab_control")
    found = recoveries(connection, CONTROLS)
    for one in found:
        broken = outside(edition, "lab_control", one)
        if broken is not None:
            rows = connection.execute(OF_BATCH, {"row": one.row_id}).fetchall()
            done.findings += spoken_for("lab_control", one, broken, rows)
    told(done, edition, "lab_control", found, "laboratory control sample")
    read = [one for one in found if one.percent is not None]
    bounded = [one.row_id for one in read if has_limits(edition, "lab_control", one)]
    tell_reach(connection, done, "laboratory control sample", [one.row_id for one in read], bounded)
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
        spiked = {row[1] for row in parents}
        done.samples |= spiked
        if not has_limits(edition, "matrix_spike", one):
            done.partly |= spiked
        if broken is None:
            continue
        extra = ""
        native = max((row[4] for row in parents if row[3] and row[4] is not None), default=None)
        amount = added(one.more)
        if native is not None and amount is not None and native > amount * times.needed():
            drowned += 1
            done.partly |= spiked
            words = f"spike {plain(amount)}, native amount {plain(native)} {one.more['unit']}"
            done.findings.append(_skipped(one, words, times.needed(), times))
            continue
        if amount is None and native is not None:
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
        done.not_checkable.append(
            f"{counted(unsure, 'matrix spike')} outside the limits {'states' if unsure == 1 else 'state'} no amount added"
        )
    if strange:
        done.not_checkable.append(f"the spiked sample of {', '.join(sorted(strange)[:4])} is not among the results")
    return done


def _skipped(one: Recovery, observed: str, times: Decimal, rule: Any) -> Finding:
    return Finding(
        "matrix_spike", one.sample_id, one.analyte, f"judged only where the native amount is at most {plain(times)} times the spike",
        f"recovery {percent_of(one)} %; {observed}", "not judged: nothing is marked", "", "spike_drowned", rule.basis,
    )  # fmt: skip
