"""The rows of the page's result table: every comparison of the run, and the results that were compared only within a sum."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.decision.words import is_span, number_text
from screening.outputs.lists import level_of, words
from screening.outputs.page.columns import Column, column
from screening.outputs.tables import MEDIA, Cell, Crosstab, Mark, Row, Sample, crosstabs, decimal_of
from screening.outputs.texts import natural

if TYPE_CHECKING:
    from screening.decision.contents import Contents

OUTWEIGHED, NOT_COMPARED = "outweighed", "not_compared"
OUTCOMES = {
    "exceeds": "exceeds",
    "open": "open",
    "no_level": "no level listed",
    "does_not_exceed": "does not exceed",
    OUTWEIGHED: "outweighed by its duplicate pair",
    NOT_COMPARED: "compared within a sum only",
}
"""What a row may say, the gravest first; the first four are counted."""

Key = tuple[Any, ...]


@dataclass(frozen=True)
class ResultRow:
    """A comparison, or a result without one of its own (``mark`` is None)."""

    table: Crosstab
    sample: Sample
    analyte: Row
    cell: Cell
    mark: Mark | None

    @property
    def outcome(self) -> str:
        """A key of `OUTCOMES`."""
        if self.mark is None:
            return NOT_COMPARED
        return str(self.mark.outcome["outcome"]) if self.mark.counted else OUTWEIGHED

    @property
    def location(self) -> str:
        """The place the row is shown at."""
        return str(self.mark.outcome["location"]) if self.mark else self.sample.location


def result_rows(contents: Contents) -> list[ResultRow]:
    """All rows, by medium, location, depth, sample and analyte."""
    return [row for table in crosstabs(contents) for row in _rows(table)]


def _rows(table: Crosstab) -> Iterator[ResultRow]:
    for (row, number), cell in sorted(table.cells.items(), key=lambda pair: (pair[0][1], pair[0][0])):
        sample, analyte = table.samples[number], table.rows[row]
        for mark in cell.marks:
            yield ResultRow(table, sample, analyte, cell, mark)
        if not cell.marks and not cell.held:
            yield ResultRow(table, sample, analyte, cell, None)


def result_columns(rows: list[ResultRow]) -> dict[str, Column]:
    """The columns of the table by name, each ready to be sorted by its codes."""
    order = list(OUTCOMES)
    return {
        "outcome": column([row.outcome for row in rows], order.index),
        "mark": column([_mark_text(row) for row in rows], natural),
        "location": column([row.location for row in rows], natural),
        "sample": column([_sample_text(row.sample) for row in rows], natural),
        "depth": column([(row.sample.depth, row.sample.depth_top) for row in rows], _depth_key, _first),
        "sampled": column([row.sample.sampled_at[:10] for row in rows], str),
        "medium": column([row.table.medium for row in rows], _medium_key, words),
        "analyte": column([row.analyte.name for row in rows], natural),
        "cas": column([row.analyte.cas for row in rows], natural),
        "method": column([row.cell.result["method"] if row.cell.result else "" for row in rows], natural),
        "result": column([_result(row) for row in rows], _result_key, _first),
        "unit": column([row.analyte.unit for row in rows], natural),
        "level": column([_level(row.mark) for row in rows], _amount_key, _first),
        "ratio": column([(row.mark.outcome["ratio"] or "" if row.mark else "") for row in rows], decimal_of_text),
        "table": column([_table(row.mark) for row in rows], natural),
        "because": column([row.mark.outcome["because"] if row.mark else "" for row in rows], str),
    }  # fmt: skip


def _first(value: tuple[Any, ...]) -> str:
    return str(value[0])


def _mark_text(row: ResultRow) -> str:
    if row.mark is None or not row.mark.letter:
        return ""
    return row.mark.letter if row.mark.counted else f"({row.mark.letter})"


def _sample_text(sample: Sample) -> str:
    return sample.sample_id if sample.kind == "field" else f"{sample.sample_id} ({sample.title})"


def _depth_key(value: tuple[str, Decimal | None]) -> Key:
    text, top = value
    return (text.partition(" ")[2], top if top is not None else Decimal(-1), natural(text))


def _medium_key(medium: str) -> Key:
    return (MEDIA.index(medium) if medium in MEDIA else len(MEDIA), medium)


Amount = tuple[str, str, bool, str]
"""Text as shown, unit, detected, the number that sorts it."""


def _result(row: ResultRow) -> Amount:
    """The result as it is shown; what sorts it is its value, its limit, or the upper bound of an open sum."""
    item: Mapping[str, Any] = row.mark.outcome if row.mark else row.cell.result or {}
    shown = number_text(item) if row.mark else row.cell.text
    text = " ".join(part for part in (shown, row.cell.qualifiers) if part)
    if row.mark and is_span(item):
        return (text, row.analyte.unit, True, item["upper"])
    return (text, row.analyte.unit, bool(item["detected"]), (item["value"] if item["detected"] else item["limit"]) or "")


def _result_key(value: Amount) -> Key:
    """By unit; below all detections the non-detects by their limits, for the truth lies between zero and there."""
    text, unit, detected, number = value
    return (natural(unit), detected, decimal_of_text(number), natural(text))


def _level(mark: Mark | None) -> tuple[str, str, str]:
    """The level as printed with its unit; what sorts it is the number in the unit of the result."""
    item = mark.outcome if mark else None
    if item is None or not item["level"]:
        return ("", "", "")
    shown = level_of(item)
    if item["outcome"] == "no_level" or shown is None:  # such as 'NL'
        return (item["level"], "", "")
    return (shown.text, item["unit"], item["level_normal"] or "")


def _amount_key(value: tuple[str, str, str]) -> Key:
    text, unit, number = value
    return (natural(unit), decimal_of_text(number), natural(text))


def _table(mark: Mark | None) -> str:
    return f"{mark.outcome['table']} {mark.outcome['version']}" if mark and mark.outcome["level"] else ""


def decimal_of_text(text: str) -> Decimal:
    """A number for sorting; what is no number sorts below all."""
    number = decimal_of(text.lstrip("<>~ "))
    return number if number is not None and number.is_finite() else Decimal("-Infinity")
