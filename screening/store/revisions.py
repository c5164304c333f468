"""Revised deliverables: which earlier one a file repeats, what may be said about it, and what changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.deliverable.columns import Frame
from screening.errors import Misuse, Refused

if TYPE_CHECKING:
    import duckdb

KEYS = """
SELECT {row} AS row, key FROM (
    SELECT *, unnest([
        CASE WHEN lab_sample_id != '' THEN concat_ws(chr(31), 'lab', lab_sample_id, same) END,
        concat_ws(chr(31), 'sample', sample_id, method, sampled, depth_top, medium, same)
    ]) AS key
    FROM (
        SELECT *, concat_ws(chr(31), sample_kind, analyte, fraction, dilution, run_no) AS same FROM ({rows})
    )
) WHERE key IS NOT NULL
"""
FRESH = """
SELECT row_number() OVER () AS row_no, lab_sample_id, sample_id, method, coalesce(CAST(TRY_CAST(nullif(sampled_at, '') AS TIMESTAMP) AS VARCHAR), '') AS sampled,
    coalesce(CAST(TRY_CAST(nullif(depth_top, '') AS DECIMAL(18, 6)) AS VARCHAR), '') AS depth_top, medium, sample_kind, analyte, fraction,
    CAST(coalesce(TRY_CAST(nullif(dilution, '') AS DECIMAL(38, 18)), 1) AS VARCHAR) AS dilution, run_no
FROM fresh_rows
"""
STORED = """
SELECT deliverable, row_id, lab_sample_id, sample_id, method, coalesce(CAST(sampled_at AS VARCHAR), '') AS sampled,
    coalesce(CAST(depth_top AS VARCHAR), '') AS depth_top, medium, sample_kind, analyte, fraction,
    CAST(coalesce(dilution, 1) AS VARCHAR) AS dilution, run_no
FROM result
WHERE class = 'result' AND list_contains($numbers, deliverable)
"""
REPEATED = f"""
WITH fresh AS ({KEYS.format(row="row_no", rows=FRESH)}),
stored AS ({KEYS.format(row="deliverable", rows=STORED)}),
again AS (
    SELECT s.row AS deliverable, count(DISTINCT f.row) AS values
    FROM fresh AS f JOIN stored AS s USING (key) GROUP BY s.row
),
whole AS (SELECT deliverable, count(DISTINCT row_id) AS values FROM result
          WHERE class = 'result' AND list_contains($numbers, deliverable) GROUP BY deliverable)
