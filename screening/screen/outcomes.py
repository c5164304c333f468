"""Results held against levels: the four outcomes, each with the row of law that decided and why it was picked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from importlib import resources
from typing import TYPE_CHECKING, Any

from screening.levels.rules import Equivalents
from screening.normal.dates import shown
from screening.quality.dry import dry_amount
from screening.screen import duplicates
from screening.screen.because import Rows, because
from screening.screen.duplicates import Decided
from screening.screen.equivalents import weigh
from screening.screen.measure import measure, plain
from screening.screen.register import TableInUse, register
from screening.screen.several import mean_of_several
from screening.store.fill import fill
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb

OUTCOMES = ("exceeds", "open", "no_level", "does_not_exceed")


@dataclass(frozen=True)
class Outcome:
    """One comparison. Amounts are texts of decimals in ``unit``; ``level`` is as printed in ``level_unit``."""

    location: str
    sample_id: str
    sample_kind: str
    depth_top: str | None
    depth_bottom: str | None
    depth_unit: str
    sampled_at: str | None
    medium: str
    analyte: str
    cas: str
    fraction: str
    detected: bool
    value: str | None
    lower: str | None
    upper: str | None
    limit: str | None
    reporting_limit: str | None
    unit: str
    qualifiers: str
    table: str
    version: str
    level: str | None
    level_unit: str | None
    level_normal: str | None
    comparison: str | None
    conditions: Mapping[str, str]
    outcome: str
    because: str
    ratio: str | None
    citation: str
    transcription: str
    source: Mapping[str, Any]
    parts: tuple[str, ...] = ()
    beside: tuple[Mapping[str, Any], ...] = ()
    review_qualifiers: str = ""
    review_reasons: str = ""
    duplicate: Mapping[str, Any] | None = None
    outweighed: bool = False


def ratio_text(amount: Decimal, level: Decimal, outcome: str) -> str:
    """Amount over level to three figures, or as many as it takes not to contradict the outcome."""
    ratio = amount / level
    for figures in range(3, 30):
        shown = ratio.quantize(Decimal(1).scaleb(min(0, ratio.adjusted() - figures + 1)), ROUND_HALF_UP) if ratio else ratio
        if ratio == 1 or shown != 1 or outcome not in ("exceeds", "open", "does_not_exceed"):
            return f"{shown:f}"
    return f"{ratio:f}"


def hold_against(
    connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse], missing_basis: str, duplicate_rule: str,
    nondetects: str = "rule",
) -> list[Outcome]:  # fmt: skip
    """Hold every chosen result against every table that covers its medium. Reads ``ranked``; see `measure`.

    Of a field duplicate and its parent one outcome stands, which ``duplicate_rule`` decides; the other is outweighed.
    ``nondetects`` is how toxic equivalents count non-detects; see `weigh`.
    """
    lay_out(connection, tables, missing_basis, nondetects)
    connection.execute((resources.files("screening.screen") / "compare.sql").read_text(encoding="utf-8"))
    mean_of_several(connection, tables)
    return _outcomes(connection, tables, duplicates.decide(connection, duplicate_rule))


def lay_out(
    connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse], missing_basis: str, nondetects: str = "rule"
) -> None:
    """Lay everything beside each other that the comparison reads: ``comparand``, the rows of law, the states of samples, pairs.

    Reads ``ranked``, ``dry``, ``reviewed`` and ``field_pair``.
    """
    sums = sums_in(tables)
    names = {row.analyte for use in tables for _, row in use.rows}
    species = [(item.name, item.species_of) for item in Vocabulary.load() if item.species_of and item.name in names]
    measure(connection, sums, species, fractions_in(tables), missing_basis)
    weigh(connection, weighed_in(tables), nondetects)
    fill(connection, "counted_part", "whole VARCHAR, part VARCHAR", counted_parts(sums, tables))
    register(connection, tables, missing_basis)
    duplicates.weigh(connection)


def sums_in(tables: Sequence[TableInUse]) -> dict[str, list[tuple[str, ...]]]:
    """The sums that a row of the tables is listed for, with their alternative lists of parts."""
    names = {row.analyte for use in tables for _, row in use.rows}
    sums: dict[str, list[tuple[str, ...]]] = {}
    for name, alternatives in Vocabulary.load().sums().items():
        if name in names:
            sums.setdefault(name, []).extend(alternatives)
    for use in tables:
        for name, parts in use.table.sums:
            if name in names and parts not in sums.setdefault(name, []):
                sums[name].append(parts)
    return sums


def fractions_in(tables: Sequence[TableInUse]) -> list[tuple[str, str, str]]:
    """Analyte, medium and fraction of the rows that are of the total or the dissolved amount alone."""
    rows = (row for use in tables for _, row in use.rows if row.fraction in ("total", "dissolved"))
    return sorted({(row.analyte, row.medium, row.fraction) for row in rows})


def counted_parts(sums: Mapping[str, Sequence[tuple[str, ...]]], tables: Sequence[TableInUse]) -> list[tuple[str, str]]:
    """Each whole as it is named among the comparands, with each part that counts in it."""
    added = [(whole, part) for whole, alternatives in sums.items() for parts in alternatives for part in parts]
    weighed = [(rule.summed, part) for _, rule in weighed_in(tables) for part in rule.factors]
    return list(dict.fromkeys(added + weighed))


def weighed_in(tables: Sequence[TableInUse]) -> list[tuple[int, Equivalents]]:
    """The toxic equivalents that a row of its table is listed for, each with the number of the table."""
    return [
        (number, rule)
        for number, use in enumerate(tables)
        for rule in use.table.equivalents
        if any(row.analyte == rule.name for _, row in use.rows)
    ]


OUTCOME_REVIEW = """
CREATE OR REPLACE TEMP TABLE outcome_review AS  -- a sum shows what the review says of its parts
WITH concerned AS (
    SELECT c.id, v.qualifier, v.reasons FROM comparand AS c JOIN reviewed AS v USING (row_id) WHERE c.analyte_kind <> 'sum' OR len(c.parts) = 0
    UNION ALL
    SELECT s.id, v.qualifier, c.analyte || ': ' || v.reasons
    FROM comparand AS s
    JOIN counted_part AS p ON p.whole = s.analyte
    JOIN comparand AS c ON c.analyte = p.part AND c.sample_no = s.sample_no AND c.fraction = s.fraction AND len(c.parts) = 0
    JOIN reviewed AS v ON v.row_id = c.row_id
    WHERE len(s.parts) > 0 AND s.analyte_kind = 'sum'
)
SELECT id, string_agg(DISTINCT reasons, '; ' ORDER BY reasons) AS reasons,
    list_aggregate(list_sort(list_distinct(list(qualifier))), 'string_agg', ' ') AS qualifier
