"""Figures that look wrong: far from their own class or version, above their own criteria, a note's digit at the end.

A table that was read again says so under [[confirmed]]; its figures are then left in peace.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import combinations, groupby, pairwise

from screening.levels.facts import LevelTable
from screening.levels.figures import read_number
from screening.levels.table import LevelRow, Version

SUSPICIOUS = Decimal(300)
"""Levels of one analyte further apart than this, one condition or one version away, are looked at again."""

NEIGHBOUR = Decimal(3)
"""Further than this from a neighbouring level, and equal to it without the last digit: a note glued to a figure."""

Found = tuple[str, int | None, str]


def figures(table: LevelTable, versions: Sequence[Version]) -> Iterator[Found]:
    """File, row and text of every suspicious figure that the table does not confirm."""
    for version in versions:
        file = f"{table.name}/{version.effective}.csv"
        rows = [row for row in version.rows if not _confirmed(table, row)]
        yield from ((file, row.number, text) for row in rows if (text := _above_own_criteria(row, table)) is not None)
        for _, group in groupby(sorted(rows, key=_substance), _substance):
            for left, right in combinations(group, 2):
                if _neighbours(table, left, right):
                    yield from _pair(file, left, right)
    for before, after in pairwise(versions):
        file = f"{table.name}/{after.effective}.csv"
        old = {_place(row): row for row in before.rows}
        for row in after.rows:
            if _place(row) in old and not _confirmed(table, row):
                yield from _pair(file, old[_place(row)], row, f" of version {before.effective}")


def _confirmed(table: LevelTable, row: LevelRow) -> bool:
    return any(one.analyte == row.analyte and one.medium in ("", row.medium) for one in table.confirmed)


def _place(row: LevelRow) -> tuple[object, ...]:
    return (*_substance(row), tuple(sorted(row.conditions.items())))


def _substance(row: LevelRow) -> tuple[str, str, str]:
    return (row.analyte, row.medium, row.fraction)


def _neighbours(table: LevelTable, left: LevelRow, right: LevelRow) -> bool:
    """Whether two rows of a substance differ in exactly one condition, whose values the table does not set apart."""
    if left.conditions.keys() != right.conditions.keys():
        return False
    differing = [key for key in left.conditions if left.conditions[key] != right.conditions[key]]
    return len(differing) == 1 and differing != ["pathway"] and not table.conditions[differing[0]].apart


def _pair(file: str, left: LevelRow, right: LevelRow, where: str = "") -> Iterator[Found]:
    if not left.normal_value or not right.normal_value or left.normal_unit != right.normal_unit:
        return
    low, high = sorted((left, right), key=lambda row: row.normal_value or Decimal(0))
    assert low.normal_value and high.normal_value
    if high.normal_value > low.normal_value * SUSPICIOUS:
        times = high.normal_value / low.normal_value
        yield file, right.number, f"{right.analyte}: {times:.0f} times apart from row {left.number}{where}; read both again"
    elif high.normal_value > low.normal_value * NEIGHBOUR and _same_but_last_digit(low, high):
        yield (
            file, right.number,
            f"{right.analyte}: {high.printed} is {low.printed} of row {left.number}{where} with one more digit; "
            "is a note's number glued to it?",
        )  # fmt: skip


def _same_but_last_digit(low: LevelRow, high: LevelRow) -> bool:
    return high.unit == low.unit and high.printed[:-1] == low.printed and high.printed[-1] in "123456789"


def _above_own_criteria(row: LevelRow, table: LevelTable) -> str | None:
    read = [read_number(part.partition("=")[2], table.number_style) for part in row.criteria.split(";")]
    criteria = [number for number in read if number is not None]
    if row.value is None or not criteria or row.value <= max(criteria):
        return None
    return f"{row.analyte}: the level {row.printed} lies above every criterion it is made from ({row.criteria})"
