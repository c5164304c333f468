"""The conditions of a table that a sample's results decide, in the wording that the settings choose."""

from __future__ import annotations

from collections.abc import Mapping

from screening.levels.table import Condition, LevelTable
from screening.screen.states import Presence, Share


def wordings_of(table: LevelTable) -> dict[str, tuple[str, ...]]:
    """The wordings that a setting 'wording.CONDITION' may choose, the default first."""
    return {
        key: tuple(dict.fromkeys((_default(condition), *condition.wordings)))
        for key, condition in table.conditions.items()
        if condition.origin == "results" and condition.wordings
    }


def presences_of(table: LevelTable, settings: Mapping[str, str]) -> list[Presence]:
    """The tests to make in every sample; a condition with ranges asks how much, not whether, see `ranges`."""
    made = []
    for key, condition in table.conditions.items():
        if condition.origin != "results" or condition.analyte is None or condition.ranges:
            continue
        wording = condition.wordings.get(settings.get(f"wording.{key}", _default(condition)))
        share = None
        if wording is not None and wording.share_below is not None:
            share = Share(wording.parts, wording.of, wording.share_below)
        made.append(Presence(key, condition.analyte, condition.limit_at_most, condition.limit_unit, share))
    return made


def _default(condition: Condition) -> str:
    return condition.default_wording or next(iter(condition.wordings), "")