FROM concerned GROUP BY id
"""

_TEXTS = {
    "depth_top": "c.depth_top", "depth_bottom": "c.depth_bottom", "solids_used": "c.solids_used", "lower": "c.lower", "upper": "c.upper",
    "at_zero": "c.at_zero", "at_full": "c.at_full", "stands_in": "o.stands_in", "reporting_limit": "r.reporting_limit",
}  # fmt: skip
"""Amounts that are told; they come as texts without trailing zeros, as a decimal made by the driver takes four times as long."""

_PICK = f"""
SELECT o.table_no, o.row_no, o.outcome, o.told, o.condition_unknown, o.rows_disagree, o.within_tolerance, o.of_several,
    CASE WHEN o.rows_disagree THEN o.candidates END AS candidates,
    CASE WHEN len(o.beside) > 1 THEN o.beside ELSE [] END AS beside,
    {", ".join(f"plain({amount}) AS {name}" for name, amount in _TEXTS.items())},
    c.id, c.location, c.sample_id, c.sample_kind, c.depth_unit, c.medium, c.analyte, c.cas, c.fraction, c.unit, c.detected, c.doubt,
    c.converted, c.lab_qualifiers, c.effects, c.runs, c.shown, c.parts,
    r.sampled_at AS taken_at, r.sampled_at_known, w.qualifier AS review, w.reasons AS review_reasons,
    f.file, d.sheet, d.row, d.column_letter, d.text, f.id AS deliverable_id
