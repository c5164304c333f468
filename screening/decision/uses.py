"""The versions of tables that a request uses, the rows of each that decide, and what that assumes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from screening.decision.request import SAMPLING, Request
from screening.errors import Refused
from screening.levels.choose import choose
from screening.levels.phase_in import elect, phase_in_of
from screening.levels.versions import Standards
from screening.screen.register import TableInUse
from screening.site.site_file import SiteFile
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.units import SOLID_MEDIA, read_unit


def tables_in_use(standards: Standards, request: Request, site: SiteFile) -> tuple[list[TableInUse], list[str]]:
    """Each table in use with its rows, and the assumptions made on the way.

    Raises `Refused` for conditions that a table does not know, for a version before that may not be used on, and for a
    background whose analyte or unit is unknown.
    """
    backgrounds, told = _backgrounds(site)
    met = frozenset(key for key, value in request.conditions.items() if value == "met")
    uses, assumptions = [], []
    for used in request.levels:
        table, version = standards.table(used.table), standards.version(used.table, used.version)
        use = TableInUse(
            table, version, choose(table, version, request.conditions), request.settings, met, backgrounds=backgrounds
        )
        if request.settings.get("levels_by") == SAMPLING:
            use = replace(
                use, since=version.effective, until=version.until or _day_before_next(request, used.table, used.version)
            )
        uses.append(use)
        if table.comparison_status.startswith("assumed"):
            assumptions.append(f"{used.table}: the comparison sign is {table.comparison_status}")
        if table.version_by:
            assumptions.append(f"{used.table}: the rule picks its version by {table.version_by}; say --levels-on with that day")
    uses, said = _phased_in(uses, request)
    assumptions += [item.assumed for use in uses for item in use.chosen if item.assumed]
    if any(one.limit == "background" for use in uses for one in use.table.stand_ins):
        said += told
    return uses, [*said, *assumptions]


def _backgrounds(site: SiteFile) -> tuple[dict[tuple[str, str], Decimal], list[str]]:
    found: dict[tuple[str, str], Decimal] = {}
    told = []
    vocabulary = Vocabulary.load()
    for one in site.background:
        analyte = vocabulary.named(one.analyte)
        unit = read_unit(one.unit, one.medium)
        wanted = "mg/kg" if one.medium in SOLID_MEDIA else "ug/L"
        if analyte is None or unit.unit != wanted:
            fault = (
                f"'{one.analyte}' is no listed analyte"
                if analyte is None
                else f"'{one.unit}' is no unit for {one.medium}; write {wanted}"
            )
            raise Refused(f"site file of '{site.site.id}', [[background]]: {fault}; mend it and add the site again")
        found[analyte.name, one.medium] = unit.convert(one.amount)
        told.append(f"background of {analyte.name} in {one.medium} {one.amount} {one.unit}, stated by {one.by}: {one.why}")
    return found, told


def _day_before_next(request: Request, table: str, version: str) -> dt.date | None:
    later = [used.version for used in request.levels if used.table == table and used.version > version]
    return dt.date.fromisoformat(min(later)) - dt.timedelta(days=1) if later else None


def _phased_in(uses: Sequence[TableInUse], request: Request) -> tuple[list[TableInUse], list[str]]:
    made, said = [], []
    for use in uses:
        if request.settings.get(f"phase_in.{use.table.name}") != "previous":
            made.append(use)
            continue
        pair = sorted((one for one in uses if one.table.name == use.table.name), key=lambda one: one.version.effective)
        old, new = pair
        rule = phase_in_of(new.table, new.version, dt.date.fromisoformat(request.settings["levels_on"]))
        kept, at_once = elect(rule, old.chosen, new.chosen)
        if use is old:
            said.append(
                f"{use.table.name}: the version of {old.version.effective} is used on by election, but for "
                f"{len(at_once)} levels ({rule.text}; {rule.citation}; {rule.transcription})"
            )
        made.append(replace(use, chosen=kept if use is old else at_once, covers=use is new))
    return made, said


def refuse_undated(uses: Sequence[TableInUse], samples: Sequence[tuple[str, dt.date | None]]) -> None:
    """Refuse levels by the day of sampling where a sample has no day, or a table no version in force on it."""
    spans: dict[str, list[tuple[dt.date, dt.date]]] = {}
    for use in uses:
        spans.setdefault(use.table.name, []).append((use.since or dt.date.min, use.until or dt.date.max))
    lost = [
        f"{sample} ({day or 'no sampling date'}, {table})"
        for sample, day in samples
        for table, known in spans.items()
        if day is None or not any(since <= day <= until for since, until in known)
    ]
    if lost:
        more = f" and {len(lost) - 8} more" if len(lost) > 8 else ""
        raise Refused(f"--levels-on {SAMPLING}: no version is in force for {', '.join(lost[:8])}{more}; name a day instead")