SELECT a.deliverable, a.values FROM again AS a JOIN whole AS w USING (deliverable)
WHERE 2 * a.values >= least($fresh, w.values)
ORDER BY a.values DESC, a.deliverable DESC
"""
CURRENT = """
SELECT number, id, file, received, CASE WHEN replaces_only_contents THEN replaces END FROM deliverable AS d
WHERE site = ? AND NOT EXISTS (
    SELECT 1 FROM deliverable AS n
    WHERE NOT n.replaces_only_contents
      AND (n.replaces = d.id OR (d.replaces_only_contents AND n.replaces = d.replaces AND n.number > d.number))
)
ORDER BY number
"""
KEY = ["sample_id", "analyte", "fraction", "sample_kind", "dilution"]
COMPARED = ("value", "nondetect_limit", "unit", "basis", "lab_qualifiers", "recovery")


def check_words(
    connection: duckdb.DuckDBPyConnection, site: str, replaces: str | None, *, only_contents: bool, adds: bool
) -> None:
    """Whether the words about a revision make sense together and name a deliverable of the site that still counts."""
    if only_contents and not replaces:
        raise Misuse("--replaces-only-contents needs --replaces DELIVERABLE")
    if adds and replaces:
        raise Misuse("--adds and --replaces: say one of them; what replaces an earlier deliverable adds to none")
    if not replaces:
        return
    current = [row[1] for row in connection.execute(CURRENT, [site]).fetchall()]
    if replaces in current:
        return
    later = connection.execute(
        "SELECT id FROM deliverable WHERE site = ? AND replaces = ? AND NOT replaces_only_contents", [site, replaces]
    ).fetchone()
    if later is not None:
        raise Refused(f"--replaces {replaces}: was replaced by {later[0]} before; say --replaces {later[0]}")
    raise Refused(f"--replaces {replaces}: site '{site}' has no such deliverable; it has {', '.join(current) or 'none'}")


def check_repetition(
    connection: duckdb.DuckDBPyConnection, site: str, file: str, frame: Frame, replaces: str | None, *, only_contents: bool
) -> None:
    """Refuse a file that holds again what another deliverable of the site holds, naming it and the ways to answer.

    A value comes again where the laboratory's sample number, or sample, method, time of sampling, depth and medium,
    come again with the same analyte, dilution and run; at least half of the smaller deliverable's values must.
    """
    rows = connection.execute(CURRENT, [site]).fetchall()
    # what replaces a deliverable as a whole also replaces what revised parts of it before
    current = [row for row in rows if replaces is None or (row[1] != replaces and (only_contents or row[4] != replaces))]
    fresh = frame["class"] == "result"
    if not current or not fresh.any():
        return
    columns = ["lab_sample_id", "sample_id", "method", "sampled_at", "depth_top", "medium", "sample_kind", "analyte", "fraction",
               "dilution", "run_no"]  # fmt: skip
    values_here = int(fresh.sum())
    connection.register("fresh_rows", frame.take(fresh, columns).arrow(columns))
    found = connection.execute(REPEATED, {"numbers": [row[0] for row in current], "fresh": values_here}).fetchall()
    connection.unregister("fresh_rows")
    if not found:
        return
    deliverable, values = found[0]
    _, identity, earlier, received, _ = next(row for row in current if row[0] == deliverable)
    raise Refused(
        f"{file}: {values} of its {values_here} values stand in {earlier} ({identity}, received {received}) already; is it a "
        f"revision? Say --replaces {identity} (all of it), --replaces {identity} --replaces-only-contents (only the values "
        "this file contains), or --adds (a further analysis of the same samples)"
    )


def changes(connection: duckdb.DuckDBPyConnection, replaced: str, frame: Frame, *, only_contents: bool) -> dict[str, Any]:
    """What a revision changes in the deliverable it replaces: changed values in full, the others counted.

    ``waiting`` counts the revision's rows that wait for a person and are compared with nothing yet.
    """
    columns = ["row_id", *KEY, "run_no", *COMPARED]
    old = connection.execute(
        f"SELECT row_id, {', '.join(KEY)}, run_no, value_text, limit_text, unit, basis, lab_qualifiers, recovery FROM result "
        "WHERE deliverable = (SELECT number FROM deliverable WHERE id = ?) ORDER BY row_id",
        [replaced],
    ).fetchall()
    before = _by_place(dict(zip(columns, row, strict=True)) for row in old)
    names = [*KEY, "run_no", *COMPARED]
    after = _by_place(frame.take(frame["class"].isin(["result", "quality_control"]), names).records(names))
    both = [place for place in after if place in before]
    changed = [_change(before[place], after[place]) for place in both if _said(before[place]) != _said(after[place])]
    return {
        "changed": changed,
        "added": len(after.keys() - before.keys()),
        "removed": 0 if only_contents else len(before.keys() - after.keys()),
        "same": len(both) - len(changed),
        "waiting": int((frame["class"] == "held").sum()),
    }


def _by_place(rows: Any) -> dict[tuple[Any, ...], dict[str, Any]]:
    """Rows by sample, analyte, fraction, kind and dilution; several at one place in the order of their runs."""
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    counts: Counter[tuple[Any, ...]] = Counter()
    for row in sorted(_texts(rows), key=lambda row: str(row["run_no"])):
        place = tuple(row[name] for name in KEY)
        found[(*place, counts[place])] = row
        counts[place] += 1
    return found


def _texts(rows: Any) -> Iterator[dict[str, Any]]:
    for row in rows:
        yield {**row, "dilution": _number(row["dilution"] or "1")}


def _number(text: object) -> Decimal | str:
    """A number for itself, so that 0.50 is 0.5; any other text as it stands."""
    written = str(text)
    return Decimal(written).normalize() if written.replace(".", "", 1).lstrip("-").isdigit() else written


def _said(row: dict[str, Any]) -> tuple[object, ...]:
    return tuple(_number(row[name]) for name in COMPARED)


def _change(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    return {
        "sample_id": new["sample_id"], "analyte": new["analyte"], "fraction": new["fraction"], "sample_kind": new["sample_kind"],
        "dilution": f"{new['dilution']:f}" if isinstance(new["dilution"], Decimal) else str(new["dilution"]),
        "before": _shown(old), "after": _shown(new),
        "what": [name for name in COMPARED if _number(old[name]) != _number(new[name])],
    }  # fmt: skip


def _shown(row: dict[str, Any]) -> dict[str, str]:
    amount = row["value"] or (f"<{row['nondetect_limit']}" if row["nondetect_limit"] else row["recovery"])
    return {"result": amount, "unit": row["unit"], "basis": row["basis"], "qualifiers": row["lab_qualifiers"]}
