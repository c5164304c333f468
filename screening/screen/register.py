"""The rows of law and the conditions they hang on, laid beside the comparands as temporary tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pandas as pd

from screening.levels.choose import Chosen
from screening.levels.rules import StandIn
from screening.levels.table import LevelRow, LevelTable, Version
from screening.screen.measure import plain
from screening.screen.presence import presences_of
from screening.screen.ranges import depth_states, measured_states
from screening.screen.states import states

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
    levels, conditions, covered, unavailable, of_sample, of_value = [], [], [], [], [], []
    for number, use in enumerate(tables):
        table = use.table
        levels += [(number, *columns) for columns in _level_rows(use)]
        conditions += [
            (number, group, key, value, table.conditions[key].when_unknown == "strictest")
            for group, item in enumerate(use.chosen)
            for key, value in item.depends_on.items()
        ]
        if use.covers:
            covered += [(number, medium, table.unlisted == "unavailable", use.since, use.until) for medium in table.media]
            unavailable += [(number, analyte, medium) for analyte in table.unavailable for medium in table.media]
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
    _fill(
        connection, "level_row", levels,
        "table_no group_no row_no analyte medium fraction level level_upper kind counts bar bar_counts low_bar low_counts "
        "tolerated since until stand_in stand_in_counts stand_in_times stand_in_nondetects background",
        _LEVEL_TYPES,
    )  # fmt: skip
    _fill(
        connection, "group_condition", conditions, "table_no group_no state_key state_value strictest",
        {"table_no": "INTEGER", "group_no": "INTEGER", "strictest": "BOOLEAN"},
    )  # fmt: skip
    _fill(connection, "covered", covered, "table_no medium unlisted since until", _LEVEL_TYPES | {"unlisted": "BOOLEAN"})
    _fill(connection, "unavailable", unavailable, "table_no analyte medium", _LEVEL_TYPES)
    _fill(
        connection, "sample_state", of_sample, "table_no state_key sample_no state told", _LEVEL_TYPES | {"sample_no": "BIGINT"}
    )
    _fill(connection, "value_state", of_value, "table_no state_key id state told", _LEVEL_TYPES | {"id": "BIGINT"})


_DECIMAL = "DECIMAL(38, 18)"
_LEVEL_TYPES = {
    "table_no": "INTEGER", "group_no": "INTEGER", "row_no": "INTEGER", "level": _DECIMAL, "level_upper": _DECIMAL,
    "counts": "BOOLEAN", "bar": _DECIMAL, "bar_counts": "BOOLEAN", "low_bar": _DECIMAL, "low_counts": "BOOLEAN",
    "tolerated": _DECIMAL, "since": "DATE", "until": "DATE", "stand_in_counts": "BOOLEAN", "stand_in_nondetects": "BOOLEAN", "stand_in_times": "DECIMAL(10, 3)",
    "background": _DECIMAL,
}  # fmt: skip


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
