"""Field duplicates in the screen: one outcome for a parent and its duplicate, and whether it depends on the rule.

Both are held against the level, and so is the mean of two detections; then the rule says which outcome stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.pairs import relative_difference
from screening.quality.shown import figures, plain
from screening.store.fill import fill

if TYPE_CHECKING:
    import duckdb

DUPLICATE_RULES = {
    "higher": "the worse of the two outcomes stands, and of equal ones the higher value",
    "parent": "the parent stands",
    "mean": "the mean of two detections held against one level stands, else the worse of the two outcomes",
}
_WORSE = ("exceeds", "open", "no_level", "does_not_exceed")

_PAIRED = """
CREATE OR REPLACE TEMP TABLE paired AS
SELECT p.id AS parent_id, d.id AS duplicate_id, CAST(NULL AS BIGINT) AS mean_id
FROM field_pair AS f
JOIN comparand AS p ON p.sample_id = f.parent AND p.sample_kind = 'field'
JOIN comparand AS d ON d.sample_id = f.duplicate AND d.sample_kind = 'field_duplicate' AND d.analyte = p.analyte
    AND d.fraction = p.fraction AND d.unit = p.unit AND d.medium = p.medium AND d.depth_top IS NOT DISTINCT FROM p.depth_top
    AND d.only_table IS NOT DISTINCT FROM p.only_table
    AND (d.sampled_on = p.sampled_on OR d.sampled_on IS NULL OR p.sampled_on IS NULL)
QUALIFY count(*) OVER (PARTITION BY d.id) = 1  -- a duplicate that may be that of several samples decides for none of them
"""
_NUMBERS = """
SELECT t.parent_id, t.duplicate_id, p.lower, d.lower
FROM paired AS t JOIN comparand AS p ON p.id = t.parent_id JOIN comparand AS d ON d.id = t.duplicate_id
WHERE p.detected AND d.detected AND p.lower = p.upper AND d.lower = d.upper
ORDER BY t.parent_id, t.duplicate_id
"""
_MEAN = """
INSERT INTO comparand BY NAME
SELECT c.* REPLACE (
    m.id AS id, CAST(m.mean AS DECIMAL(38, 18)) AS lower, CAST(m.mean AS DECIMAL(38, 18)) AS upper, m.shown AS shown, false AS converted,
    false AS below_upper
)
FROM mean_of AS m JOIN comparand AS c ON c.id = m.parent_id
"""
_MEAN_STATES = """
INSERT INTO value_state
SELECT v.table_no, v.state_key, m.id, v.state, v.told FROM value_state AS v JOIN mean_of AS m ON m.parent_id = v.id
"""
_JUDGED = """
SELECT t.parent_id, t.duplicate_id, t.mean_id, o.table_no, o.id, o.outcome, c.sample_id, c.detected, c.lower, c.upper, c.shown, c.unit, c.converted,
    c.location, o.row_no
