"""Results held against levels: the four outcomes, each with the row of law that decided and why it was picked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from importlib import resources
from typing import TYPE_CHECKING, Any

import pandas as pd

from screening.levels.choose import Chosen
from screening.levels.table import LevelRow, LevelTable, Version
from screening.quality.dry import dry_amount
from screening.screen.duplicates import Decided, decide, weigh
from screening.screen.measure import DOUBTS, measure
from screening.screen.states import Presence, states
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb

OUTCOMES = ("exceeds", "open", "no_level", "does_not_exceed")


@dataclass(frozen=True)
class TableInUse:
    """One version of a table, the rows chosen for the site, and the conditions that results decide."""

    table: LevelTable
    version: Version
    chosen: Sequence[Chosen]
    presences: Sequence[Presence]


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
    review_qualifiers: str = ""
    review_reasons: str = ""
    duplicate: Mapping[str, Any] | None = None
    outweighed: bool = False


def plain(amount: Decimal | None) -> str | None:
    """A stored amount without trailing zeros and without an exponent."""
    if amount is None:
        return None
    text = f"{amount:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def ratio_text(amount: Decimal, level: Decimal, outcome: str) -> str:
    """Amount over level to three figures, or as many as it takes not to contradict the outcome."""
    ratio = amount / level
    for figures in range(3, 30):
        shown = ratio.quantize(Decimal(1).scaleb(min(0, ratio.adjusted() - figures + 1)), ROUND_HALF_UP) if ratio else ratio
        if ratio == 1 or shown != 1 or outcome not in ("exceeds", "open", "does_not_exceed"):
            return f"{shown:f}"
    return f"{ratio:f}"


def hold_against(
    connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse], missing_basis: str, duplicate_rule: str
) -> list[Outcome]:
    """Hold every chosen result against every table that covers its medium. Reads ``ranked``; see `measure`.

    Of a field duplicate and its parent one outcome stands, which ``duplicate_rule`` decides; the other is outweighed.
    """
    listed = {(row.analyte, row.medium) for use in tables for row in _rows(use)}
    vocabulary = Vocabulary.load()
    names = {analyte for analyte, _ in listed}
    sums: dict[str, list[tuple[str, ...]]] = {}
    for name, alternatives in vocabulary.sums().items():
        if name in names:
            sums.setdefault(name, []).extend(alternatives)
    for use in tables:
        for name, parts in use.table.sums:
            if name in names and parts not in sums.setdefault(name, []):
                sums[name].append(parts)
    species = [(item.name, item.species_of) for item in vocabulary if item.species_of and item.name in names]
    measure(connection, sums, species, missing_basis)
    _register(connection, tables)
    weigh(connection)
    connection.execute((resources.files("screening.screen") / "compare.sql").read_text(encoding="utf-8"))
    return _outcomes(connection, tables, decide(connection, duplicate_rule))


def _rows(use: TableInUse) -> list[LevelRow]:
    return [item.row for item in use.chosen]


def _register(connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse]) -> None:
    levels, covered, unavailable, told = [], [], [], []
    for number, use in enumerate(tables):
        for at, item in enumerate(use.chosen):
            row = item.row
            state_key, state_value = next(iter(item.depends_on.items()), ("", ""))
            levels.append(
                (
                    number, at, row.analyte, row.medium, row.fraction or "", plain(row.normal_value), plain(row.normal_upper),
                    row.kind, row.comparison == "at_or_above", state_key, state_value,
                )
            )  # fmt: skip
        covered += [(number, medium) for medium in use.table.media]
        unavailable += [(number, analyte, medium) for analyte in use.table.unavailable for medium in use.table.media]
        for presence in use.presences:
            for (sample, kind), state in states(connection, presence).items():
                told.append((number, presence.key, sample, kind, state.state, state.told))
    _fill(connection, "level_row", levels, "table_no row_no analyte medium fraction level level_upper kind at_or_above state_key state_value",
          {"level": "DECIMAL(38, 18)", "level_upper": "DECIMAL(38, 18)", "table_no": "INTEGER", "row_no": "INTEGER", "at_or_above": "BOOLEAN"})  # fmt: skip
    _fill(connection, "covered", covered, "table_no medium", {"table_no": "INTEGER"})
    _fill(connection, "unavailable", unavailable, "table_no analyte medium", {"table_no": "INTEGER"})
    _fill(connection, "sample_state", told, "table_no state_key sample_id sample_kind state told", {"table_no": "INTEGER"})


def _fill(
    connection: duckdb.DuckDBPyConnection, table: str, rows: list[tuple[Any, ...]], names: str, types: Mapping[str, str]
) -> None:
    columns = names.split()
    texts = [[None if value is None else str(value) for value in row] for row in rows]
    frame = pd.DataFrame(texts, columns=columns, dtype="str")
    connection.register("filling", frame)
    picked = ", ".join(f"CAST({name} AS {types.get(name, 'VARCHAR')}) AS {name}" for name in columns)
    connection.execute(f"CREATE OR REPLACE TEMP TABLE {table} AS SELECT {picked} FROM filling")
    connection.unregister("filling")


OUTCOME_REVIEW = """
CREATE OR REPLACE TEMP TABLE outcome_review AS  -- a sum shows what the review says of its parts
WITH concerned AS (
    SELECT c.id, v.qualifier, v.reasons FROM comparand AS c JOIN reviewed AS v USING (row_id) WHERE c.analyte_kind <> 'sum' OR len(c.parts) = 0
    UNION ALL
    SELECT s.id, v.qualifier, c.analyte || ': ' || v.reasons
    FROM comparand AS s
    JOIN sum_part AS p ON p.sum_analyte = s.analyte
    JOIN comparand AS c ON c.analyte = p.part AND c.sample_id = s.sample_id AND c.sample_kind = s.sample_kind
        AND c.location = s.location AND c.medium = s.medium AND c.fraction = s.fraction
        AND c.depth_top IS NOT DISTINCT FROM s.depth_top AND len(c.parts) = 0
    JOIN reviewed AS v ON v.row_id = c.row_id
    WHERE len(s.parts) > 0 AND s.analyte_kind = 'sum'
)
SELECT id, string_agg(DISTINCT reasons, '; ' ORDER BY reasons) AS reasons,
    list_aggregate(list_distinct(list(qualifier ORDER BY qualifier)), 'string_agg', ' ') AS qualifier
