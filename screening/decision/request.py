"""What decides a screen: site facts, data, level versions, conditions and settings; the run id is their hash."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import cast

from screening.errors import Misuse, Refused
from screening.levels.versions import Standards, parse_reference
from screening.site.site_file import SiteFile
from screening.store.rule_texts import RuleUsed

RULES = 3
"""Raised whenever the engine would answer the same request differently, so that old run ids keep their meaning."""

JOINS_COVERAGE = 2
"""From this engine on the recommendation joins coverage by the rules of closure."""

SAMPLING = "sampling"
"""Each sample is held against the version in force on the day of its sampling."""

SETTINGS: Mapping[str, tuple[str, ...]] = {
    "missing_basis": ("open", "dry", "as_received"),
    "equivalents_nondetects": ("rule", "bounds", "zero", "half", "full"),
    "chosen_rule": ("default", "last_run"),
    "duplicate_rule": ("higher", "parent", "mean"),
}
"""Settings of a screen and their allowed values, the default first. Tables add 'wording.CONDITION' and 'phase_in.TABLE';
'review' names an edition, see `screening.quality.editions`."""
REVIEW = "review"


@dataclass(frozen=True)
class LevelUsed:
    """One version of one table, and the hash of its text."""

    table: str
    version: str
    sha256: str


@dataclass(frozen=True)
class ReviewUsed:
    """The review edition used, and the hash of its files."""

    edition: str
    version: str
    sha256: str


@dataclass(frozen=True)
class Request:
    """Everything that decides the answer.

    ``software`` is '' but where another version of the program answered the same otherwise and was kept with its answer.
    """

    site: str
    site_sha256: str
    data: str
    levels: tuple[LevelUsed, ...]
    conditions: Mapping[str, str]
    settings: Mapping[str, str]
    rules: int = RULES
    rule_files: tuple[RuleUsed, ...] = ()
    sampling: tuple[str, ...] = ()
    review: ReviewUsed | None = None
    software: str = ""
    coverage: bool = True

    @property
    def joins_coverage(self) -> bool:
        """Whether the recommendation joins coverage: not of the first engines, nor of the first program with the second one."""
        return self.coverage and self.rules >= JOINS_COVERAGE

    @property
    def run_id(self) -> str:
        """The same for the same data, levels, site facts, conditions and settings, on any machine and day."""
        parts = asdict(self)
        del parts["coverage"]
        if not self.joins_coverage:  # ids of runs made before coverage was joined stay what they were
            del parts["rule_files"], parts["sampling"]
        if self.review is None:  # a run made before there were reviews keeps its id
            del parts["review"]
        if not self.software:
            del parts["software"]
        text = json.dumps(parts, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        return "r" + hashlib.sha256(text.encode()).hexdigest()[:12]


def tables_asked(site: SiteFile, named: tuple[str, ...]) -> tuple[str, ...]:
    """The tables named on the command line, else those of the site file. Raises `Refused` where there is none."""
    asked = named or site.screening.levels
    if not asked:
        raise Refused(
            f"site '{site.site.id}' names no level table; say --levels TABLE or add [screening] levels to the site file"
        )
    return tuple(dict.fromkeys(asked))


def resolve_versions(
    standards: Standards, asked: tuple[str, ...], levels_on: date | str, settings: Mapping[str, str]
) -> list[tuple[str, str]]:
    """Each table with the version in force on the day, or the version named as TABLE@VERSION.

    By `SAMPLING`, every version of the table; by the setting ``phase_in.TABLE=previous``, the version before as well.
    """
    resolved = []
    for text in asked:
        table, version = parse_reference(text)
        if version is None and isinstance(levels_on, str):
            resolved += [(table, effective) for effective in standards.days(table)]
            continue
        assert not isinstance(levels_on, str) or version is not None
        found = standards.version(table, version) if version else standards.in_force(table, cast(date, levels_on))
        before = [effective for effective in standards.days(table) if effective < found.effective.isoformat()]
        if settings.get(f"phase_in.{table}") == "previous":
            if not before:
                raise Refused(f"--setting phase_in.{table}: there is no version before {found.effective}; leave the setting out")
            resolved.append((table, before[-1]))
        resolved.append((found.table, found.effective.isoformat()))
    return resolved


def day_of_levels(asked: date | str | None, site: SiteFile, today: date) -> date | str:
    """The day whose versions count: as asked, today, the day of an event of the site file, or `SAMPLING`.

    Raises `Misuse` for an event that the site file does not name.
    """
    if asked is None:
        return today
    if not isinstance(asked, str) or asked == SAMPLING:
        return asked
    moment = site.events.get(asked)
    if moment is None:
        known = ", ".join(site.events) or "none"
        raise Misuse(
            f"--levels-on {asked}: write a date as 2025-01-31, 'sampling', or an event of the site file; site '{site.site.id}' has {known}"
        )
    return moment.date() if isinstance(moment, datetime) else moment


def full_settings(
    given: Mapping[str, str], wordings: Mapping[str, tuple[str, ...]], phased: Iterable[str] = ()
) -> dict[str, str]:
    """Settings with their defaults. Raises `Refused` for an unknown key or value.

    ``wordings`` and ``phased`` are what the tables in use add: wordings of conditions, tables with a phase-in.
    """
    known = {
        **SETTINGS,
        **({REVIEW: (given[REVIEW],)} if REVIEW in given else {}),
        **{f"wording.{key}": names for key, names in wordings.items()},
        **{f"phase_in.{table}": ("none", "previous") for table in phased},
    }
    for key, value in given.items():
        if key not in known:
            raise Refused(f"--setting {key}: is unknown; known are {', '.join(sorted({*known, REVIEW}))}")
        if value not in known[key]:
            raise Refused(f"--setting {key}={value}: write one of {', '.join(known[key])}")
    return {key: given.get(key, values[0]) for key, values in sorted(known.items())}
