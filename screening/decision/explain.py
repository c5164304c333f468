"""How one verdict came about: back to the cell of the laboratory's file and forward to the line of the law."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from screening.decision.runs import stored
from screening.errors import Refused
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb


def explain_outcome(connection: duckdb.DuckDBPyConnection, run: str, sample: str, analyte: str) -> list[dict[str, Any]]:
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
    return [step for item in found for step in _steps(connection, answer, item)]


def _steps(connection: duckdb.DuckDBPyConnection, answer: dict[str, Any], item: dict[str, Any]) -> list[dict[str, Any]]:
    source = item["source"]
    sheet = f", sheet '{source['sheet']}'" if source["sheet"] else ""
    delivered = connection.execute(
        "SELECT d.analyte, d.cas, d.unit, d.basis, d.qualifiers, f.sha256, f.received, d.row_id FROM delivered AS d "
        "JOIN deliverable AS f ON f.number = d.deliverable WHERE f.id = ? AND d.sheet = ? AND d.row = ? "
        "AND d.column_letter = ?",
        [source["deliverable"], source["sheet"], source["row"], source["column"]],
    ).fetchone()
    steps = [_step("delivered", f"{source['file']}{sheet}, row {source['row']}, column {source['column']}: '{source['text']}'")]
    if delivered:
        told = ", ".join(
            f"{name} '{text}'" for name, text in zip(("analyte", "CAS", "unit", "basis", "flag"), delivered, strict=False) if text
        )
        steps.append(_step("delivered row", f"{told}; file fingerprint {delivered[5][:16]}, received {delivered[6]}"))
        steps += [
            _step("decision", f"{row[0]} by {row[1]} on {row[2]:%Y-%m-%d}: '{row[3]}' read as '{row[4]}' ({row[5]})")
            for row in connection.execute(
                "SELECT c.kind, c.by_whom, c.made_at, c.old_text, c.new_text, c.why FROM decision AS c "
                "JOIN held AS h ON h.id = c.subject WHERE h.row_id = ? ORDER BY c.number",
                [delivered[7]],
            ).fetchall()
        ]
    amount = item["value"] if item["detected"] else f"<{item['limit']}" if item["limit"] else "not detected, no limit"
    steps.append(
        _step(
            "normal form",
            f"{item['analyte']}{' (CAS ' + item['cas'] + ')' if item['cas'] else ''} {amount} {item['unit']} in {item['medium']}",
        )
    )
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


def _step(what: str, text: str) -> dict[str, str]:
    return {"step": what, "text": text}
