"""The law of a question: the versions in force, with the conditions and settings that their tables know."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from screening.decision.request import SAMPLING, LevelUsed, full_settings, resolve_versions
from screening.errors import Refused
from screening.levels.table import LevelTable
from screening.levels.versions import Standards
from screening.screen.presence import wordings_of

CLOCKS = ("levels_by", "levels_on")
"""Settings that a question's day makes, which nobody says."""
NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class Law:
    """The versions used, the conditions and settings in full, and which inherited settings no table in use knows any more."""

    levels: tuple[LevelUsed, ...]
    conditions: Mapping[str, str]
    settings: Mapping[str, str]
    dropped: tuple[str, ...] = ()

    @property
    def versions(self) -> list[tuple[str, str]]:
        """Each version as (table, effective day)."""
        return [(used.table, used.version) for used in self.levels]


def law_on(
    standards: Standards,
    asked: Sequence[str],
    levels_on: dt.date | str,
    conditions: Mapping[str, str],
    said: Mapping[str, str] = NOTHING,
    settings: Mapping[str, str] = NOTHING,
    inherited: Mapping[str, str] = NOTHING,
) -> Law:
    """The law on a day (or by `SAMPLING`) of the tables asked for as TABLE or TABLE@VERSION.

    ``conditions`` are those of the site, ``said`` those a person adds; ``settings`` are said as well, ``inherited`` those of
    an earlier run. Raises `Refused` for an unknown table, version, said condition or setting.
    """
    given = {**{key: value for key, value in inherited.items() if key not in CLOCKS}, **settings}
    versions = resolve_versions(standards, tuple(asked), levels_on, given)
    levels = tuple(LevelUsed(table, day, standards.version(table, day).sha256) for table, day in versions)
    tables = [standards.table(name) for name in dict.fromkeys(table for table, _ in versions)]
    _refuse_unknown(said, tables)
    wordings: dict[str, tuple[str, ...]] = {}
    for one in tables:
        wordings |= wordings_of(one)
    phased = [one.name for one in tables if one.phase_in]
    dropped = [key for key in given if key not in settings and not _known(key, wordings, phased)]
    full = full_settings({key: value for key, value in given.items() if key not in dropped}, wordings, phased)
    if levels_on == SAMPLING:
        full["levels_by"] = SAMPLING
    elif "previous" in (full[f"phase_in.{name}"] for name in phased):
        full["levels_on"] = str(levels_on)
    return Law(levels, dict(sorted({**conditions, **said}.items())), full, tuple(f"{key}={given[key]}" for key in dropped))


def _known(key: str, wordings: Mapping[str, tuple[str, ...]], phased: Iterable[str]) -> bool:
    kind, _, name = key.partition(".")
    return not name or (name in wordings if kind == "wording" else name in phased)


def _refuse_unknown(said: Mapping[str, str], tables: Sequence[LevelTable]) -> None:
    known = {key for one in tables for key in one.conditions}
    for key in said:
        if key not in known:
            raise Refused(f"--condition {key}: no table used has it; known are {', '.join(sorted(known)) or 'none'}")
