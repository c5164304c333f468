"""The facts of a site that rules of closure ask for: pits and their tanks, water, slabs, products, signs of a release."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from screening.closure.rules import When
from screening.site.parts import Dispenser, Piping, Tank
from screening.site.site_file import SiteFile

RELEASE_EVENTS = ("discovery", "suspected", "confirmed")


@dataclass(frozen=True)
class Pit:
    """An excavation and its tanks; a tank that names no pit has one of its own."""

    id: str
    tanks: tuple[Tank, ...]
    area_sqft: Decimal | None
    water: bool


def pits(site: SiteFile) -> list[Pit]:
    """Every pit with its tanks."""
    found = [
        Pit(
            pit.id, tuple(tank for tank in site.tank if tank.pit == pit.id), pit.area_sqft,
            pit.water if pit.water is not None else bool(site.field.groundwater_met),
        )
        for pit in site.pit
    ]  # fmt: skip
    return found + [Pit("", (tank,), None, bool(site.field.groundwater_met)) for tank in site.tank if not tank.pit]


def water_met(site: SiteFile) -> bool:
    """Whether groundwater was met anywhere."""
    return bool(site.field.groundwater_met) or any(pit.water for pit in site.pit)


def signs(site: SiteFile) -> list[str]:
    """The kinds of signs stated, once each."""
    return list(dict.fromkeys([*site.field.signs, *(sign.kind for sign in site.sign)]))


def release_found(site: SiteFile) -> bool:
    """Whether the site file itself tells of a release: a sign, or an event of discovery, suspicion or confirmation."""
    return bool(signs(site)) or any(event in site.events for event in RELEASE_EVENTS)


def products_of(site: SiteFile, component: str) -> tuple[str, ...]:
    """What the component held; for places that belong to no tank, what all tanks held."""
    whole = tuple(dict.fromkeys(product for tank in site.tank for product in (tank.product, *tank.previous_products)))
    part: Tank | Piping | Dispenser | None = next(
        (one for group in (site.tank, site.piping, site.dispenser) for one in group if one.id == component), None
    )
    if isinstance(part, Tank):
        return (part.product, *part.previous_products)
    return (part.product,) if part is not None and part.product else whole


def applies(when: When, site: SiteFile, tank: Tank | None, pit: Pit | None, closure: str | None = None) -> bool | None:
    """Whether a row's conditions hold for a tank, or for the site; None where only the capacity is missing to tell.

    Water, slab and fill port that nobody stated count as absent; `assumed` names them. ``closure`` is how a part that
    is no tank is closed, None where it does not say: then any tank's way counts.
    """
    water = pit.water if pit is not None else water_met(site)
    said: list[bool] = []
    if when.closure is not None:
        ways = {closure} if closure else {tank.closure} if tank else {one.closure for one in site.tank} or {when.closure}
        said.append(when.closure in ways)
    if when.water_in_pit is not None:
        said.append(water == when.water_in_pit)
    if when.slab is not None:
        said.append(bool(tank and tank.slab) == when.slab)
    if when.fill_above_centre is not None:
        said.append(bool(tank and tank.fill_above_centre) == when.fill_above_centre)
    if when.tanks_in_pit is not None:
        said.append((pit is not None and len(pit.tanks) > 1) == (when.tanks_in_pit == "several"))
    if when.release_found is not None:
        said.append(release_found(site) == when.release_found)
    if when.products:
        said.append(tank is not None and tank.product in when.products)
    if not all(said):
        return False
    return _capacity(when, tank)


def _capacity(when: When, tank: Tank | None) -> bool | None:
    limits = (when.capacity_gal_at_least, when.capacity_gal_above, when.capacity_gal_at_most, when.capacity_gal_below)
    if all(limit is None for limit in limits):
        return True
    if tank is None or tank.capacity_gal is None:
        return None
    size = tank.capacity_gal
    least, above, most, below = limits
    return (
        (least is None or size >= least)
        and (above is None or size > above)
        and (most is None or size <= most)
        and (below is None or size < below)
    )


def assumed(site: SiteFile) -> list[str]:
    """What the coverage took as so because the site file does not say it."""
    told = []
    if site.field.groundwater_met is None and site.tank and not any(pit.water is not None for pit in site.pit):
        told.append("whether groundwater was met is not stated: taken as not met")
    unsaid: Mapping[str, list[str]] = {
        "a slab under the tank": [tank.id for tank in site.tank if tank.slab is None],
        "a pit shared with another tank": [tank.id for tank in site.tank if not tank.pit] if len(site.tank) > 1 else [],
    }
    told += [f"{what} is not stated for {', '.join(ids)}: taken as none" for what, ids in unsaid.items() if ids]
    return told
