"""The findings and the overrides brought together: one mark a result, with all its reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.quality.findings import Finding, most_severe
from screening.store.fill import fill
from screening.store.overrides import USABLE, Override

if TYPE_CHECKING:
    import duckdb

_COLUMNS = "row_id BIGINT, qualifier VARCHAR, automatic VARCHAR, late BOOLEAN, blank BOOLEAN, reasons VARCHAR, by_whom VARCHAR, limit_at_most DECIMAL(38, 18)"


@dataclass(frozen=True)
class Mark:
    """What the review says of one result; ``automatic`` is what it would say without the person.

    ``limit`` is the highest that the limit of a non-detect may be, where the one delivered is in doubt.
    """

    qualifier: str
    automatic: str
    late: bool
    blank: bool
    reasons: str
    by_whom: str = ""
    limit: Decimal | None = None


def marks(findings: Sequence[Finding], overrides: Sequence[Override]) -> dict[int, Mark]:
    """One mark a row id: the most severe qualifier, every reason; an override stands before the automatic answer."""
    of_row: dict[int, list[Finding]] = {}
    for finding in findings:
        for row_id in finding.rows:
            of_row.setdefault(row_id, []).append(finding)
    made = {
        row_id: Mark(
            qualifier := most_severe(one.qualifier for one in found),
            qualifier,
            any(one.late for one in found),
            any(one.blank for one in found),
            "; ".join(
                dict.fromkeys(
                    f"{one.qualifier.replace('_', ' ')}: {one.reason.replace('_', ' ')} ({one.observed})" for one in found
                )
            ),
            limit=max((one.limit for one in found if one.limit is not None), default=None),
        )
        for row_id, found in of_row.items()
    }
    for act in overrides:
        before = made.get(act.row_id, Mark("", "", False, False, ""))
        automatic = before.automatic or "no qualifier"
        told = f"{act.qualifier.replace('_', ' ')} by {act.by_whom}: {act.why} (automatic: {automatic.replace('_', ' ')})"
        qualifier = "" if act.qualifier == USABLE else act.qualifier
        made[act.row_id] = Mark(qualifier, before.automatic, False, False, told, act.by_whom)
    return made


def fill_reviewed(connection: duckdb.DuckDBPyConnection, made: Mapping[int, Mark]) -> None:
    """Fill the temporary table ``reviewed``, one row a marked result."""
    names = ("qualifier", "automatic", "late", "blank", "reasons", "by_whom", "limit")
    rows = [(row_id, *(getattr(one, name) for name in names)) for row_id, one in made.items()]
    fill(connection, "reviewed", _COLUMNS, rows)
