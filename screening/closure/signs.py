"""What field signs mean by the rules of the place: a release by themselves, or a suspicion that a sample must answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screening.closure.events import first_known, written
from screening.closure.findings import Gap
from screening.closure.library import Taken
from screening.closure.rules import SignRow
from screening.closure.samples import Place
from screening.site.records import Sign
from screening.site.site_file import SiteFile

WEIGHT = {"triggers": 0, "sample_there": 1, "suspected": 2}
"""Where several rows speak of one sign, the one that asks for most counts."""


@dataclass(frozen=True)
class Seen:
    """A sign and what it means: triggers, or a gap where no sample answers it, or a note where one does."""

    kind: str
    triggers: bool
    text: str
    gap: Gap | None


def read_signs(site: SiteFile, taken: Taken, found: Sequence[Place]) -> list[Seen]:
    """Every sign of the site file, those with a place by themselves and those that only [field] names once each."""
    placed = {sign.kind for sign in site.sign}
    every = [*site.sign, *(Sign(kind=kind) for kind in site.field.signs if kind not in placed)]
    rows = [row for file in taken.files for row in file.rows]
    said = [_read(sign, [row for row in rows if row.sign == sign.kind], found, site) for sign in every]
    if any(reading.value > 0 for reading in site.reading):
        said += [
            Seen("instrument", False, f"a field instrument gave readings: {row.rule} ({row.citation})", None)
            for row in rows
            if row.sign == "instrument"
        ]
    return said + _told_by_events(site)


def _told_by_events(site: SiteFile) -> list[Seen]:
    """A confirmed release triggers; a discovery that no sign explains has to be explained before anything is clean."""
    confirmed, discovered = first_known(site, ("confirmed",)), first_known(site, ("discovery",))
    if confirmed is not None:
        return [Seen("confirmed", True, f"the site file states that a release was confirmed, {written(confirmed[1])}", None)]
    if discovered is None or site.sign or site.field.signs:
        return []
    told = f"the site file states a discovery of contamination, {written(discovered[1])}, and no sign that says what was found"
    return [Seen("discovery", False, told, Gap(told, "say with [field] signs or [[sign]] what was discovered, and where"))]


def _read(sign: Sign, rows: Sequence[SignRow], found: Sequence[Place], site: SiteFile) -> Seen:
    word = sign.kind.replace("_", " ")
    at = f" at {sign.location or sign.component}" if sign.location or sign.component else ""
    row = min(rows, key=lambda one: WEIGHT[one.meaning], default=None)
    seen = f"{word} {'were' if word.endswith('s') else 'was'} seen in the field{at}"
    law = f": {row.rule} ({row.citation})" if row else ""
    if row is not None and row.meaning == "triggers":
        return Seen(sign.kind, True, seen + law, None)
    place = next((one for one in found if one.location.id == sign.location), None)
    if place is not None and place.samples:
        return Seen(sign.kind, False, f"{seen}; {place.location.id} was sampled there{law}", None)
    if sign.kind == "holes" and not sign.location and _tank_sampled(sign, found, site):
        return Seen(sign.kind, False, f"{seen}; the ground below was sampled{law}", None)
    action = (
        f"have the samples of {place.location.id} analysed"
        if place
        else f"sample the place where {word} was seen, and name it with [[sign]] location"
    )
    return Seen(
        sign.kind,
        False,
        f"{seen}, and no sample is named that stands for the place{law}",
        Gap(f"{seen}, and no sample is named that stands for the place{law}", action),
    )


def _tank_sampled(sign: Sign, found: Sequence[Place], site: SiteFile) -> bool:
    tanks = [sign.component] if sign.component else [tank.id for tank in site.tank]
    return bool(tanks) and all(any(one.samples for one in found if one.location.component == tank) for tank in tanks)
