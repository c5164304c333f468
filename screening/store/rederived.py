"""Whether the results kept are what their delivered texts say: read again, with the words and answers of their own day."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.store.again import with_answers
from screening.store.ledger import Until
from screening.store.soundness import Check, Problem, told
from screening.store.taught import taught_for

if TYPE_CHECKING:
    import duckdb

SAMPLE = 2_000
"""Rows looked at unless all are asked for, spread evenly over the store."""
PARTS = 60
"""Deliverables and acts of which rows are looked at unless all are asked for, spread likewise."""
LARGEST_PART = 100_000
WORDS = ("analyte", "cas", "medium", "sample_kind", "fraction", "state", "detected", "sign", "unit", "basis", "depth_unit")
AMOUNTS = (
    "value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit", "dilution", "percent_solids",
    "depth_top", "depth_bottom",
)  # fmt: skip
LAST_DIGIT = Decimal(1).scaleb(-18)
LAST_DIGITS = {name: Decimal(1).scaleb(-6) for name in ("depth_top", "depth_bottom")}

KEPT = f"""
SELECT r.row_id, d.file, v.sheet, v.row, v.column_letter, v.text, {", ".join(f"r.{name}" for name in (*WORDS, *AMOUNTS))}
FROM result AS r JOIN delivered AS v USING (row_id) JOIN deliverable AS d ON d.number = r.deliverable
WHERE list_contains(?, r.row_id) AND r.decision IS NOT DISTINCT FROM ?
"""
LOOKED_AT = """
SELECT r.deliverable, r.row_id, r.decision FROM result AS r
WHERE $every OR r.row_id % greatest(1, (SELECT count(*) FROM result) // $sample) = 0
ORDER BY r.deliverable, r.decision NULLS FIRST, r.row_id
"""


def checked_values(connection: duckdb.DuckDBPyConnection, *, every: bool) -> Check:
    """Identity, amounts, units and limits of the results, of a sample of them or of every one, against their texts."""
    rows = connection.execute(LOOKED_AT, {"every": every, "sample": SAMPLE}).fetchall()
    parts: dict[tuple[int, int | None], list[int]] = {}
    for deliverable, row_id, decision in rows:
        parts.setdefault((deliverable, decision), []).append(row_id)
    problems = []
    looked = parts if every else dict(list(parts.items())[:: -(-len(parts) // PARTS) or 1])
    for (deliverable, decision), row_ids in looked.items():
        for at in range(0, len(row_ids), LARGEST_PART):
            problems += _of_part(connection, deliverable, decision, row_ids[at : at + LARGEST_PART])
    count = sum(map(len, looked.values()))
    how = "every result" if count == _all(connection) else "a sample of the results"
    return told("values", f"{how} says what its delivered text says", count, problems)


def _all(connection: duckdb.DuckDBPyConnection) -> int:
    row = connection.execute("SELECT count(*) FROM result").fetchone()
    return int(row[0]) if row else 0


def _of_part(
    connection: duckdb.DuckDBPyConnection, deliverable: int, decision: int | None, row_ids: Sequence[int]
) -> list[Problem]:
    found = connection.execute("SELECT site, imported_at FROM deliverable WHERE number = ?", [deliverable]).fetchall()
    kept = connection.execute(KEPT, [list(row_ids), decision]).fetchall()
    if not found or len(kept) != len(row_ids):
        return []  # told among the references
    site, imported_at = found[0]
    stored = {row[0]: row for row in kept}
    problems: dict[int, Problem] = {}
    wrong = list(row_ids)
    # a decision is dated by the second: whether one of the same second came before the import is not told
    second = imported_at.replace(microsecond=0)
    for until in (Until(decision),) if decision is not None else (Until(moment=second), Until(moment=imported_at)):
        if wrong:
            _, frame = with_answers(connection, deliverable, wrong, taught_for(connection, site, until))
            said = {row_id: _difference(stored[row_id], row) for row_id, row in zip(wrong, frame.to_dict("records"), strict=True)}
            problems = {row_id: Problem("result", str(row_id), text) for row_id, text in said.items() if text}
            wrong = list(problems)
    return [problems[row_id] for row_id in wrong]


def _difference(kept: tuple[Any, ...], now: dict[Any, Any]) -> str:
    """What the store says otherwise than the texts do now; '' where nothing."""
    _, file, sheet, row, column, text, *stored = kept
    said = []
    for name, there in zip((*WORDS, *AMOUNTS), stored, strict=True):
        read = now[name]
        if name in AMOUNTS:
            same = (there is None) == (read == "") and (
                there is None or abs(Decimal(read) - there) <= LAST_DIGITS.get(name, LAST_DIGIT)
            )
        else:
            there, same = str(there), (read or "") == (str(there).lower() if name == "detected" else there)
        if not same:
            said.append(f"{name} {there if there not in (None, '') else 'nothing'} where the text says {read or 'nothing'}")
    place = " ".join(part for part in (file, sheet, f"row {row}", f"column {column}" if column else "") if part)
    return f"{place} ('{text}'): the store has {'; '.join(said)}" if said else ""
