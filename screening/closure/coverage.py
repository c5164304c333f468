"""Coverage: what must be sampled at each component, what was, what is missing, and what would close each gap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from screening.closure.findings import Gap, Requirement
from screening.closure.library import GENERAL, Library, Taken
from screening.closure.requirements import Ground, Rows, readings, subjects
from screening.closure.samples import WATER, Sampled, places
from screening.closure.situation import applies, assumed, pits, release_found, water_met
from screening.site.site_file import SiteFile

GROUNDWATER_GAP = "groundwater was met, and no groundwater result is there"


@dataclass(frozen=True)
class Coverage:
    """The whole of it; ``stated`` is false where the site file names no component at all, ``offered`` tells of general practice."""

    stated: bool
    requirements: tuple[Requirement, ...]
    gaps: tuple[Gap, ...]
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]
    out_of_the_ground: tuple[str, ...]
    offered: tuple[str, ...] = ()


def cover(site: SiteFile, samples: Sequence[Sampled], library: Library, taken: Taken, spoken_for: Iterable[str] = ()) -> Coverage:
    """The coverage of a site by its samples. ``spoken_for`` are locations whose lack of results is told elsewhere."""
    count = Ground(site, places(site, samples))
    components = [part.id for group in (site.tank, site.piping, site.dispenser, site.sidewall, site.stockpile) for part in group]
    stated = bool(components)
    rows = [(file, row) for file in taken.files if file.name != GENERAL or taken.named for row in file.rows]
    general = library.general("sampling")
    offered = [(general, row) for row in general.rows]
    whole = {pit.id for pit in site.pit}
    made: list[Requirement] = []
    for one in subjects(count):
        asked = one(rows, True)
        covered = {requirement.component for requirement in asked}
        made += asked
        if not covered & whole:
            made += [requirement for requirement in one(offered, False) if requirement.component not in covered]
    made += readings(count, rows)
    made = [_waived(site, one) for one in made]
    gaps = [gap for one in made if one.decides and not one.waived for gap in _gaps_of(count, one)]
    gaps += _bare_tanks(count, made)
    if water_met(site) and not any(item.medium in WATER for item in samples):
        gaps.append(Gap(GROUNDWATER_GAP, "sample the groundwater that was met and have it analysed"))
    gaps += _walls_unstated(count, rows)
    gaps += _planned(count, set(spoken_for))
    return Coverage(
        stated, tuple(made), tuple(dict.fromkeys(gaps)), tuple(_notes(count, taken, made, stated, samples)),
        tuple(dict.fromkeys([*assumed(site), *count.assumptions])),
        tuple(dict.fromkeys(item.sample for place in count.at(*count.heaps) for item in place.samples)),
        tuple(_offered(made)),
    )  # fmt: skip


def _waived(site: SiteFile, one: Requirement) -> Requirement:
    waiver = next((part for part in site.waiver if part.component == one.component and not part.analyte), None)
    return replace(one, waived=f"waived by {waiver.by}: {waiver.why}") if waiver else one


def _gaps_of(count: Ground, one: Requirement) -> list[Gap]:
    told = f"{one.rule} ({one.citation})"
    gaps = []
    if one.required is None:
        gaps.append(
            Gap(f"how many {one.what} {one.component} needs cannot be worked out: {told}, and the measure is not stated",
                f"state the measures of {one.component} in the site file")
        )  # fmt: skip
    elif one.missing:
        place = f": {one.where}" if one.where else ""
        action = (
            f"take and analyse the planned {', '.join(one.planned[: one.missing])}" if len(one.planned) >= one.missing
            else f"take and analyse {one.missing} more {_singular(one.what, one.missing)} at {one.component}{place}"
        )  # fmt: skip
        gaps.append(
            Gap(f"{one.component}: {one.missing} of {one.required} {one.what} missing, {one.taken} taken{place}; {told}", action)
        )
    return gaps + [Gap(f"{one.component}: {fault.text}; {told}", fault.action) for fault in one.faults]


def _singular(what: str, number: int) -> str:
    return what.replace("samples", "sample").replace("borings", "boring") if number == 1 else what


def _bare_tanks(count: Ground, made: Sequence[Requirement]) -> list[Gap]:
    """A tank for which no sample at all stands, on a site that ties its samples to components."""
    if not any(place.location.component for place in count.places):
        return []
    settled = {one.component for one in made if one.decides}
    waived = {waiver.component for waiver in count.site.waiver}
    gaps = []
    for pit in pits(count.site):
        for tank in pit.tanks:
            known = {tank.id, pit.id} & (settled | waived)
            if not known and not any(place.samples for place in count.of_tank(tank, pit)) and not any(
                place.samples for place in count.at("pit", pit.id or "pit")
            ):  # fmt: skip
                gaps.append(Gap(f"no sample stands for tank {tank.id}", f"take and analyse samples below tank {tank.id}"))
    return gaps


def _walls_unstated(count: Ground, rows: Rows) -> list[Gap]:
    """Where a rule counts samples by the wall and the site file states no wall, nothing can be counted."""
    if not count.site.tank or count.site.sidewall:
        return []
    return [
        Gap(f"{row.rule}, and the site file states no wall ({row.citation})", "state each wall and its length with [[sidewall]]")
        for _, row in rows
        if row.component == "sidewall" and row.each is not None and applies(row.when, count.site, None, None) is not False
    ]


def _planned(count: Ground, spoken_for: set[str]) -> list[Gap]:
    """Locations of the site file without any result; elective ones and those told elsewhere left out."""
    gaps = []
    for place in count.places:
        name = place.location.id
        if place.samples or place.location.elective or name in spoken_for:
            continue
        if place.location.sampled is not None:
            gaps.append(
                Gap(
                    f"{name} was sampled on {place.location.sampled:%Y-%m-%d} and has no result",
                    f"ask the laboratory for the results of {name}",
                )
            )
        else:
            gaps.append(Gap(f"{name} is a planned location and has no result", f"take and analyse the planned {name}"))
    return gaps


def _notes(count: Ground, taken: Taken, made: Sequence[Requirement], stated: bool, samples: Sequence[Sampled]) -> list[str]:
    if not stated:
        return ["the site file states no tank, piping, dispenser, wall or stockpile, so no number of samples was asked for"]
    notes = [f"sampling rules: {', '.join(file.name for file in taken.files) or 'none'} ({taken.because})"]
    notes += [f"{file.name}: {text}" for file in taken.files for text in (file.incomplete, file.note) if text]
    notes += [
        f"{row.rule} ({row.citation})"
        for file in taken.files
        for row in file.rows
        if not row.has_count and not row.highest_reading and (row.component != "dispenser" or count.site.dispenser)
    ]
    notes += _offered(made)
    tied = {item.sample for place in count.places if place.location.component for item in place.samples}
    loose = list(dict.fromkeys(item.sample for item in samples if item.sample not in tied))
    if loose:
        notes.append(f"stand for no component of the site file: {', '.join(loose)}")
    if release_found(count.site):
        notes.append("the site file tells of a sign or an event of a release; rules for that case apply")
    if count.of_no_pit():
        names = ", ".join(count.of_no_pit())
        notes.append(f'{names} stand for a wall or a pit without saying which of several: give walls and tanks a pit = "..."')
    heaps = [item.sample for place in count.at(*count.heaps) for item in place.samples]
    if heaps:
        notes.append(f"soil taken out, not counted as soil that remains: {', '.join(dict.fromkeys(heaps))}")
    elective = [place.location.id for place in count.places if place.location.elective]
    if elective:
        notes.append(f"elective samples, beside those that the rule asks for: {', '.join(elective)}")
    return notes


def _offered(made: Sequence[Requirement]) -> list[str]:
    """Where no number was read: that none was, and what general practice would ask for."""
    offered = [one for one in made if not one.decides]
    if not offered:
        return []
    lacking = [f"{one.component} {one.taken} of {one.required} {one.what}" for one in offered if one.missing]
    components = ", ".join(dict.fromkeys(one.component for one in offered))
    return [
        f"no number of samples was read for {components}, which does not mean that the rule has none; common practice, no source: "
        + ("; ".join(lacking) if lacking else "as many as were taken")
    ]
