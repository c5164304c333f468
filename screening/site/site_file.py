"""The site file: one property's tanks, places of sampling, conditions and choices, as TOML."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from screening.errors import Refused
from screening.files import parse_toml, read_text
from screening.site.parts import (
    CustodySample,
    Dispenser,
    Feature,
    Location,
    Moment,
    Number,
    Part,
    Piping,
    Pit,
    Sidewall,
    Stockpile,
    Tank,
    Word,
)
from screening.site.records import (
    Atmosphere,
    Background,
    Clock,
    Observations,
    Paper,
    Quantities,
    Reading,
    Required,
    RuleChoices,
    Sign,
    Waiver,
)
from screening.typed import After, Fault, Place, Within

PLACE = r"^[a-z]{2}(-[a-z0-9]{1,3})?$"
COORDINATES = r"^(local|EPSG:[0-9]{4,6})$"


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError("must be a time zone such as America/New_York") from error
    return name


class Site(Part):
    id: Annotated[str, Within(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$")]
    name: str
    place: Annotated[str, Within(pattern=PLACE)]
    address: str = ""
    facility_number: Word = ""
    time_zone: Annotated[str, After(_zone)] | None = None
    coordinates: Annotated[str, Within(pattern=COORDINATES)] = "local"
    grid_unit: Literal["", "m", "ft"] = ""
    north_deg: Number = Decimal(0)


class Screening(Part):
    levels: tuple[str, ...] = ()
    review: str = ""


class SiteFile(Part):
    """The whole file. Lists may be empty; only [site] is required."""

    site: Site
    screening: Screening = Screening()
    conditions: Mapping[str, Word] = {}
    tank: tuple[Tank, ...] = ()
    piping: tuple[Piping, ...] = ()
    dispenser: tuple[Dispenser, ...] = ()
    pit: tuple[Pit, ...] = ()
    sidewall: tuple[Sidewall, ...] = ()
    stockpile: tuple[Stockpile, ...] = ()
    feature: tuple[Feature, ...] = ()
    location: tuple[Location, ...] = ()
    custody: tuple[CustodySample, ...] = ()
    background: tuple[Background, ...] = ()
    events: Mapping[str, Moment] = {}
    field: Observations = Observations()
    sign: tuple[Sign, ...] = ()
    reading: tuple[Reading, ...] = ()
    atmosphere: tuple[Atmosphere, ...] = ()
    paper: tuple[Paper, ...] = ()
    quantities: Quantities = Quantities()
    closure: RuleChoices = RuleChoices()
    required: tuple[Required, ...] = ()
    clock: tuple[Clock, ...] = ()
    waiver: tuple[Waiver, ...] = ()


def read_site(path: Path) -> tuple[SiteFile, str]:
    """The site file and its text. Raises `Refused` naming file, line and key."""
    if not path.is_file():
        raise Refused(f"{path}: there is no such site file; 'screening init' writes an example")
    text = read_text(path)
    return parse_site(text, str(path)), text


def parse_site(text: str, where: str) -> SiteFile:
    """A site file from its text. Raises `Refused` naming line and key."""
    try:
        data = parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        raise Refused(f"{where}: {_plain(str(error))}; mend the line and add the site again") from error
    try:
        site = SiteFile.read(data)
    except Fault as fault:
        raise Refused(f"{where}, line {_line(text, fault.place)}: {_told(fault)}") from fault
    _references(site, text, where)
    return site


def _references(site: SiteFile, text: str, where: str) -> None:
    grouped = (site.tank, site.piping, site.dispenser, site.pit, site.sidewall, site.stockpile)
    components = [part.id for group in grouped for part in group]
    locations = [part.id for part in site.location]
    for name, ids in (("component", components), ("location", locations)):
        twice = next((one for one in ids if ids.count(one) > 1), None)
        if twice is not None:
            raise Refused(f"{where}, line {_find(text, twice)}: {name} '{twice}' is there twice; give each its own id")
    for place in site.location:
        if place.component and place.component not in (*components, "pit", "sidewall", "stockpile"):
            raise Refused(
                f"{where}, line {_find(text, place.id)}: component '{place.component}' of location '{place.id}' is no "
                "tank, piping or dispenser of this file, nor pit, sidewall or stockpile"
            )
    named = [
        *(("pit", part.pit, [pit.id for pit in site.pit], f"tank '{part.id}'") for part in site.tank),
        *(("pit", part.pit, [pit.id for pit in site.pit], f"sidewall '{part.id}'") for part in site.sidewall),
        *(("location", part.location, locations, f"sign '{part.kind}'") for part in site.sign),
        *(("component", part.component, components, f"sign '{part.kind}'") for part in site.sign),
        *(("location", part.location, locations, "a reading") for part in site.reading),
        *(("tank", part.tank, [tank.id for tank in site.tank], "an atmosphere reading") for part in site.atmosphere),
        *(("component", part.component, components, "a waiver") for part in site.waiver),
    ]
    for key, word, known, of in named:
        if word and word not in known:
            told = f"it has {', '.join(known)}" if known else "it has none"
            raise Refused(f"{where}, line {_find(text, word)}: {key} '{word}' of {of} is not in this file; {told}")


def _plain(message: str) -> str:
    return re.sub(r"\(at line (\d+), column (\d+)\)", r"at line \1, column \2", message)


def _told(fault: Fault) -> str:
    key = ".".join(str(part + 1) if isinstance(part, int) else part for part in fault.place)
    if fault.kind == "unknown":
        return f"key '{key}' is unknown; see 'screening init' for the keys of a site file"
    if fault.kind == "missing":
        return f"key '{key}' is missing"
    told = f"key '{key}': {fault.words}"
    return told if isinstance(fault.given, Mapping) else f"{told}, not {fault.given!r}"


def _line(text: str, place: Place) -> int:
    """The line of a key: the header of its table (the nth where it repeats), then the key below it."""
    lines = text.splitlines()
    at = 0
    table = str(place[0]) if place else ""
    nth = place[1] + 1 if len(place) > 1 and isinstance(place[1], int) else 1
    headers = [number for number, line in enumerate(lines) if re.match(rf"\s*\[\[?\s*{re.escape(table)}\s*(\.[^\]]*)?\]", line)]
    if len(headers) >= nth:
        at = headers[nth - 1]
    key = next((str(part) for part in reversed(place) if isinstance(part, str)), "")
    for number in range(at, len(lines)):
        if number > at and lines[number].lstrip().startswith("["):
            break
        if re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=", lines[number]):
            return number + 1
    return at + 1


def _find(text: str, word: str) -> int:
    found = [number for number, line in enumerate(text.splitlines(), start=1) if f'"{word}"' in line or f"'{word}'" in line]
    return found[-1] if found else 1


def fingerprint(text: str) -> str:
    """SHA-256 of the site file's text."""
    return hashlib.sha256(text.encode()).hexdigest()
