"""Surrogates: recoveries that speak for the analytes of their kind in the same run of the same sample."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.recoveries import Outside, Recovery, outside, recoveries, spoken_for, told
from screening.quality.shown import plain
from screening.quality.sorts import sorts_of

if TYPE_CHECKING:
    import duckdb

CHECK = "surrogate"
_RUN = """
    ((s.lab_sample_id <> '' AND r.lab_sample_id = s.lab_sample_id)
        OR ((s.lab_sample_id = '' OR r.lab_sample_id = '') AND r.sample_id = s.sample_id AND r.deliverable = s.deliverable))
    AND (s.batch = '' OR r.batch = '' OR r.batch = s.batch)
    AND (s.method = '' OR r.method = '' OR r.method = s.method)
    AND coalesce(s.dilution, 1) = coalesce(r.dilution, 1)
    AND (s.run_no = '' OR r.run_no = '' OR r.run_no = s.run_no)
"""
_ROWS = f"""
SELECT r.row_id, r.sample_id, r.analyte, r.detected, r.method
FROM known AS r, (SELECT * FROM known WHERE row_id = $row) AS s
WHERE r.class = 'result' AND {_RUN}
ORDER BY r.row_id
"""
_SAMPLES = f"""
SELECT DISTINCT r.sample_id
FROM (SELECT DISTINCT sample_id, lab_sample_id, batch, method, dilution, run_no, deliverable FROM known
      WHERE sample_kind = 'surrogate' AND recovery <> '') AS s
JOIN (SELECT DISTINCT sample_id, lab_sample_id, batch, method, dilution, run_no, deliverable FROM known WHERE class = 'result') AS r
    ON {_RUN}
"""


def check_surrogates(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Every surrogate with a recovery. Reads ``known``."""
    done = Checked(CHECK)
    found = recoveries(connection, ("surrogate",))
    broken = [(one, out) for one in found if (out := outside(edition, CHECK, one)) is not None]
    for one, out in broken:
        diluted = one.more["dilution"]
        limit = edition.rule("diluted_out")
        if diluted is not None and diluted >= limit.needed():
            done.findings.append(
                _note(one, out, f"not judged: diluted {plain(diluted)} times, from {plain(limit.needed())} on", "diluted")
            )
            continue
        alone = _too_few(edition, one, out, broken)
        if alone:
            done.findings.append(_note(one, out, alone, "one_surrogate"))
            continue
        rows = connection.execute(_ROWS, {"row": one.row_id}).fetchall()
        done.findings += spoken_for(
            CHECK, one, out, [row[:4] for row in rows if speaks_for(edition, one.analyte, row[2], row[4])]
        )
    done.samples = {row[0] for row in connection.execute(_SAMPLES).fetchall()}
    told(done, edition, CHECK, found, "surrogate")
    return done


def speaks_for(edition: Edition, surrogate: str, analyte: str, method: str) -> bool:
    """Whether a surrogate stands for an analyte: by its analysis, and among semivolatiles by acid or base and neutral.

    A surrogate that the edition does not list speaks for everything in its run.
    """
    listed = _listed(edition, surrogate)
    if listed is None:
        return True
    ways = {group for way in sorts_of(analyte, method) for group in way}
    if not ways & set(listed.names("groups")):
        return False
    return not listed["part"] or (listed["part"] == "acid") == (analyte in edition.acids)


def _listed(edition: Edition, surrogate: str) -> Any:
    return next((rule for rule in edition.rules("surrogates") if rule["surrogate"] == surrogate), None)


def _too_few(edition: Edition, one: Recovery, out: Outside, broken: Sequence[tuple[Recovery, Outside]]) -> str:
    """Why a surrogate of a semivolatile part is not enough by itself; '' where it is, or lies below the floor."""
    listed, rule = _listed(edition, one.analyte), edition.rule("surrogates_out")
    if listed is None or not listed["part"] or out.rule["when"] == "below_floor":
        return ""
    same = [
        (other, found)
        for other, found in broken
        if _run(other) == _run(one) and (entry := _listed(edition, other.analyte)) is not None and entry["part"] == listed["part"]
    ]
    if len(same) < rule.needed():
        return f"not marked: {len(same)} surrogate of this part outside its limits, {plain(rule.needed())} are needed"
    return ""


def _run(one: Recovery) -> tuple[Any, ...]:
    return (one.more["lab_sample_id"] or one.sample_id, one.batch, one.method, one.more["dilution"])


def _note(one: Recovery, out: Outside, action: str, reason: str) -> Finding:
    assert one.percent is not None
    return Finding(
        CHECK, one.sample_id, one.analyte, f"surrogate recovery {out.criterion}", f"recovery {plain(one.percent)} %", action, "", reason,
        out.rule.basis,
    )  # fmt: skip
