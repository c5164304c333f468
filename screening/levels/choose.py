"""Which rows of a version apply to a site: by its conditions, or the strictest where a condition is unknown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from screening.errors import Refused
from screening.levels.table import LevelRow, LevelTable, Version


@dataclass(frozen=True)
class Chosen:
    """A row that applies, why it was picked, what of the sample must still fit, and what was assumed."""

    row: LevelRow
    because: str = ""
    depends_on: Mapping[str, str] = field(default_factory=dict)
    assumed: str | None = None


def choose(table: LevelTable, version: Version, conditions: Mapping[str, str]) -> list[Chosen]:
    """The rows that apply under the site's conditions, in the order of the table.

    Rows that differ only in an unknown site condition are reduced to the strictest, and the choice says so. Rows that
    hang on the sample or its results stay side by side. Raises `Refused` for a value that the table does not know.
    """
    for key, value in conditions.items():
        known = table.conditions.get(key)
        if known is not None and known.origin != "results" and value not in known.values:
            raise Refused(f"condition {key}={value}: {table.name} knows {', '.join(known.values)}")
    groups: dict[tuple[object, ...], list[LevelRow]] = {}
    for row in version.rows:
        fits = all(conditions.get(key, value) == value for key, value in row.conditions.items() if _of_site(table, key))
        if fits:
            hanging = tuple(sorted((key, value) for key, value in row.conditions.items() if not _of_site(table, key)))
            groups.setdefault((row.analyte, row.medium, row.fraction, hanging), []).append(row)
    return [_pick(table, rows, conditions) for rows in groups.values()]


def _of_site(table: LevelTable, key: str) -> bool:
    return table.conditions[key].origin == "site"


def _pick(table: LevelTable, rows: list[LevelRow], conditions: Mapping[str, str]) -> Chosen:
    row = min(rows, key=strictness)
    depends = {key: value for key, value in row.conditions.items() if not _of_site(table, key)}
    stated = [
        f"{table.conditions[key].title} {value}"
        for key, value in row.conditions.items()
        if _of_site(table, key) and key in conditions
    ]
    unknown = sorted({key for one in rows for key in one.conditions if _of_site(table, key) and key not in conditions})
    because = f"for {', '.join(stated)}" if stated else ""
    assumed = None
    if unknown:
        titles = " and ".join(table.conditions[key].title for key in unknown)
        assumed = f"{table.name}: {titles} not stated - strictest by default"
        because = "; ".join(part for part in (because, f"{titles} not stated: strictest row") if part)
    return Chosen(row, because, depends, assumed)


def strictness(row: LevelRow) -> tuple[int, Decimal, int]:
    """The order from the strictest row: the lowest number first, 'at or above' before 'above', words last."""
    if row.normal_value is None:
        return (1, Decimal(0), 0)
    return (0, row.normal_value, 0 if row.comparison == "at_or_above" else 1)
