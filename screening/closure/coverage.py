"""Coverage: what must be sampled at each component, what was, what is missing, and what would close each gap."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial

from screening.closure.counting import (
    BELOW_POSITIONS,
    WALL_POSITIONS,
    Fault,
    counted,
    depth_and_distance,
    number_asked,
    perimeter,
)
from screening.closure.library import GENERAL, Library, Taken
from screening.closure.rules import RuleFile, SamplingRow
from screening.closure.samples import SOIL, WATER, Place, Sampled, places
from screening.closure.situation import Pit, applies, assumed, pits, release_found, water_met
from screening.site.parts import Tank
from screening.site.site_file import SiteFile

WHAT = {
    "soil_places": "soil samples", "borings": "borings", "soil_samples_of_borings": "soil samples of borings",
    "stockpile_samples": "stockpile samples", "water_places": "water samples",
}  # fmt: skip
GROUNDWATER_GAP = "groundwater was met, and no groundwater result is there"


@dataclass(frozen=True)
class Requirement:
    """What one rule row asks of one component. ``decides`` is false for general practice, which is only offered."""

    component: str
    what: str
    required: int | None
    taken: int
    missing: int | None
    rule: str
    where: str
    citation: str
    transcription: str
    rule_file: str
    row: str
    decides: bool
    samples: tuple[str, ...]
    planned: tuple[str, ...]
    faults: tuple[Fault, ...] = ()
    waived: str = ""
    note: str = ""


@dataclass(frozen=True)
class Gap:
    """Something that keeps the sampling from being complete, and the act that would close it."""

    text: str
    action: str


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


class _Count:
    """One pass over a site: the places by component, and the rows that apply."""

    def __init__(self, site: SiteFile, found: Sequence[Place]) -> None:
        self.site = site
        self.places = found
        self.walls = {wall.id for wall in site.sidewall} | {"sidewall"}
        self.heaps = {heap.id for heap in site.stockpile} | {"stockpile"}
        self.assumptions: list[str] = []

    def at(self, *components: str) -> list[Place]:
        """Places that stand for one of the components."""
        return [place for place in self.places if place.location.component in components]

    def of_tank(self, tank: Tank, pit: Pit) -> list[Place]:
        """Places of a tank, with those of its pit where it is the only tank there."""
        own = self.at(tank.id)
        if len(pit.tanks) == 1 and pit.id:
            own += self.at(pit.id)
        if len(self.site.tank) == 1:
            own += self.at("pit")
        return own

    def of_pit(self, pit: Pit) -> list[Place]:
        """Places of a pit: of its tanks, its own, its walls."""
        walls = [wall.id for wall in self.site.sidewall if wall.pit == pit.id or (len(self.site.sidewall) and not wall.pit)]
        alone = len(pits(self.site)) == 1
        names = [*(tank.id for tank in pit.tanks), *([pit.id] if pit.id else []), *walls, *(["pit", "sidewall"] if alone else [])]
        return list({place.location.id: place for place in self.at(*names, *([] if alone else ["pit", "sidewall"]))}.values())


def cover(site: SiteFile, samples: Sequence[Sampled], library: Library, taken: Taken, spoken_for: Iterable[str] = ()) -> Coverage:
    """The coverage of a site by its samples. ``spoken_for`` are locations whose lack of results is told elsewhere."""
    count = _Count(site, places(site, samples))
    components = [part.id for group in (site.tank, site.piping, site.dispenser, site.sidewall, site.stockpile) for part in group]
    stated = bool(components)
    rows = [(file, row) for file in taken.files if file.name != GENERAL or taken.named for row in file.rows]
    general = library.general("sampling")
    offered = [(general, row) for row in general.rows]
    whole = {pit.id for pit in site.pit}
    made: list[Requirement] = []
    for one in _subjects(count):
        asked = one(rows, True)
        covered = {requirement.component for requirement in asked}
        made += asked
        if not covered & whole:
            made += [requirement for requirement in one(offered, False) if requirement.component not in covered]
    made += _readings(count, rows)
    made = [_waived(site, one) for one in made]
    gaps = [gap for one in made if one.decides and not one.waived for gap in _gaps_of(count, one)]
    gaps += _bare_tanks(count, made)
    if water_met(site) and not any(item.medium in WATER for item in samples):
        gaps.append(Gap(GROUNDWATER_GAP, "sample the groundwater that was met and have it analysed"))
    gaps += _planned(count, set(spoken_for))
    return Coverage(
        stated, tuple(made), tuple(dict.fromkeys(gaps)), tuple(_notes(count, taken, made, stated, samples)),
        tuple(dict.fromkeys([*assumed(site), *count.assumptions])),
        tuple(dict.fromkeys(item.sample for place in count.at(*count.heaps) for item in place.samples)),
        tuple(_offered(made)),
    )  # fmt: skip


Rows = Sequence[tuple[RuleFile, SamplingRow]]
Subject = Callable[[Rows, bool], list[Requirement]]


def _subjects(count: _Count) -> list[Subject]:
    """One function a component: the requirements that given rows put on it."""
    site = count.site
    found: list[Subject] = [partial(_whole_site, count)] if site.tank else []
    found += [partial(_pit, count, pit) for pit in pits(site) if pit.tanks]
    found += [partial(_simple, count, "piping", run.id, run.length_ft) for run in site.piping]
    found += [partial(_simple, count, "dispenser", part.id, None) for part in site.dispenser]
    found += [partial(_simple, count, "sidewall", wall.id, wall.length_ft) for wall in site.sidewall]
    found += [partial(_simple, count, "stockpile", heap.id, heap.volume_cubic_yards) for heap in site.stockpile]
    return found + ([partial(_water, count)] if site.tank and water_met(site) else [])


def _made(
    file: RuleFile, row: SamplingRow, component: str, required: int | None, taken: int, found: Sequence[Place], decides: bool,
    faults: Sequence[Fault] = (), note: str = "",
) -> Requirement:  # fmt: skip
    missing = None if required is None else max(0, required - taken)
    media = WATER if row.counts == "water_places" else SOIL
    return Requirement(
        component, WHAT[row.counts] + (" of the walls" if row.place == "wall" else ""), required, taken, missing, row.rule,
        row.where, row.citation, row.status, file.name, row.id, decides,
        tuple(place.location.id for place in found if place.of(media)),
        tuple(place.location.id for place in found if not place.samples), tuple(faults), note=" ".join(filter(None, (note, row.note))),
    )  # fmt: skip


def _whole_site(count: _Count, rows: Rows, decides: bool) -> list[Requirement]:
    made = []
    for file, row in rows:
        if row.component == "site" and row.has_count:
            found = [place for place in count.places if place.location.component not in count.heaps]
            total, faults = counted(row, found)
            made.append(_made(file, row, "site", number_asked(row, None), total, found, decides, faults))
    return made


def _simple(count: _Count, kind: str, name: str, measure: Decimal | None, rows: Rows, decides: bool) -> list[Requirement]:
    made = []
    alone = {"sidewall": len(count.site.sidewall) == 1, "stockpile": len(count.site.stockpile) == 1}.get(kind, False)
    found = count.at(name, *([kind] if alone else []))
    for file, row in rows:
        if row.component == kind and row.has_count and applies(row.when, count.site, None, None) is not False:
            total, faults = counted(row, found)
            made.append(_made(file, row, name, number_asked(row, measure), total, found, decides, faults))
    return made


def _water(count: _Count, rows: Rows, decides: bool) -> list[Requirement]:
    wet = max(1, sum(pit.water for pit in pits(count.site) if pit.id))
    made = []
    found = [place for place in count.places if place.of(WATER)]
    for file, row in rows:
        if row.component == "groundwater" and row.has_count and applies(row.when, count.site, None, None) is not False:
            required = (number_asked(row, None) or 0) * (wet if row.per_pit else 1)
            made.append(_made(file, row, "groundwater", required, len(found), found, decides))
    return made


def _pit(count: _Count, pit: Pit, rows: Rows, decides: bool) -> list[Requirement]:
    """The rows for the tanks of one pit: those for the pit as a whole, wall samples first, then those for each tank."""
    spent: set[str] = set()
    made: list[Requirement] = []
    whole = [(file, row) for file, row in rows if row.component == "tank" and row.has_count and row.per_pit]
    single = [(file, row) for file, row in rows if row.component == "tank" and row.has_count and not row.per_pit]
    for file, row in _chosen(count, whole, pit.tanks[0], pit):
        made.append(_of_pit(count, pit, file, row, decides, spent))
    for tank in pit.tanks:
        boring_rows = [(file, row) for file, row in single if row.counts == "soil_samples_of_borings"]
        chosen = _chosen(count, [one for one in single if one not in boring_rows], tank, pit)
        adding = sum(row.number or 0 for _, row in chosen if row.adds)
        for file, row in chosen:
            if not row.adds:
                made.append(_of_tank(count, pit, tank, file, row, decides, spent, adding))
        made += _of_borings(count, pit, tank, boring_rows, decides)
    return made


def _chosen(count: _Count, rows: Rows, tank: Tank, pit: Pit) -> Rows:
    """The rows that hold for a tank; where only its capacity is missing to tell, the one that asks for most."""
    holding = [(file, row, applies(row.when, count.site, tank, pit)) for file, row in rows]
    sure = [(file, row) for file, row, holds in holding if holds]
    perhaps = [(file, row) for file, row, holds in holding if holds is None]
    if perhaps and not any(row.when.capacity_gal_at_least or row.when.capacity_gal_below for _, row in sure):
        most = max(perhaps, key=lambda one: number_asked(one[1], tank.capacity_gal) or 0)
        count.assumptions.append(f"the capacity of {tank.id} is not stated: the row that asks for most is taken")
        sure = [*sure, most]
    return sure


def _of_pit(count: _Count, pit: Pit, file: RuleFile, row: SamplingRow, decides: bool, spent: set[str]) -> Requirement:
    found = [place for place in count.of_pit(pit) if place.location.component not in count.heaps]
    measure = {"area_sqft": pit.area_sqft}.get(row.measure)
    note = ""
    if row.place == "wall":
        required = number_asked(row, measure) or 0
        walls = [place for place in found if place.location.component in count.walls or place.location.position in WALL_POSITIONS]
        unsaid = [place for place in found if place not in walls and not place.location.position and place.of(SOIL)]
        lent = unsaid[: max(0, required - len([place for place in walls if place.of(SOIL)]))]
        if lent:
            names = ", ".join(place.location.id for place in lent)
            count.assumptions.append(
                f"whether {names} came from a wall or from below the tank is not stated: counted as wall samples"
            )
        spent |= {place.location.id for place in (*walls, *lent)}
        found = [*walls, *lent]
    total, faults = counted(row, found)
    if row.counts == "borings":
        faults = [
            *faults,
            *(fault for place in found if place.of(SOIL) for fault in depth_and_distance(row, pit.tanks[0], place)),
        ]
    name = pit.id or pit.tanks[0].id
    return _made(file, row, name, number_asked(row, measure), total, found, decides, faults, note)


def _of_tank(
    count: _Count, pit: Pit, tank: Tank, file: RuleFile, row: SamplingRow, decides: bool, spent: set[str], adding: int
) -> Requirement:
    found = [place for place in count.of_tank(tank, pit) if place.location.id not in spent]
    if row.place != "wall":
        found = [place for place in found if place.location.position not in WALL_POSITIONS]
    if row.place == "below":
        found = [place for place in found if place.location.position in ("", *BELOW_POSITIONS)]
    note = ""
    measure = {"capacity_gal": tank.capacity_gal, "length_ft": tank.length_ft}.get(row.measure)
    if row.measure == "perimeter_ft":
        measure, note = perimeter(tank)
    total, faults = counted(row, found)
    faults += [fault for place in found if place.of(SOIL) for fault in depth_and_distance(row, tank, place)]
    required = number_asked(row, measure)
    return _made(file, row, tank.id, None if required is None else required + adding, total, found, decides, faults, note)


def _of_borings(count: _Count, pit: Pit, tank: Tank, rows: Rows, decides: bool) -> list[Requirement]:
    """Samples from each boring: a boring of unknown depth takes the row that asks for most."""
    found = [place for place in count.of_tank(tank, pit) if place.of(SOIL)]
    held = [(file, row) for file, row in rows if applies(row.when, count.site, tank, pit) is not False]
    made = []
    for file, row in held:
        own = [place for place in found if row == _row_of(place, [one for of, one in held if of is file])]
        required = number_asked(row, Decimal(len(own)))
        taken = sum(min(len(place.of(SOIL)), row.plus) for place in own)
        if own:
            made.append(_made(file, row, tank.id, required, taken, own, decides))
    return made


def _row_of(place: Place, rows: Sequence[SamplingRow]) -> SamplingRow | None:
    depth = place.depth_ft
    fitting = [
        row
        for row in rows
        if depth is None
        or (
            (row.when.boring_depth_ft_at_most is None or depth <= row.when.boring_depth_ft_at_most)
            and (row.when.boring_depth_ft_above is None or depth > row.when.boring_depth_ft_above)
        )
    ]
    return max(fitting, key=lambda row: row.plus, default=None)


def _readings(count: _Count, rows: Rows) -> list[Requirement]:
    """Of each run the place with the highest field reading must have gone to the laboratory, where the rule says so."""
    made = []
    for file, row in rows:
        for run in count.site.piping if row.highest_reading else ():
            found = count.at(run.id)
            read = {
                place.location.id: max(
                    (one.value for one in count.site.reading if one.location == place.location.id), default=None
                )
                for place in found
            }
            known = {name: value for name, value in read.items() if value is not None}
            if known:
                highest = [place for place in found if read[place.location.id] == max(known.values())]
                taken = sum(bool(place.of(SOIL)) for place in highest)
                made.append(_made(file, row, run.id, len(highest), taken, highest, True))
    return made


def _waived(site: SiteFile, one: Requirement) -> Requirement:
    waiver = next((part for part in site.waiver if part.component == one.component and not part.analyte), None)
    return replace(one, waived=f"waived by {waiver.by}: {waiver.why}") if waiver else one


def _gaps_of(count: _Count, one: Requirement) -> list[Gap]:
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


def _bare_tanks(count: _Count, made: Sequence[Requirement]) -> list[Gap]:
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


def _planned(count: _Count, spoken_for: set[str]) -> list[Gap]:
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


def _notes(count: _Count, taken: Taken, made: Sequence[Requirement], stated: bool, samples: Sequence[Sampled]) -> list[str]:
    if not stated:
        return ["the site file states no tank, piping, dispenser, wall or stockpile, so no number of samples was asked for"]
    notes = [f"sampling rules: {', '.join(file.name for file in taken.files) or 'none'} ({taken.because})"]
    notes += [f"{file.name}: {text}" for file in taken.files for text in (file.incomplete, file.note) if text]
    notes += [
        f"{row.rule} ({row.citation})"
        for file in taken.files
        for row in file.rows
        if not row.has_count and not row.highest_reading
    ]
    notes += _offered(made)
    tied = {item.sample for place in count.places if place.location.component for item in place.samples}
    loose = list(dict.fromkeys(item.sample for item in samples if item.sample not in tied))
    if loose:
        notes.append(f"stand for no component of the site file: {', '.join(loose)}")
    if release_found(count.site):
        notes.append("the site file tells of a sign or an event of a release; rules for that case apply")
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
