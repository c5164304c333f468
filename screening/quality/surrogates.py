"""Surrogates: recoveries that speak for the analytes of their kind in the same run of the same sample."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from screening.quality.association import reached
from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.recoveries import Outside, Recovery, has_limits, outside, percent_of, recoveries, spoken_for, told
from screening.quality.shown import counted, plain
from screening.quality.sorts import sorts_of
from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb

CHECK = "surrogate"
_KEYS = (
    "sample_id, lower(trim(lab_sample_id)) AS lab_key, delivery, lower(trim(batch)) AS batch_key, lower(trim(method)) AS method_key, "
    "dilution, run_no"
)
_SAME = """
    (s.batch_key = '' OR r.batch_key = '' OR r.batch_key = s.batch_key)
    AND (s.method_key = '' OR r.method_key = '' OR r.method_key = s.method_key)
    AND (s.dilution IS NULL OR r.dilution IS NULL OR s.dilution = r.dilution)
    AND (s.run_no = '' OR r.run_no = '' OR r.run_no = s.run_no)
"""
_RUNS = (
    f"r.delivery = s.delivery AND s.lab_key <> '' AND r.lab_key = s.lab_key AND {_SAME}",
    f"r.delivery = s.delivery AND r.sample_id = s.sample_id AND (s.lab_key = '' OR r.lab_key = '') AND {_SAME}",
)
"""The ways in which a surrogate s and a result r are of one run: by the laboratory's number, else by the sample's. What a
run is told by (dilution, run, batch, method) must agree where both state it."""
_ROWS = f"""
WITH s AS (SELECT row_id, {_KEYS} FROM known WHERE row_id IN (SELECT unnest($rows))),
r AS (SELECT row_id, analyte, detected, method, {_KEYS} FROM known WHERE class = 'result')
SELECT * FROM (
    {" UNION ".join(f"SELECT s.row_id AS spoken_by, r.row_id AS row_id, r.sample_id, r.analyte, r.detected, r.method FROM s JOIN r ON {way}" for way in _RUNS)}
)
ORDER BY spoken_by, row_id
"""
_REACH = f"""
WITH s AS (
    SELECT DISTINCT analyte AS surrogate, row_id IN (SELECT unnest($bounded)) AS bounded, {_KEYS}
    FROM known WHERE row_id IN (SELECT unnest($read))
),
r AS (
    SELECT DISTINCT analyte, method, {_KEYS} FROM known JOIN needs_surrogate USING (analyte, method)
    WHERE class = 'result' AND unit IN ('mg/kg', 'ug/L')
),
pair AS ({" UNION ".join(f"SELECT r.sample_id, r.analyte, r.method, s.surrogate, s.bounded FROM s JOIN r ON {way}" for way in _RUNS)}),
spoken AS (
    SELECT sample_id, analyte, method, bool_and(bounded) AS bounded FROM pair JOIN speaking USING (surrogate, analyte, method) GROUP BY ALL
)
SELECT sample_id, count(*), count(k.bounded), count(*) FILTER (k.bounded)
FROM (SELECT DISTINCT sample_id, analyte, method FROM r) LEFT JOIN spoken AS k USING (sample_id, analyte, method)
GROUP BY sample_id HAVING count(k.bounded) > 0 ORDER BY sample_id
"""
_SURROGATES = "SELECT DISTINCT analyte FROM known WHERE sample_kind = 'surrogate'"
_ANALYTES = "SELECT DISTINCT analyte, method FROM known WHERE class = 'result' AND unit IN ('mg/kg', 'ug/L')"


def check_surrogates(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Every surrogate with a recovery. Reads ``known``."""
    done = Checked(CHECK)
    found = recoveries(connection, ("surrogate",))
    broken = [(one, out) for one in found if (out := outside(edition, CHECK, one)) is not None]
    judged = []
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
        judged.append((one, out))
    rows = reached(connection, _ROWS, [one.row_id for one, _ in judged])
    for one, out in judged:
        of_kind = [row[:4] for row in rows[one.row_id] if speaks_for(edition, one.analyte, row[2], row[4])]
        done.findings += spoken_for(CHECK, one, out, of_kind)
    told(done, edition, CHECK, found, "surrogate")
    _tell_reach(connection, edition, done, found)
    return done


def _tell_reach(connection: duckdb.DuckDBPyConnection, edition: Edition, done: Checked, found: Sequence[Recovery]) -> None:
    """Fill the samples that surrogates speak for, in part where one lacks limits or an analysis has no surrogate."""
    read = [one for one in found if one.percent is not None]
    if not read:
        return
    surrogates = [row[0] for row in connection.execute(_SURROGATES).fetchall()]
    kinds = connection.execute(_ANALYTES).fetchall()
    speaking = [(name, *kind) for name in surrogates for kind in kinds if speaks_for(edition, name, *kind)]
    of_surrogates = {group for rule in edition.rules("surrogates") for group in rule.names("groups")}
    spoken_of = {(analyte, method) for _, analyte, method in speaking}
    needing = [
        kind for kind in kinds if kind in spoken_of or any(group in of_surrogates for way in sorts_of(*kind) for group in way)
    ]
    fill(connection, "speaking", "surrogate VARCHAR, analyte VARCHAR, method VARCHAR", speaking)
    fill(connection, "needs_surrogate", "analyte VARCHAR, method VARCHAR", needing)
    ids = {"read": [one.row_id for one in read], "bounded": [one.row_id for one in read if has_limits(edition, CHECK, one)]}
    alone, lacking = 0, 0
    for sample, results, told_of, limited in connection.execute(_REACH, ids).fetchall():
        done.samples.add(sample)
        if limited < results:
            done.partly.add(sample)
        alone, lacking = alone + results - told_of, lacking + (told_of < results)
    if alone:
        done.not_checkable.append(
            f"{counted(alone, 'result')} of {counted(lacking, 'sample')}: no surrogate of the run speaks for them"
        )


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
    return Finding(
        CHECK, one.sample_id, one.analyte, f"surrogate recovery {out.criterion}", f"recovery {percent_of(one)} %", action, "", reason,
        out.rule.basis,
    )  # fmt: skip
