"""Custody records against the deliverables: all that was asked for has come, and was collected when the record says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from screening.normal.dates import Moment, order_of, read_moment
from screening.quality.amounts import PRACTICE
from screening.quality.findings import Checked, Finding
from screening.quality.shown import counted
from screening.quality.stages import At
from screening.store.custody import Line

if TYPE_CHECKING:
    import duckdb

CHECK = "custody"

_DELIVERED = """
SELECT DISTINCT sample_id, location, sampled_at, sampled_at_known FROM known
WHERE sample_kind IN ('field', 'field_duplicate', 'trip_blank', 'field_blank', 'equipment_blank') AND state <> 'not_analysed'
ORDER BY ALL
"""


def check_custody(connection: duckdb.DuckDBPyConnection, lines: Sequence[Line], gaps: Mapping[str, str]) -> Checked:
    """Every line of the records in force. ``gaps`` is what `screening.store.match.gaps` found. Reads ``known``."""
    done = Checked(CHECK)
    if not lines:
        done.not_checkable.append("no custody record is added: screening custody add FILE")
        return done
    done.findings = [
        _told(sample, "everything asked for is delivered", gap, "a gap: rules out 'not triggered'", "custody_gap")
        for sample, gap in gaps.items()
    ]
    order = order_of(line.collected for line in lines)
    moments = {line: read_moment(line.collected, order) for line in lines}
    bare, undated, unread, compared = set(), set(), {}, set()
    came = connection.execute(_DELIVERED).fetchall()
    for line, moment in moments.items():
        rows = [row for row in came if line.sample == row[0]] or [row for row in came if line.sample == row[1]]
        for sample, _, sampled_at, known in rows:
            done.samples.add(sample)
            if not line.collected:
                bare.add(sample)
            elif moment.iso is None and not moment.proposal:
                unread[sample] = line.collected
            elif sampled_at is None:
                undated.add(sample)
            else:
                compared.add(sample)
                delivered = At(sampled_at, known)
                if not _agrees(moment, delivered):
                    done.findings.append(_apart(sample, line, delivered))
    done.findings = list(dict.fromkeys(done.findings))
    done.partly = (bare | undated | set(unread)) - compared
    done.looked_at = f"custody records against results of {counted(len(done.samples), 'sample')}"
    done.looked_at += f", dates of collection of {len(compared)}" if compared else ""
    for samples, words in (
        (bare, "the custody records state no date of collection"),
        (undated, "the deliverables hold no date of collection"),
    ):
        if samples:
            done.not_checkable.append(f"{words} of {counted(len(samples), 'sample')}")
    done.not_checkable += [
        f"the date of collection '{text}' of {sample} cannot be read" for sample, text in sorted(unread.items())[:3]
    ]
    return done


def _agrees(moment: Moment, delivered: At) -> bool:
    """Whether one reading of the record's date is the delivered day, and the time of day too where both state one."""
    if moment.iso is None:
        return delivered.clock.date().isoformat() in (moment.proposal or "")
    stated = At(datetime.fromisoformat(moment.iso), moment.known)
    if stated.clock.date() != delivered.clock.date():
        return False
    if not (stated.has_time and delivered.has_time):
        return True
    if stated.is_exact and delivered.is_exact:
        return stated.moment == delivered.moment
    return stated.clock.replace(second=0) == delivered.clock.replace(second=0)


def _apart(sample: str, line: Line, delivered: At) -> Finding:
    return _told(
        sample, "collected when the custody record says", f"{delivered.told} in the deliverable, '{line.collected}' on the custody record",
        "ask which is right: holding times count from the deliverable's date", "collection_dates_differ",
    )  # fmt: skip


def _told(sample: str, criterion: str, observed: str, action: str, reason: str) -> Finding:
    return Finding(CHECK, sample, "", criterion, observed, action, "", reason, PRACTICE)
