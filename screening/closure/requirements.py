"""The requirements that rule rows put on each component: how many samples, which of them count, which are planned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import partial

from screening.closure.counting import (
    BELOW_POSITIONS,
    WALL_POSITIONS,
    counted,
    depth_and_distance,
    number_asked,
    perimeter,
)
from screening.closure.findings import Fault, Requirement
from screening.closure.rules import RuleFile, SamplingRow
from screening.closure.samples import SOIL, WATER, Place
from screening.closure.situation import Pit, applies, pits, water_met
from screening.site.parts import Tank
from screening.site.site_file import SiteFile

WHAT = {
    "soil_places": "soil samples", "borings": "borings", "soil_samples_of_borings": "soil samples of borings",
    "stockpile_samples": "stockpile samples", "water_places": "water samples",
}  # fmt: skip


PITLESS = ("pit", "sidewall")
"""Words for a component that do not say which pit."""


class Ground:
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
        """Places of a pit: of its tanks, its own, its walls; those that name no pit only where there is but one."""
        alone = len(pits(self.site)) == 1
        walls = [wall.id for wall in self.site.sidewall if wall.pit == pit.id or alone]
        return self.at(*(tank.id for tank in pit.tanks), *([pit.id] if pit.id else []), *walls, *(PITLESS if alone else ()))

    def of_no_pit(self) -> list[str]:
        """Locations that stand for a wall or a pit without saying which, on a site with several."""
        unsaid = [wall.id for wall in self.site.sidewall if not wall.pit]
        return [place.location.id for place in self.at(*PITLESS, *unsaid)] if len(pits(self.site)) > 1 else []


Rows = Sequence[tuple[RuleFile, SamplingRow]]
Subject = Callable[[Rows, bool], list[Requirement]]


def subjects(count: Ground) -> list[Subject]:
    """One function a component: the requirements that given rows put on it."""
    site = count.site
    found: list[Subject] = [partial(_whole_site, count)] if site.tank else []
    found += [partial(_pit, count, pit) for pit in pits(site) if pit.tanks]
    found += [partial(_simple, count, "piping", run.id, run.length_ft, closure=run.closure) for run in site.piping]
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


def _whole_site(count: Ground, rows: Rows, decides: bool) -> list[Requirement]:
    made = []
    for file, row in rows:
        if row.component == "site" and row.has_count:
            found = [place for place in count.places if place.location.component not in count.heaps]
            total, faults = counted(row, found)
            made.append(_made(file, row, "site", number_asked(row, None), total, found, decides, faults))
    return made


def _simple(
    count: Ground, kind: str, name: str, measure: Decimal | None, rows: Rows, decides: bool, closure: str | None = None
) -> list[Requirement]:
    made = []
    alone = {"sidewall": len(count.site.sidewall) == 1, "stockpile": len(count.site.stockpile) == 1}.get(kind, False)
    found = count.at(name, *([kind] if alone else []))
    for file, row in rows:
        if row.component == kind and row.has_count and applies(row.when, count.site, None, None, closure) is not False:
            total, faults = counted(row, found)
            made.append(_made(file, row, name, number_asked(row, measure), total, found, decides, faults))
    return made


def _water(count: Ground, rows: Rows, decides: bool) -> list[Requirement]:
    wet = max(1, sum(pit.water for pit in pits(count.site) if pit.id))
    made = []
    found = [place for place in count.places if place.of(WATER)]
    for file, row in rows:
        if row.component == "groundwater" and row.has_count and applies(row.when, count.site, None, None) is not False:
            required = (number_asked(row, None) or 0) * (wet if row.per_pit else 1)
            made.append(_made(file, row, "groundwater", required, len(found), found, decides))
    return made


def _pit(count: Ground, pit: Pit, rows: Rows, decides: bool) -> list[Requirement]:
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


def _chosen(count: Ground, rows: Rows, tank: Tank, pit: Pit) -> Rows:
    """The rows that hold for a tank; where only its capacity is missing to tell, the one that asks for most."""
    holding = [(file, row, applies(row.when, count.site, tank, pit)) for file, row in rows]
    sure = [(file, row) for file, row, holds in holding if holds]
    perhaps = [(file, row) for file, row, holds in holding if holds is None]
    if perhaps and not any(row.when.capacity_gal_at_least or row.when.capacity_gal_below for _, row in sure):
        most = max(perhaps, key=lambda one: number_asked(one[1], tank.capacity_gal) or 0)
        count.assumptions.append(f"the capacity of {tank.id} is not stated: the row that asks for most is taken")
        sure = [*sure, most]
    return sure


def _of_pit(count: Ground, pit: Pit, file: RuleFile, row: SamplingRow, decides: bool, spent: set[str]) -> Requirement:
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
    count: Ground, pit: Pit, tank: Tank, file: RuleFile, row: SamplingRow, decides: bool, spent: set[str], adding: int
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


def _of_borings(count: Ground, pit: Pit, tank: Tank, rows: Rows, decides: bool) -> list[Requirement]:
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


def readings(count: Ground, rows: Rows) -> list[Requirement]:
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
