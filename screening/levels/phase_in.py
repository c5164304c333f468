"""The version before, used on where a rule phases a new one in: which of its levels may still decide."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from screening.errors import Refused
from screening.levels.choose import Chosen
from screening.levels.facts import LevelTable
from screening.levels.rules import PhaseIn
from screening.levels.table import LevelRow, Version


def phase_in_of(table: LevelTable, version: Version, on: date) -> PhaseIn:
    """The rule that phases the version in on a day. Raises `Refused` where there is none, or the time is over."""
    rule = table.phase_in
    last = max(table.spans)
    if rule is None or version.effective.isoformat() not in (rule.versions or (last,)):
        raise Refused(
            f"{table.name} version {version.effective}: no rule lets the version before be used on; leave the setting out"
        )
    if rule.until is not None and on > rule.until:
        raise Refused(f"{table.name}: the version before could be used until {rule.until} only ({rule.citation}), not on {on}")
    return rule


def elect(rule: PhaseIn, old: Sequence[Chosen], new: Sequence[Chosen]) -> tuple[list[Chosen], list[Chosen]]:
    """The old rows that still decide and the new rows that decide at once.

    A new row decides where the old version has no level for the same substance and conditions, or where the rule lets
    no level be phased in that fell to 1 / ``not_if_lowered_by`` of the old one or below.
    """
    before = {_place(item): item for item in old if item.row.kind != "no_level"}
    at_once = [item for item in new if _place(item) not in before or _fell(rule, before[_place(item)].row, item.row)]
    overruled = {_place(item) for item in at_once}
    return [item for place, item in before.items() if place not in overruled], at_once


def _fell(rule: PhaseIn, old: LevelRow, new: LevelRow) -> bool:
    if rule.not_if_lowered_by is None or old.normal_value is None or new.normal_value is None:
        return False
    return new.normal_value * rule.not_if_lowered_by <= old.normal_value


def _place(item: Chosen) -> tuple[object, ...]:
    return (item.row.analyte, item.row.medium, item.row.fraction, tuple(sorted(item.depends_on.items())))