FROM (SELECT *, unnest([parent_id, duplicate_id, mean_id]) AS side FROM paired) AS t
JOIN outcome AS o ON o.id = t.side
JOIN comparand AS c ON c.id = o.id
ORDER BY t.parent_id, t.duplicate_id, o.table_no, o.id
"""


@dataclass(frozen=True)
class Pair:
    """What is told of a pair: one line for people, the place (the parent's), and the document with both values."""

    told: str
    location: str
    document: Mapping[str, Any]


@dataclass(frozen=True)
class Decided:
    """What is told of each side by (comparand, table), and the sides whose outcome does not stand."""

    told: dict[tuple[int, int], Pair]
    outweighed: set[tuple[int, int]]


@dataclass(frozen=True)
class _Side:
    id: int
    outcome: str
    sample_id: str
    detected: bool
    lower: Decimal
    upper: Decimal | None
    text: str
    unit: str
    location: str
    level_row: int | None

    @property
    def rank(self) -> tuple[int, int, Decimal]:
        """The worse first: the outcome, then an unknown bound, then the higher value."""
        amount = self.upper if self.upper is not None else self.lower
        return (_WORSE.index(self.outcome), self.upper is not None, -amount)


@dataclass
class _Group:
    """A parent with its duplicates and the means of them, as one table judges them."""

    parent: _Side | None = None
    duplicates: list[_Side] = field(default_factory=list)
    means: list[_Side] = field(default_factory=list)


def weigh(connection: duckdb.DuckDBPyConnection) -> None:
    """Pair duplicates with parents in ``paired`` and add the mean of two detections to ``comparand``.

    Reads ``field_pair`` and ``value_state``: a mean lies where its parent lies.
    """
    connection.execute(_PAIRED)
    pairs = connection.execute(_NUMBERS).fetchall()
    if not pairs:
        return
    (last,) = connection.execute("SELECT max(id) FROM comparand").fetchall()[0]
    means = []
    for number, (parent, duplicate, one, two) in enumerate(pairs, start=last + 1):
        mean = (one + two) * Decimal("0.5")
        means.append((number, parent, duplicate, f"{mean:f}", plain(mean)))
    fill(connection, "mean_of", "id BIGINT, parent_id BIGINT, duplicate_id BIGINT, mean VARCHAR, shown VARCHAR", means)
    connection.execute(_MEAN)
    connection.execute(_MEAN_STATES)
    connection.execute(
        "UPDATE paired SET mean_id = m.id FROM mean_of AS m WHERE m.parent_id = paired.parent_id AND m.duplicate_id = paired.duplicate_id"
    )


def decide(connection: duckdb.DuckDBPyConnection, rule: str) -> Decided:
    """Which outcome of each pair and table stands; means that do not are taken out of ``outcome``."""
    found: dict[tuple[int, int], _Group] = {}
    for row in connection.execute(_JUDGED).fetchall():
        parent, duplicate, _, table, identity = row[:5]
        group, side = found.setdefault((parent, table), _Group()), _side(row)
        if identity == parent:
            group.parent = side
        elif identity == duplicate:
            group.duplicates.append(side)
        else:
            group.means.append(side)
    decided, lost = Decided({}, set()), []
    for (_, table), group in found.items():
        by_rule = _by_rule(group.parent, group) if group.parent is not None and group.duplicates else {}
        stands = by_rule.get(rule)
        lost += [(side.id, table) for side in group.means if side != stands]
        if group.parent is None or stands is None:
            continue
        pair = _told(rule, by_rule, group.parent, group.duplicates)
        decided.told[stands.id, table] = pair
        for side in (group.parent, *group.duplicates):
            if side != stands:
                decided.outweighed.add((side.id, table))
                decided.told[side.id, table] = replace(pair, told=f"outweighed: {pair.told} stands")
    if lost:
        fill(connection, "no_mean", "id BIGINT, table_no INTEGER", lost)
        connection.execute("DELETE FROM outcome WHERE (id, table_no) IN (SELECT id, table_no FROM no_mean)")
    return decided


def _by_rule(parent: _Side, group: _Group) -> dict[str, _Side]:
    worse = min((parent, *group.duplicates), key=lambda side: side.rank)
    alike = len({side.level_row for side in (parent, *group.duplicates)}) == 1
    mean = group.means[0] if alike and len(group.duplicates) == len(group.means) == 1 else worse
    return {"higher": worse, "parent": parent, "mean": mean}


def _told(rule: str, by_rule: Mapping[str, _Side], parent: _Side, duplicates: Sequence[_Side]) -> Pair:
    depends = len({side.outcome for side in by_rule.values()}) > 1
    values = " and ".join(f"field duplicate {side.sample_id} {side.text}" for side in duplicates)
    which = {
        "higher": "the higher" if by_rule["higher"].detected else "the worse",
        "parent": "the parent",
        "mean": "the mean"
        if by_rule["mean"] not in (parent, *duplicates)
        else "the worse (a mean is formed of two detections only)",
    }
    line = f"{which[rule]} of {parent.sample_id} {parent.text} and {values}"
    if depends:
        others = ", ".join(f"{name}: {side.outcome.replace('_', ' ')}" for name, side in by_rule.items() if name != rule)
        line += f"; verdict depends on the duplicate rule ({others})"
    document = {
        "rule": rule, "depends_on_rule": depends, "outcomes": {name: side.outcome for name, side in by_rule.items()},
        "parent": _shown(parent), "field_duplicates": [{**_shown(side), **_difference(parent, side)} for side in duplicates],
    }  # fmt: skip
    return Pair(line, parent.location, document)


def _difference(parent: _Side, duplicate: _Side) -> dict[str, str | None]:
    both = parent.detected and duplicate.detected and parent.lower + duplicate.lower
    return {"relative_difference_percent": figures(relative_difference(parent.lower, duplicate.lower)) if both else None}


def _shown(side: _Side) -> dict[str, Any]:
    return {"sample_id": side.sample_id, "detected": side.detected, "result": side.text, "unit": side.unit}


def _side(row: tuple[Any, ...]) -> _Side:
    identity, outcome, sample, detected, lower, upper, shown, unit, converted, location, level_row = row[4:]
    amount = lower if detected and lower else upper
    number = shown if shown and not converted else figures(amount, 4) if amount is not None else ""
    text = f"{'' if detected else '<'}{number}" if number else "without a limit"
    return _Side(identity, outcome, sample, detected, lower, upper, text, unit, location, level_row)
