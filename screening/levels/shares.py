"""Two levels of a substance that the rule ties to each other: a preventive limit at 10 or 20 % of the standard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from screening.levels.facts import LevelTable
from screening.levels.rules import Ratio
from screening.levels.table import LevelRow, Version

Found = tuple[str, int | None, str]


def broken(table: LevelTable, versions: Sequence[Version]) -> Iterator[Found]:
    """File, row and text of every pair of levels that breaks the table's [ratio], confirmed ones left out."""
    rule = table.ratio
    if rule is None:
        return
    confirmed = {one.analyte for one in table.confirmed}
    for version in versions:
        file = f"{table.name}/{version.effective}.csv"
        for pair in _pairs(rule, version).values():
            row = next(iter(pair.values()))
            text = _fault(rule, pair.get(rule.lower), pair.get(rule.upper))
            if text is not None and row.analyte not in confirmed:
                yield file, row.number, f"{row.analyte}: {text}"


def _pairs(rule: Ratio, version: Version) -> dict[tuple[object, ...], dict[str, LevelRow]]:
    pairs: dict[tuple[object, ...], dict[str, LevelRow]] = {}
    for row in version.rows:
        others = tuple(sorted((key, value) for key, value in row.conditions.items() if key != rule.condition))
        place = (row.analyte, row.medium, row.fraction, others)
        pairs.setdefault(place, {})[row.conditions.get(rule.condition, "")] = row
    return pairs


def _fault(rule: Ratio, lower: LevelRow | None, upper: LevelRow | None) -> str | None:
    if lower is None or upper is None:
        return f"has no {(rule.lower if lower is None else rule.upper).replace('_', ' ')}"
    low, high = lower.normal_value, upper.normal_value
    if low is None or high is None or any(high * share == low for share in rule.shares):
        return None
    shares = " or ".join(f"{(share * 100).normalize():f} %" for share in rule.shares)
    return f"{lower.printed} {lower.unit} is not {shares} of {upper.printed} {upper.unit}; read both again"