FROM concerned GROUP BY id
"""

_PICK = """
SELECT o.table_no, o.row_no, o.outcome, o.told, o.condition_unknown, o.rows_disagree, o.candidates, c.*,
    r.reporting_limit, r.limit_from, w.qualifier AS review, w.reasons AS review_reasons, r.value AS delivered_value, r.nondetect_limit AS delivered_limit,
    f.file, d.sheet, d.row, d.column_letter, d.text, f.id AS deliverable_id
FROM outcome AS o
JOIN comparand AS c USING (id)
JOIN ranked AS r ON r.row_id = c.row_id AND r.rank = 1
LEFT JOIN outcome_review AS w USING (id)
JOIN delivered AS d ON d.row_id = c.row_id
JOIN deliverable AS f ON f.number = r.deliverable
ORDER BY c.location, c.sample_id, c.sample_kind, c.depth_top NULLS FIRST, c.medium, c.analyte, c.fraction, o.table_no
"""


def _outcomes(connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse], decided: Decided) -> list[Outcome]:
    connection.execute(OUTCOME_REVIEW)
    answer = connection.execute(_PICK)
    names = [column[0] for column in answer.description or []]
    made = []
    for values in answer.fetchall():
        row = dict(zip(names, values, strict=True))
        made.append(_outcome(row, tables[row["table_no"]], decided))
    return made


def _outcome(row: Mapping[str, Any], use: TableInUse, decided: Decided) -> Outcome:
    pair = decided.told.get((row["id"], row["table_no"]))
    item = use.chosen[row["row_no"]] if row["row_no"] is not None else None
    level = item.row if item else None
    value, limit = _amounts(row)
    reporting = dry_amount(row["reporting_limit"], row["solids_used"]) if row["converted"] else row["reporting_limit"]
    amount = (row["lower"] if row["outcome"] == "exceeds" or row["upper"] is None else row["upper"]) or Decimal(0)
    number = level.normal_value if level is not None else None
    ratio = ratio_text(amount, number, row["outcome"]) if number and amount else None
    return Outcome(
        location=pair.location if pair else row["location"], sample_id=row["sample_id"], sample_kind=row["sample_kind"],
        depth_top=plain(row["depth_top"]), depth_bottom=plain(row["depth_bottom"]), depth_unit=row["depth_unit"],
        sampled_at=row["sampled_at"].isoformat(sep=" ") if row["sampled_at"] else None,
        medium=row["medium"], analyte=row["analyte"], cas=row["cas"], fraction=row["fraction"],
        detected=row["detected"], value=value, lower=plain(row["lower"]), upper=plain(row["upper"]), limit=limit, reporting_limit=plain(reporting), unit=row["unit"],
        qualifiers=row["lab_qualifiers"], table=use.table.name, version=use.version.effective.isoformat(),
        level=(_bare(level.printed) if level.value is not None and level.upper is None else level.printed) if level else None,
        level_unit=level.unit if level else None, level_normal=plain(number),
        comparison=level.comparison if level else None,
        conditions=dict(level.conditions) if level else {},
        outcome=row["outcome"], because="; ".join([_because(row, use, item, ratio), *([pair.told] if pair else [])]), ratio=ratio,
        citation=(level.citation if level else "") or use.table.citation,
        transcription=level.transcription if level else "",
        source={
            "deliverable": row["deliverable_id"], "file": row["file"], "sheet": row["sheet"], "row": row["row"],
            "column": row["column_letter"], "text": row["text"],
        },
        parts=tuple(row["parts"]), review_qualifiers=row["review"] or "", review_reasons=row["review_reasons"] or "",
        duplicate=pair.document if pair else None, outweighed=(row["id"], row["table_no"]) in decided.outweighed,
    )  # fmt: skip


def _bare(printed: str) -> str:
    text = printed.replace(",", "")
    return f"0{text}" if text.startswith(".") else text


def _amounts(row: Mapping[str, Any]) -> tuple[str | None, str | None]:
    """The value of a detection, or the limit of a non-detect, in the digits in which it was reported."""
    if not row["detected"]:
        return None, row["shown"] or plain(row["upper"])
    if row["parts"]:
        return plain(row["lower"] if row["outcome"] == "exceeds" or row["upper"] is None else row["upper"]), None
    if row["converted"]:
        return plain(row["lower"]), None
    return row["shown"] or None, None


def _because(row: Mapping[str, Any], use: TableInUse, item: Chosen | None, ratio: str | None) -> str:
    if item is None:
        if row["outcome"] == "open":
            return "level not available: this row of the table was not read"
        if row["medium"] not in use.table.media:
            return f"no table in use covers {row['medium'].replace('_', ' ')}"
        return f"no level is listed in {use.table.name}"
    level = item.row
    said = [_comparison(row, level, ratio)]
    if row["rows_disagree"]:
        levels = " and ".join(use.chosen[at].row.printed for at in row["candidates"])
        said = [f"the rows {levels} {level.unit} disagree and the condition is unknown"]
    elif row["condition_unknown"]:
        said.append("every row that may apply agrees")
    if row["told"]:
        said.append(f"level {level.printed} because {row['told']}" if not row["condition_unknown"] else row["told"])
    if item.because:
        said.append(item.because)
    if row["parts"]:
        said.append("from " + ", ".join(row["parts"]))
    if row["converted"]:
        said.append(f"dry weight at {plain(row['solids_used'])} % solids")
    if row["runs"] > 1:
        said.append(f"chosen of {row['runs']} analyses")
    if "estimated" in row["effects"].split():
        said.append("estimated")
    if row["review_reasons"]:
        said.append(f"review: {row['review_reasons']}")
    return "; ".join(part for part in said if part)


def _comparison(row: Mapping[str, Any], level: LevelRow, ratio: str | None) -> str:
    if level.kind == "no_level":
        return f"the table says: {level.printed} (no level)"
    if level.kind == "unavailable":
        return f"level not available: the table says {level.printed}"
    if level.kind == "words":
        return f"the level is in words: {level.printed}"
    sign = "at or above" if level.comparison == "at_or_above" else "above"
    doubt = row["doubt"]
    if row["outcome"] == "exceeds":
        ground = f", though {DOUBTS[doubt]}" if doubt else ""
        return f"{sign} {level.printed} {level.unit}{ground}"
    if row["outcome"] == "does_not_exceed":
        what = "limit" if not row["detected"] else "bound" if doubt or row["parts"] else ""
        ground = f" ({DOUBTS[doubt]}, which bounds it)" if doubt else ""
        return f"{what + ' ' if what else ''}not {sign} {level.printed} {level.unit}{ground}"
    if doubt:
        return DOUBTS[doubt]
    if row["parts"] and row["upper"] is not None:
        return "the level lies between the bounds of the sum"
    if level.kind == "range":
        return f"within the range {level.printed} {level.unit}"
    return f"the limit is {ratio} times the level"
