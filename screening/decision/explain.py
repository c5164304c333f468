"""How one verdict came about: back to the cell of the laboratory's file and forward to the line of the law."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.decision.runs import stored
from screening.errors import Refused
from screening.store.fill import fill
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import datetime as dt

    import duckdb

Cell = tuple[str, str, int, str]
"""Deliverable, sheet, row and column letter of a delivered text."""

Step = dict[str, str]

_TOLD = ("analyte", "CAS", "unit", "basis", "flag")

_CELLS = """
FROM cell_asked AS k JOIN deliverable AS f ON f.id = k.id
JOIN delivered AS d ON d.deliverable = f.number AND d.sheet = k.sheet AND d.row = k.row AND d.column_letter = k.column_letter
"""

_DELIVERED = f"""
SELECT f.id, d.sheet, d.row, d.column_letter, d.analyte, d.cas, d.unit, d.basis, d.qualifiers, f.sha256, f.received, d.row_id
{_CELLS} ORDER BY d.row_id DESC
"""

_DECISIONS = f"""
SELECT d.row_id, c.kind, c.by_whom, c.made_at, c.old_text, c.new_text, c.why
{_CELLS} JOIN held AS h ON h.row_id = d.row_id JOIN decision AS c ON c.subject = h.id ORDER BY d.row_id, c.number
"""


@dataclass(frozen=True)
class DeliveredCell:
    """What a delivered row says of itself, its file's fingerprint and day of receipt, and decisions made about it."""

    told: str
    sha256: str
    received: dt.date
    decisions: tuple[str, ...]


def explain_outcome(connection: duckdb.DuckDBPyConnection, run: str, sample: str, analyte: str) -> list[Step]:
    """The steps of each outcome of one sample and analyte in a run. Raises `Refused` where the run has none."""
    _, _, answer = stored(connection, run)
    listed = Vocabulary.load().named(analyte)
    names = {analyte.casefold(), *([listed.name.casefold()] if listed else [])}
    found = [
        item
        for item in (*answer["outcomes"], *answer.get("outweighed", ()))
        if sample in (item["sample_id"], item["location"]) and item["analyte"].casefold() in names
    ]
    if not found:
        samples = sorted({item["sample_id"] for item in answer["outcomes"]})
        known = sample in samples or any(item["location"] == sample for item in answer["outcomes"])
        hint = (
            f"it has no {analyte}"
            if known
            else f"it has the samples {', '.join(samples[:12])}{' ...' if len(samples) > 12 else ''}"
        )
        raise Refused(f"run {run} has no outcome for sample '{sample}', analyte '{analyte}': {hint}")
    cells = delivered_cells(connection, found)
    return [step for item in found for step in steps_of(answer, item, cells)]


def delivered_cells(connection: duckdb.DuckDBPyConnection, items: Sequence[Mapping[str, Any]]) -> dict[Cell, DeliveredCell]:
    """What stands in the delivered rows of outcomes, and what people decided about them, by `cell_of`."""
    keys = sorted({cell_of(item["source"]) for item in items})
    if not keys:
        return {}
    with connection.cursor() as cursor:
        fill(cursor, "cell_asked", "id VARCHAR, sheet VARCHAR, row INTEGER, column_letter VARCHAR", keys)
        found = cursor.execute(_DELIVERED).fetchall()
        decisions = cursor.execute(_DECISIONS).fetchall()
    decided: dict[int, list[str]] = {}
    for row in decisions:
        decided.setdefault(row[0], []).append(
            f"{row[1]} by {row[2]} on {row[3]:%Y-%m-%d}: '{row[4]}' read as '{row[5]}' ({row[6]})"
        )
    return {
        (row[0], row[1], row[2], row[3]): DeliveredCell(
            ", ".join(f"{name} '{text}'" for name, text in zip(_TOLD, row[4:9], strict=True) if text),
            row[9], row[10], tuple(decided.get(row[11], ())),
        )
        for row in found
    }  # fmt: skip


def cell_of(source: Mapping[str, Any]) -> Cell:
    """Deliverable, sheet, row and column of the source of an outcome or a result."""
    return source["deliverable"], source["sheet"], source["row"], source["column"]


def steps_of(answer: Mapping[str, Any], item: Mapping[str, Any], cells: Mapping[Cell, DeliveredCell]) -> list[Step]:
    """The steps of one outcome of an answer, from the delivered cell to the law and the verdict."""
    return [*origin_steps(item["source"], cells), *_decided(answer, item)]


def origin_steps(source: Mapping[str, Any], cells: Mapping[Cell, DeliveredCell]) -> list[Step]:
    """The first steps: the delivered cell, what its row says, what people decided about it."""
    sheet = f", sheet '{source['sheet']}'" if source["sheet"] else ""
    steps = [_step("delivered", f"{source['file']}{sheet}, row {source['row']}, column {source['column']}: '{source['text']}'")]
    delivered = cells.get(cell_of(source))
    if delivered:
        steps.append(
            _step("delivered row", f"{delivered.told}; file fingerprint {delivered.sha256[:16]}, received {delivered.received}")
        )
        steps += [_step("decision", text) for text in delivered.decisions]
    return steps


def _decided(answer: Mapping[str, Any], item: Mapping[str, Any]) -> list[Step]:
    """The further steps: normal form, review, level, law, outcome."""
    amount = item["value"] if item["detected"] else f"<{item['limit']}" if item["limit"] else "not detected, no limit"
    named = f"{item['analyte']}{' (CAS ' + item['cas'] + ')' if item['cas'] else ''}"
    steps = [_step("normal form", f"{named} {amount} {item['unit']} in {item['medium']}")]
    if item["parts"]:
        steps.append(_step("sum", "; ".join(item["parts"])))
    if item.get("review_reasons"):
        edition = answer["review"]
        steps.append(_step("review", f"{item['review_reasons']} (edition {edition['edition']} of {edition['version']})"))
    if item.get("duplicate"):
        pair = item["duplicate"]
        sides = [pair["parent"], *pair["field_duplicates"]]
        values = " and ".join(f"{side['sample_id']} {side['result']} {side['unit']}" for side in sides)
        steps.append(_step("field duplicate", f"{values}; rule: {pair['rule']}"))
    if item["level"] is not None:
        conditions = ", ".join(f"{key} = {value}" for key, value in item["conditions"].items())
        steps.append(
            _step(
                "level",
                f"{item['table']} version {item['version']}: {item['level']} {item['level_unit']}{' for ' + conditions if conditions else ''}",
            )
        )
        steps.append(_step("law", f"{item['citation']} (transcription: {item['transcription']})"))
    for one in item.get("beside", []):
        conditions = ", ".join(f"{key} = {value}" for key, value in one["conditions"].items())
        mark = "governs" if one["governs"] else "beside it"
        said = f"{one['level']} {one['level_unit']} for {conditions}: {one['outcome'].replace('_', ' ')}"
        steps.append(_step("level that may apply", f"{said} ({mark})"))
    ratio = f", ratio {item['ratio']}" if item["ratio"] else ""
    steps.append(_step("outcome", f"{item['outcome'].replace('_', ' ')}{ratio}: {item['because']}"))
    return steps


def _step(what: str, text: str) -> Step:
    return {"step": what, "text": text}
