"""Which rows of a version apply to a site: by its conditions, or the strictest where a condition is unknown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from screening.errors import Refused
from screening.levels.facts import Condition, LevelTable
from screening.levels.table import LevelRow, Version


@dataclass(frozen=True)
class Chosen:
    """A row that applies, why it was picked, what must still fit, what was assumed, and the laxer rows beside it.

    ``depends_on`` names facts of the sample or its results, and facts of the site that are unknown where the table
    says that an unknown one leaves the outcome open. ``also`` are the rows of other pathways that apply as well, or of
    values that an unknown condition may have.
    """

    row: LevelRow
    because: str = ""
    depends_on: Mapping[str, str] = field(default_factory=dict)
    assumed: str | None = None
    also: tuple[LevelRow, ...] = ()


def choose(table: LevelTable, version: Version, conditions: Mapping[str, str]) -> list[Chosen]:
    """The rows that apply under the conditions stated, in the order of the table.

    Rows that differ only in an unknown condition of the site are reduced to the strictest, and the choice says so; so
    are pathways that apply together. Rows that hang on the sample or its results stay side by side; a fact of the
    sample that is stated for the whole site counts as stated. Raises `Refused` for a value that the table does not
    know, and for a stated result.
    """
    stated = _stated(table, conditions)
    groups: dict[tuple[object, ...], list[LevelRow]] = {}
    for row in version.rows:
        if all(value in stated.get(key, (value,)) for key, value in row.conditions.items()):
            hanging = _hanging(table, row, stated)
            groups.setdefault((row.analyte, row.medium, row.fraction, tuple(sorted(hanging.items()))), []).append(row)
    return [_pick(table, rows, stated) for rows in groups.values()]


def _stated(table: LevelTable, conditions: Mapping[str, str]) -> Mapping[str, tuple[str, ...]]:
    stated = {}
    for key, text in conditions.items():
        known = table.conditions.get(key)
        if known is None:
            continue
        if known.origin == "results":
            raise Refused(f"condition {key}={text}: {known.title} is decided by each sample's results; leave it out")
        values = tuple(part.strip() for part in text.split(",")) if known.together else (text,)
        if not all(value in known.values for value in values):
            several = ", or several of them parted by commas" if known.together else ""
            raise Refused(f"condition {key}={text}: {table.name} knows {', '.join(known.values)}{several}")
        stated[key] = values
    return stated


def _hanging(table: LevelTable, row: LevelRow, stated: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    return {
        key: value
        for key, value in row.conditions.items()
        if key not in stated and (table.conditions[key].origin != "site" or table.conditions[key].when_unknown == "open")
    }


def _pick(table: LevelTable, rows: list[LevelRow], stated: Mapping[str, tuple[str, ...]]) -> Chosen:
    row, *also = sorted(rows, key=strictness)
    depends = _hanging(table, row, stated)
    said = [f"{table.conditions[key].title} {_words(value)}" for key, value in row.conditions.items() if key in stated]
    reasons = [f"for {', '.join(said)}"] if said else []
    differing = [
        table.conditions[key]
        for key in sorted({key for one in rows for key in one.conditions} - depends.keys())
        if key not in stated or len(stated[key]) > 1
    ]
    unknown = [condition.title for condition in differing if not condition.together]
    assumed = None
    if unknown:
        titles = " and ".join(unknown)
        assumed = f"{table.name}: {titles} not stated - strictest by default"
        reasons.append(f"{titles} not stated: strictest row")
    reasons += [_governs(condition, row, rows) for condition in differing if condition.together and also]
    return Chosen(row, "; ".join(reasons), depends, assumed, tuple(also))


def _governs(condition: Condition, row: LevelRow, rows: list[LevelRow]) -> str:
    values = {one.conditions[condition.key] for one in rows if condition.key in one.conditions}
    return f"{condition.title} {_words(row.conditions.get(condition.key, ''))} governs of {len(values)} that apply"


def _words(value: str) -> str:
    return value.replace("_", " ")


def strictness(row: LevelRow) -> tuple[int, Decimal, int]:
    """The order from the strictest row: the lowest number first, then levels not read or in words, then no level.

    Of equal numbers 'at or above' is stricter than 'above'. A level that is not known as a number may be stricter
    still, so it does not let a value pass that another row lets pass; see the comparison.
    """
    if row.normal_value is None:
        return (2 if row.kind == "no_level" else 1, Decimal(0), 0)
    return (0, row.normal_value, 0 if row.comparison == "at_or_above" else 1)