FROM outcome AS o
JOIN comparand AS c USING (id)
JOIN ranked AS r ON r.row_id = c.row_id AND r.rank = 1
LEFT JOIN outcome_review AS w USING (id)
JOIN delivered AS d ON d.row_id = c.row_id
JOIN deliverable AS f ON f.number = r.deliverable
ORDER BY c.location, c.sample_id, c.sample_kind, c.depth_top NULLS FIRST, c.medium, c.sampled_on, c.analyte, c.fraction, o.table_no, c.id
"""


def _outcomes(connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse], decided: Decided) -> list[Outcome]:
    connection.execute(OUTCOME_REVIEW)
    answer = connection.execute(_PICK)
    names = [column[0] for column in answer.description or []]
    laws = [use.rows for use in tables]
    made = []
    while values := answer.fetchmany(AT_ONCE):
        for one in values:
            row = dict(zip(names, one, strict=True))
            made.append(_outcome(row, tables[row["table_no"]], laws[row["table_no"]], decided))
    return made


AT_ONCE = 10_000
"""Rows taken over at a time."""


def _outcome(row: Mapping[str, Any], use: TableInUse, rows: Rows, decided: Decided) -> Outcome:
    key = (row["id"], row["table_no"])
    pair = decided.told.get(key)
    item, level = rows[row["row_no"]] if row["row_no"] is not None else (None, None)
    told = row["lower"] if row["outcome"] == "exceeds" or row["upper"] is None else row["upper"]
    value, limit = _amounts(row, told)
    reporting = row["reporting_limit"]
    if row["converted"] and reporting is not None:
        reporting = plain(dry_amount(Decimal(reporting), Decimal(row["solids_used"])))
    number, amount = level.normal_value if level is not None else None, Decimal(told)
    ratio = ratio_text(amount, number, row["outcome"]) if number and amount else None
    return Outcome(
        location=pair.location if pair else row["location"], sample_id=row["sample_id"], sample_kind=row["sample_kind"],
        depth_top=row["depth_top"], depth_bottom=row["depth_bottom"], depth_unit=row["depth_unit"],
        sampled_at=shown(row["taken_at"], row["sampled_at_known"]),
        medium=row["medium"], analyte=row["analyte"], cas=row["cas"], fraction=row["fraction"],
        detected=row["detected"], value=value, lower=row["lower"], upper=row["upper"], limit=limit, reporting_limit=reporting, unit=row["unit"],
        qualifiers=row["lab_qualifiers"], table=use.table.name, version=use.version.effective.isoformat(),
        level=(_bare(level.printed) if level.value is not None and level.upper is None else level.printed) if level else None,
        level_unit=level.unit if level else None, level_normal=plain(number),
        comparison=level.comparison if level else None,
        conditions=dict(level.conditions) if level else {},
        outcome=row["outcome"], because="; ".join([because(row, use, rows, item, level, ratio), *([pair.told] if pair else [])]), ratio=ratio,
        citation=(level.citation if level else "") or use.table.citation,
        transcription=level.transcription if level else "",
        source={
            "deliverable": row["deliverable_id"], "file": row["file"], "sheet": row["sheet"], "row": row["row"],
            "column": row["column_letter"], "text": row["text"],
        },
        parts=tuple(row["parts"]), beside=_beside(row, rows),
        review_qualifiers=row["review"] or "", review_reasons=row["review_reasons"] or "",
        duplicate=pair.document if pair else None, outweighed=key in decided.outweighed,
    )  # fmt: skip


def _beside(row: Mapping[str, Any], rows: Rows) -> tuple[Mapping[str, Any], ...]:
    """Every row that may apply, each with its own outcome; the one that governs is marked."""
    made = []
    for one in row["beside"]:
        level = rows[one["row_no"]][1]
        made.append(
            {
                "conditions": dict(level.conditions), "level": level.printed, "level_unit": level.unit,
                "comparison": level.comparison, "outcome": one["outcome"], "governs": one["row_no"] == row["row_no"],
            }
        )  # fmt: skip
    return tuple(made)


def _bare(printed: str) -> str:
    text = printed.replace(",", "")
    return f"0{text}" if text.startswith(".") else text


def _amounts(row: Mapping[str, Any], told: str) -> tuple[str | None, str | None]:
    """The value of a detection, or the limit of a non-detect, in the digits in which it was reported."""
    if not row["detected"]:
        return None, row["shown"] or row["upper"]
    if row["parts"]:
        return told, None
    if row["converted"]:
        return row["lower"], None
    return row["shown"] or None, None
