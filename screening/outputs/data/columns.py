"""The columns of the data files of outcomes and results, with the rows that fill them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from screening.decision.words import number_text
from screening.outputs.data.plain import AMOUNT, COUNT, TEXT, YES_NO, Field

COLUMNS = (
    Field("file", TEXT, "the data file"), Field("column", TEXT, "the column"), Field("holds", TEXT, "what its cells are"),
    Field("meaning", TEXT, "what it says"),
)  # fmt: skip

_SAMPLE = (
    Field("location", TEXT, "place of sampling; a field duplicate stands at its parent's"),
    Field("sample_id", TEXT, "sample number"),
    Field("sample_kind", TEXT, "field, field_duplicate, or a kind of quality control"),
    Field("depth_top", AMOUNT, "depth below grade, or where the interval begins"),
    Field("depth_bottom", AMOUNT, "where the interval ends"),
    Field("depth_unit", TEXT, "unit of the depths"),
    Field("sampled_at", TEXT, "when it was taken, as far as it is known"),
    Field("medium", TEXT, "soil, groundwater, ..."),
    Field("analyte", TEXT, "analyte"),
    Field("cas", TEXT, "CAS number"),
    Field("fraction", TEXT, "total, dissolved, leachate; empty where none is stated"),
    Field("detected", YES_NO, "whether it was detected"),
    Field("result", TEXT, "the result with the digits as reported; '<' before the limit of a non-detect"),
    Field("value", AMOUNT, "the value of a detection, in the unit"),
    Field("limit", AMOUNT, "the limit below which a non-detect lies, in the unit"),
    Field("reporting_limit", AMOUNT, "reporting limit of that analysis, in the unit"),
    Field("unit", TEXT, "mg/kg for solids, ug/L for waters"),
    Field("lab_qualifiers", TEXT, "the laboratory's letters"),
    Field("review_qualifiers", TEXT, "what the quality review says of it"),
    Field("review_reasons", TEXT, "why"),
)
_SOURCE = (
    Field("source_deliverable", TEXT, "the deliverable it came in"),
    Field("source_file", TEXT, "its file"),
    Field("source_sheet", TEXT, "sheet of the file"),
    Field("source_row", COUNT, "row of the sheet"),
    Field("source_column", TEXT, "column of the sheet"),
    Field("source_text", TEXT, "the cell as received"),
)
OUTCOMES = (
    Field("run", TEXT, "the run that answered"),
    *_SAMPLE,
    Field("lower", AMOUNT, "the least that it may be, in the unit"),
    Field("upper", AMOUNT, "the most that it may be; empty where nothing bounds it"),
    Field("level_table", TEXT, "level table"),
    Field("level_version", TEXT, "version of the table: the day from which it is in force"),
    Field("level_printed", TEXT, "the level as the rule prints it"),
    Field("level_unit", TEXT, "unit of the level as printed"),
    Field("level", AMOUNT, "the level in the unit of the result"),
    Field("comparison", TEXT, "above or at_or_above: when the level is exceeded"),
    Field("conditions", TEXT, "the facts that picked the row of law"),
    Field("outcome", TEXT, "exceeds, does_not_exceed, open or no_level"),
    Field("counted", YES_NO, "false for the side of a field duplicate pair that does not stand"),
    Field("ratio", AMOUNT, "result over level"),
    Field("because", TEXT, "why the outcome is what it is"),
    Field("parts", TEXT, "what a sum was added up from"),
    Field("citation", TEXT, "where the level stands"),
    Field("transcription", TEXT, "how the level was read"),
    *_SOURCE,
)
RESULTS = (
    *_SAMPLE,
    Field("class", TEXT, "result or quality_control"),
    Field("lab_sample_id", TEXT, "the laboratory's sample number"),
    Field("basis", TEXT, "dry or as_received, as delivered"),
    Field("quantitation_limit", AMOUNT, "quantitation limit, in the unit"),
    Field("detection_limit", AMOUNT, "detection limit, in the unit"),
    Field("dilution", AMOUNT, "times diluted"),
    Field("percent_solids", AMOUNT, "percent solids of the sample"),
    Field("method", TEXT, "method of analysis"),
    Field("batch", TEXT, "batch of the laboratory"),
    Field("recovery", TEXT, "recovery of a spike or surrogate, in percent"),
    Field("received_at", TEXT, "when the laboratory received it"),
    Field("prepared_at", TEXT, "when it was prepared"),
    Field("analysed_at", TEXT, "when it was analysed"),
    Field("chosen", YES_NO, "whether this analysis is the one that counts"),
    Field("because", TEXT, "why it is not"),
    *_SOURCE,
)


def outcome_rows(answer: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every outcome of a run, those that do not stand last."""
    return [_outcome(answer["run"], item) for item in (*answer["outcomes"], *answer["outweighed"])]


def _outcome(run: str, item: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **item, **_source(item["source"]),
        "run": run, "result": number_text(item), "lab_qualifiers": item["qualifiers"],
        "level_table": item["table"] if item["level"] else "", "level_version": item["version"] if item["level"] else "",
        "level_printed": item["level"], "level": item["level_normal"], "counted": not item["outweighed"],
        "conditions": "; ".join(f"{key} = {value}" for key, value in item["conditions"].items()), "parts": "; ".join(item["parts"]),
    }  # fmt: skip


def result_rows(results: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Every result and quality-control value."""
    return [{**one, **_source(one["source"]), "result": _result(one)} for one in results]


def _result(one: Mapping[str, Any]) -> str:
    return number_text({**one, "level_normal": None}) if not one["recovery"] or one["value"] or one["limit"] else ""


def _source(source: Mapping[str, Any]) -> dict[str, Any]:
    return {f"source_{key}": value for key, value in source.items()}
