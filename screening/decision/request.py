"""What decides a screen: site facts, data, level versions, conditions and settings; the run id is their hash."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date

from screening.errors import Refused
from screening.levels.versions import Standards, parse_reference
from screening.site.site_file import SiteFile

RULES = 2
"""Raised whenever the engine would answer the same request differently, so that old run ids keep their meaning."""

SETTINGS: Mapping[str, tuple[str, ...]] = {
    "missing_basis": ("open", "dry", "as_received"),
    "chosen_rule": ("default", "last_run"),
    "duplicate_rule": ("higher", "parent", "mean"),
}
"""Settings of a screen and their allowed values, the default first. Tables add 'wording.CONDITION'; 'review' names an
edition, see `screening.quality.editions`."""
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
    """Everything that decides the answer."""

    site: str
    site_sha256: str
    data: str
    levels: tuple[LevelUsed, ...]
    conditions: Mapping[str, str]
    settings: Mapping[str, str]
    rules: int = RULES
    review: ReviewUsed | None = None

    @property
    def run_id(self) -> str:
        """The same for the same data, levels, site facts, conditions and settings, on any machine and day."""
        said = asdict(self)
        if self.review is None:  # a run made before there were reviews keeps its id
            del said["review"]
        text = json.dumps(said, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        return "r" + hashlib.sha256(text.encode()).hexdigest()[:12]


def tables_asked(site: SiteFile, named: tuple[str, ...]) -> tuple[str, ...]:
    """The tables named on the command line, else those of the site file. Raises `Refused` where there is none."""
    asked = named or site.screening.levels
    if not asked:
        raise Refused(
            f"site '{site.site.id}' names no level table; say --levels TABLE or add [screening] levels to the site file"
        )
    return tuple(dict.fromkeys(asked))


def resolve_versions(standards: Standards, asked: tuple[str, ...], levels_on: date) -> list[tuple[str, str]]:
    """Each table with the version in force on the day, or the version named as TABLE@VERSION."""
    resolved = []
    for text in asked:
        table, version = parse_reference(text)
        found = standards.version(table, version) if version else standards.in_force(table, levels_on)
        resolved.append((found.table, found.effective.isoformat()))
    return resolved


def full_settings(given: Mapping[str, str], wordings: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """Settings with their defaults. Raises `Refused` for an unknown key or value."""
    known = {
        **SETTINGS,
        **({REVIEW: (given[REVIEW],)} if REVIEW in given else {}),
        **{f"wording.{key}": names for key, names in wordings.items()},
    }
    for key, value in given.items():
        if key not in known:
            raise Refused(f"--setting {key}: is unknown; known are {', '.join(sorted({*known, REVIEW}))}")
        if value not in known[key]:
            raise Refused(f"--setting {key}={value}: write one of {', '.join(known[key])}")
    return {key: given.get(key, values[0]) for key, values in sorted(known.items())}
