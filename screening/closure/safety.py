"""Atmosphere readings against published limits. Nothing here says that a tank or a pit is safe to lift, cut or enter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from screening.closure.rules import SafetyRow
from screening.site.records import Atmosphere
from screening.site.site_file import SiteFile

CAUTION = (
    "Readings are held against published limits and nothing more: they change within minutes and differ from place to place in a "
    "tank. Whether a tank may be lifted, cut, moved or entered is decided on the spot by a qualified person with a calibrated "
    "instrument, under the local fire code and the confined-space rule. No one enters an excavation that is not sloped or shored."
)
SITE_CAUTION = (
    "Explosive atmosphere, confined space, excavation, buried utilities and drinking water: local codes and licensed practice rule; "
    "nothing here says that a place is safe to enter, dig, heat or drink from."
)


@dataclass(frozen=True)
class Reading:
    """One reading held against one published limit: within, beyond, or not measured."""

    at: str
    tank: str
    position: str
    before: str
    result: str
    text: str
    citation: str
    transcription: str


def read_atmosphere(site: SiteFile, rows: Sequence[SafetyRow]) -> list[Reading]:
    """Each reading against every limit for what it was taken before."""
    return [_held(reading, row) for reading in site.atmosphere for row in rows if reading.before in row.before]


def _held(reading: Atmosphere, row: SafetyRow) -> Reading:
    gas, oxygen = reading.flammable_percent, reading.oxygen_percent
    tests: list[tuple[str, Decimal | None, bool | None]] = [
        ("flammable gas", gas, _most(gas, row.flammable_at_most)),
        ("flammable gas", gas, _below(gas, row.flammable_below)),
        ("oxygen", oxygen, _most(oxygen, row.oxygen_at_most)),
        ("oxygen", oxygen, _below(oxygen, row.oxygen_below)),
        ("oxygen", oxygen, None if oxygen is None or row.oxygen_at_least is None else oxygen >= row.oxygen_at_least),
    ]
    limits = (row.flammable_at_most, row.flammable_below, row.oxygen_at_most, row.oxygen_below, row.oxygen_at_least)
    asked = [test for test, limit in zip(tests, limits, strict=True) if limit is not None]
    unmeasured = [name for name, value, _ in asked if value is None]
    beyond = [f"{name} {value} %" for name, value, holds in asked if holds is False]
    within = [f"{name} {value} %" for name, value, holds in asked if holds]
    if beyond:
        result, told = "beyond", f"{', '.join(beyond)} is beyond the published limit"
    elif unmeasured:
        result, told = "not_measured", f"{', '.join(unmeasured)} was not measured"
    else:
        result, told = "within", f"{', '.join(within)} lies within the published limit, which does not say that it is safe"
    return Reading(
        reading.at.isoformat(), reading.tank, reading.position, reading.before, result,
        f"{told}: {row.topic}: {row.rule}", row.citation, row.status,
    )  # fmt: skip


def _most(value: Decimal | None, limit: Decimal | None) -> bool | None:
    return None if value is None or limit is None else value <= limit


def _below(value: Decimal | None, limit: Decimal | None) -> bool | None:
    return None if value is None or limit is None else value < limit
