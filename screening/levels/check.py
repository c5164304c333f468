"""Checks of level tables on disk: what would make a verdict wrong without anybody noticing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

from screening.errors import Refused
from screening.levels.table import LevelTable, Version
from screening.levels.versions import Standards
from screening.vocabulary import cas

SUSPICIOUS = Decimal(300)
"""Rows of one analyte and medium further apart than this are looked at again (a footnote digit glued to a level)."""


@dataclass(frozen=True)
class Problem:
    """What is wrong, in which file and row (None: the file as a whole)."""

    file: str
    row: int | None
    text: str


def check(folder: Path) -> list[Problem]:
    """Every problem of the tables below a folder of places; an empty list means that none was found."""
    if not folder.is_dir():
        raise Refused(f"{folder}: is no folder of level tables; name one that holds PLACE/TABLE/table.toml")
    standards = Standards([folder])
    problems: list[Problem] = []
    for toml in sorted(folder.glob("*/*/*.csv")):
        if not (toml.parent / "table.toml").exists():
            problems.append(Problem(str(toml.relative_to(folder)), None, "table.toml is missing beside it"))
    for name in standards.names():
        try:
            table = standards.table(name)
            versions = [standards.version(name, effective) for effective in standards.days(name)]
        except Refused as error:
            problems.append(Problem(f"{name}", None, str(error)))
            continue
        problems += _spans(table, versions)
        for version in versions:
            problems += _rows(table, version)
    return problems


def _spans(table: LevelTable, versions: list[Version]) -> Iterator[Problem]:
    file = f"{table.name}/table.toml"
    days = {version.effective.isoformat() for version in versions}
    if not versions:
        yield Problem(file, None, "has no version: add <effective day>.csv")
    for listed in table.spans.keys() - days:
        yield Problem(file, None, f"version {listed} has no csv")
    for version in versions:
        if version.effective.isoformat() not in table.spans:
            yield Problem(file, None, f"version {version.effective} is not described in [versions]")
        if version.until and version.until < version.effective:
            yield Problem(file, None, f"version {version.effective} ends before it begins")
    for before, after in pairwise(versions):
        if before.until != after.effective - timedelta(days=1):
            yield Problem(
                file,
                None,
                f"version {before.effective} must end on the day before {after.effective}, not on {before.until or 'no day'}",
            )
    for key, condition in table.conditions.items():
        if condition.origin == "results" and condition.analyte is None:
            yield Problem(file, None, f"condition {key} comes from results but names no analyte")


def _rows(table: LevelTable, version: Version) -> Iterator[Problem]:
    file = f"{table.name}/{version.effective}.csv"
    seen: dict[tuple[object, ...], int] = {}
    keys: dict[tuple[str, str], set[frozenset[str]]] = {}
    for row in version.rows:
        if row.cas and not cas.valid(row.cas):
            yield Problem(file, row.number, f"CAS {row.cas}: {cas.complaint(row.cas)}")
        if not (row.citation or table.citation):
            yield Problem(file, row.number, "has no citation")
        if row.transcription != "memory" and not row.source:
            yield Problem(file, row.number, f"is said to be {row.transcription}, but names no source")
        identity = (row.analyte, row.medium, row.fraction, row.basis, tuple(sorted(row.conditions.items())))
        if identity in seen:
            yield Problem(
                file, row.number, f"{row.analyte} in {row.medium} is already in row {seen[identity]} under the same conditions"
            )
        seen.setdefault(identity, row.number)
        keys.setdefault((row.analyte, row.medium), set()).add(frozenset(row.conditions))
    for (analyte, medium), found in sorted(keys.items()):
        if len(found) > 1:
            yield Problem(file, None, f"{analyte} in {medium}: some rows lack a condition that others have")
    yield from _ratios(file, version)


def _ratios(file: str, version: Version) -> Iterator[Problem]:
    groups: dict[tuple[str, str], list[tuple[Decimal, int]]] = {}
    for row in version.rows:
        if row.normal_value:
            groups.setdefault((row.analyte, row.medium), []).append((row.normal_value, row.number))
    for (analyte, _), levels in groups.items():
        low, high = min(levels), max(levels)
        if high[0] > low[0] * SUSPICIOUS:
            yield Problem(
                file,
                high[1],
                f"{analyte}: {high[0] / low[0]:.0f} times the level in row {low[1]}; is a footnote digit glued to it?",
            )
