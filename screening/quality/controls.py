"""Control samples and matrix spikes: recoveries that speak for a batch, or for the sample that was spiked."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.association import OF_BATCH, OF_PARENT, reached
from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.recoveries import CONTROLS, Recovery, added, has_limits, outside, percent_of, recoveries, spoken_for, told
from screening.quality.recovery_reach import tell_reach
from screening.quality.shown import counted, plain

if TYPE_CHECKING:
    import duckdb

SPIKES = ("matrix_spike", "matrix_spike_duplicate")


def check_controls(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Control samples: each speaks for its analyte in its batch. Reads ``known``."""
    done = Checked("lab_control")
    found = recoveries(connection, CONTROLS)
    broken = {one.row_id: (one, out) for one in found if (out := outside(edition, "lab_control", one)) is not None}
    rows = reached(connection, OF_BATCH, broken)
    for row_id, (one, out) in broken.items():
        done.findings += spoken_for("lab_control", one, out, rows[row_id])
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
    outs = {one.row_id: outside(edition, "matrix_spike", one) for one in found}
    of_parent = reached(connection, OF_PARENT, [one.row_id for one in found if one.percent is not None])
    of_batch = reached(connection, OF_BATCH, [row_id for row_id, out in outs.items() if out and out.rule["reach"] == "batch"])
    for one in found:
        broken, parents = outs[one.row_id], of_parent[one.row_id]
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
            rows = of_batch[one.row_id]
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
