"""Checks of level tables on disk: what would make a verdict wrong without anybody noticing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

from screening.errors import Refused
from screening.levels import shares, suspect
from screening.levels.facts import LevelTable
from screening.levels.table import LevelRow, Version
from screening.levels.versions import Standards
from screening.vocabulary import cas


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
    for rows in sorted(folder.glob("*/*/*.csv")):
        if not (rows.parent / "table.toml").exists():
            problems.append(Problem(str(rows.relative_to(folder)), None, "table.toml is missing beside it"))
    for name in standards.names():
        try:
            table = standards.table(name)
            versions = [standards.version(name, effective) for effective in standards.days(name)]
        except Refused as error:
            problems.append(Problem(name, None, str(error)))
            continue
        problems += _spans(table, versions)
        problems += _conditions(table, versions)
        problems += _rules(table, versions)
        for version in versions:
            problems += _rows(table, version)
        problems += [Problem(*found) for found in (*suspect.figures(table, versions), *shares.broken(table, versions))]
    return problems


def _spans(table: LevelTable, versions: list[Version]) -> Iterator[Problem]:
    file = f"{table.name}/table.toml"
    days = {version.effective.isoformat() for version in versions}
    if not versions:
        yield Problem(file, None, "has no version: add <effective day>.csv")
    for listed in sorted(table.spans.keys() - days):
        yield Problem(file, None, f"version {listed} has no csv")
    for version in versions:
        if not version.rows:
            yield Problem(f"{table.name}/{version.effective}.csv", None, "holds no level")
        if version.effective.isoformat() not in table.spans:
            yield Problem(file, None, f"version {version.effective} is not described in [versions]")
        if version.until and version.until < version.effective:
            yield Problem(file, None, f"version {version.effective} ends before it begins")
    for before, after in pairwise(versions):
        eve = after.effective - timedelta(days=1)
        if before.until is None or before.until > eve:
            yield Problem(
                file, None, f"version {before.effective} must end on {eve}, before {after.effective} begins; write until = {eve}"
            )


def _conditions(table: LevelTable, versions: list[Version]) -> Iterator[Problem]:
    file = f"{table.name}/table.toml"
    used = {(key, value) for version in versions for row in version.rows for key, value in row.conditions.items()}
    for key, condition in table.conditions.items():
        if condition.origin == "results" and condition.analyte is None:
            yield Problem(file, None, f"condition {key} comes from results but names no analyte")
        if (
            condition.origin == "sample"
            and condition.values
            and not (condition.measured and set(condition.ranges) == set(condition.values))
        ):
            yield Problem(file, None, f"condition {key} comes from the sample but lacks its field, or a range for each value")
        if condition.together and condition.origin != "site":
            yield Problem(file, None, f"condition {key} applies together, but comes from {condition.origin}; only a site's may")
        if condition.default_wording and condition.default_wording not in condition.wordings:
            yield Problem(file, None, f"condition {key}: default wording {condition.default_wording!r} is not described")
        needed = any(one.needs == key for one in table.stand_ins)
        if needed and "met" not in condition.values:
            yield Problem(file, None, f"condition {key} is needed by a limit that stands in, but has no value 'met'")
        if not needed and not any(key == one for one, _ in used):
            yield Problem(file, None, f"condition {key} picks no row")


def _rules(table: LevelTable, versions: list[Version]) -> Iterator[Problem]:
    file = f"{table.name}/table.toml"
    listed = {row.analyte for version in versions for row in version.rows}
    if table.unlisted == "unavailable" and not table.incomplete:
        yield Problem(file, None, "unlisted substances are unavailable, but [[incomplete]] does not say what was not read")
    for one in table.stand_ins:
        if one.needs and one.needs not in table.conditions:
            yield Problem(
                file,
                None,
                f"the {one.limit} that stands in needs {one.needs}, which is no condition; add [conditions.{one.needs}]",
            )
    for rule in table.equivalents:
        if rule.name not in listed:
            yield Problem(file, None, f"equivalents are held against {rule.name}, which no version lists")
    if table.phase_in is not None:
        for day_of in table.phase_in.versions:
            if day_of not in table.spans:
                yield Problem(file, None, f"phase_in names version {day_of}, which is not described in [versions]")
    for name in table.rounded:
        if name not in listed:
            yield Problem(file, None, f"rounded names {name}, which no version lists")


def _rows(table: LevelTable, version: Version) -> Iterator[Problem]:
    file = f"{table.name}/{version.effective}.csv"
    groups: dict[tuple[str, str, str], list[LevelRow]] = {}
    for row in version.rows:
        if row.cas and not cas.valid(row.cas):
            yield Problem(file, row.number, f"CAS {row.cas}: {cas.complaint(row.cas)}")
        if not row.citation:
            yield Problem(file, row.number, "has no citation; name the section of the rule")
        if not row.source:
            yield Problem(file, row.number, f"is said to be {row.transcription}, but names no source")
        groups.setdefault((row.analyte, row.medium, row.fraction), []).append(row)
    for rows in groups.values():
        yield from _overlaps(table, file, rows)


def _overlaps(table: LevelTable, file: str, rows: list[LevelRow]) -> Iterator[Problem]:
    for at, row in enumerate(rows):
        for other in rows[:at]:
            if other.conditions == row.conditions:
                yield Problem(
                    file, row.number, f"{row.analyte} in {row.medium} is already in row {other.number} under the same conditions"
                )
                break
            shared = row.conditions.keys() & other.conditions.keys()
            if all(row.conditions[key] == other.conditions[key] for key in shared):
                lacking = row.conditions.keys() ^ other.conditions.keys()
                yield Problem(
                    file, row.number,
                    f"{row.analyte} in {row.medium} may apply together with row {other.number}: one of them lacks the "
                    f"condition {' and '.join(sorted(lacking))}",
                )  # fmt: skip
                break
    keys = {key for row in rows for key in row.conditions}
    for key in sorted(keys):
        if table.conditions[key].origin == "site" and table.conditions[key].when_unknown == "strictest":
            continue
        missing = [value for value in table.conditions[key].values if all(row.conditions.get(key) != value for row in rows)]
        if missing and all(key in row.conditions for row in rows):
            yield Problem(
                file, rows[0].number, f"{rows[0].analyte} in {rows[0].medium} has no row for {key} {' or '.join(missing)}"
            )
