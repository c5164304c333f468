"""The rows of law and the conditions they hang on, laid beside the comparands as temporary tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.levels.choose import Chosen
from screening.levels.rules import StandIn
from screening.levels.table import LevelRow, LevelTable, Version
from screening.screen.measure import plain
from screening.screen.presence import presences_of
from screening.screen.ranges import depth_states, measured_states
from screening.screen.states import states
from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class TableInUse:
    """One version of a table and the rows chosen for the site.

    ``settings`` choose the wordings of conditions; ``met`` are conditions of the site stated as 'met'. ``since`` and
    ``until`` bound the sampling days that the version serves, where versions follow the sampling. A version that is
    only used on beside a new one does not say what has no level (``covers``). ``backgrounds`` are natural amounts of
    the site by analyte and medium, in the normal unit.
    """

    table: LevelTable
    version: Version
    chosen: Sequence[Chosen]
    settings: Mapping[str, str] = field(default_factory=dict)
    met: frozenset[str] = frozenset()
    since: date | None = None
    until: date | None = None
    covers: bool = True
    backgrounds: Mapping[tuple[str, str], Decimal] = field(default_factory=dict)

    @property
    def rows(self) -> list[tuple[Chosen, LevelRow]]:
        """Every row that may decide, each group's strictest first, with its group."""
        return [(item, row) for item in self.chosen for row in (item.row, *item.also)]


def register(connection: duckdb.DuckDBPyConnection, tables: Sequence[TableInUse], missing_basis: str) -> None:
    """Make level_row, group_condition, sample_state, value_state, covered and unavailable.

    Reads ``comparand`` and what `measured_states` reads; ``missing_basis`` as for `measure`.
    """
    for name, rows in law_rows(tables).items():
        fill(connection, name, LAW[name], rows)
    of_sample, of_value = [], []
    for number, use in enumerate(tables):
        table = use.table
        for presence in presences_of(table, use.settings):
            of_sample += [
                (number, presence.key, sample, one.state, one.told) for sample, one in states(connection, presence).items()
            ]
        for key, condition in table.conditions.items():
            if condition.origin == "sample" and condition.measured:
                of_value += [(number, key, at, one.state, one.told) for at, one in depth_states(connection, condition)]
            elif condition.origin == "results" and condition.ranges:
                found = measured_states(connection, condition, missing_basis)
                of_sample += [(number, key, sample, one.state, one.told) for sample, one in found.items()]
    fill(connection, "sample_state", STATE.format(of="sample_no"), of_sample)
    fill(connection, "value_state", STATE.format(of="id"), of_value)


LAW = {
    "level_row": (
        "table_no INTEGER, group_no INTEGER, row_no INTEGER, analyte VARCHAR, medium VARCHAR, fraction VARCHAR, "
        "level DECIMAL(38, 18), level_upper DECIMAL(38, 18), kind VARCHAR, counts BOOLEAN, bar DECIMAL(38, 18), "
        "bar_counts BOOLEAN, low_bar DECIMAL(38, 18), low_counts BOOLEAN, tolerated DECIMAL(38, 18), since DATE, until DATE, "
        "stand_in VARCHAR, stand_in_counts BOOLEAN, stand_in_times DECIMAL(10, 3), stand_in_nondetects BOOLEAN, "
        "background DECIMAL(38, 18)"
    ),
    "group_condition": "table_no INTEGER, group_no INTEGER, state_key VARCHAR, state_value VARCHAR, strictest BOOLEAN",
    "covered": "table_no INTEGER, medium VARCHAR, unlisted BOOLEAN, since DATE, until DATE",
    "unavailable": "table_no INTEGER, analyte VARCHAR, medium VARCHAR",
}
"""The tables of law with their columns; ``table_no`` counts the tables in use from 0."""
STATE = "table_no INTEGER, state_key VARCHAR, {of} BIGINT, state VARCHAR, told VARCHAR"


def law_rows(tables: Sequence[TableInUse]) -> dict[str, list[tuple[Any, ...]]]:
    """The rows of each table of `LAW`."""
    made: dict[str, list[tuple[Any, ...]]] = {name: [] for name in LAW}
    for number, use in enumerate(tables):
        table = use.table
        made["level_row"] += [(number, *columns) for columns in _level_rows(use)]
        made["group_condition"] += [
            (number, group, key, value, table.conditions[key].when_unknown == "strictest")
            for group, item in enumerate(use.chosen)
            for key, value in item.depends_on.items()
        ]
        if use.covers:
            made["covered"] += [(number, medium, table.unlisted == "unavailable", use.since, use.until) for medium in table.media]
            made["unavailable"] += [(number, analyte, medium) for analyte in table.unavailable for medium in table.media]
    return made


def _level_rows(use: TableInUse) -> Iterator[tuple[Any, ...]]:
    number = 0
    for group, item in enumerate(use.chosen):
        rows = (item.row, *item.also)
        numbered = any(row.bar is not None for row in rows)
        for row in rows:
            stand_in = _stand_in(use, row)
            yield (
                group, number, row.analyte, row.medium, row.fraction, plain(row.normal_value), plain(row.normal_upper), row.kind,
                row.kind != "no_level" or not numbered,
                plain(row.bar.amount) if row.bar else None, bool(row.bar and row.bar.counts),
                plain(row.low_bar.amount) if row.low_bar else None, bool(row.low_bar and row.low_bar.counts),
                plain(_tolerated(use, row)), use.since, use.until, stand_in.limit if stand_in else "",
                (stand_in.comparison or row.comparison) == "at_or_above" if stand_in else False,
                plain(stand_in.times_detection_limit) if stand_in else None, bool(stand_in and stand_in.nondetects_only),
                plain(use.backgrounds.get((row.analyte, row.medium))),
            )  # fmt: skip
            number += 1


def _stand_in(use: TableInUse, row: LevelRow) -> StandIn | None:
    for one in use.table.stand_ins:
        if one.serves(row.medium) and (not one.needs or one.needs in use.met):
            return one
    return None


def _tolerated(use: TableInUse, row: LevelRow) -> Decimal | None:
    rule = use.table.tolerance
    if rule is None or row.kind != "number" or row.normal_value is None or not rule.serves(row.medium):
        return None
    return row.normal_value * (1 + rule.over)
