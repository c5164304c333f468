"""Delivered samples held against custody record and sample plan: a name that is on neither waits for a person."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

from screening.normal.dates import read_moment
from screening.normal.results import delivered_at
from screening.normal.spread import spread
from screening.store.custody import lines_of, records
from screening.store.sites import site_of
from screening.vocabulary.sample_names import near_names, same_but_for_writing

if TYPE_CHECKING:
    import duckdb

ACCEPTED_NAMES = (
    "SELECT DISTINCT c.new_text FROM decision AS c JOIN held AS h ON h.id = c.subject "
    "WHERE c.site = ? AND c.kind = 'held_accepted' AND h.field IN ('sample_id', 'location')"
)


@dataclass(frozen=True)
class Expected:
    """Names on a site's custody records and plan, or accepted by a person, and when each sample was collected."""

    names: tuple[str, ...]
    collected: Mapping[str, dt.date] = field(default_factory=dict)


def expected_samples(connection: duckdb.DuckDBPyConnection, site: str) -> Expected | None:
    """What a site expects; None where it has no custody record, so that every sample is taken as it comes."""
    found = site_of(connection, site)
    lines = lines_of(connection, found, records(connection, site, None))
    if not lines:
        return None
    accepted = [row[0] for row in connection.execute(ACCEPTED_NAMES, [site]).fetchall()]
    names = [*(line.sample for line in lines), *(place.id for place in found.location), *sorted(accepted)]
    collected = {line.sample: read_moment(line.collected, None).iso for line in lines}
    days = {sample: dt.date.fromisoformat(iso[:10]) for sample, iso in collected.items() if iso}
    return Expected(tuple(dict.fromkeys(names)), days)


def hold_strangers(frame: pd.DataFrame, expected: Expected) -> pd.DataFrame:
    """The rows of a reading with those held whose sample is on no record, or only near a name on one.

    The delivered location settles a sample whose own number is the laboratory's or the sampler's.
    """
    frame = frame.copy()
    rows = frame[frame["class"] == "result"]
    named = [rows["sample_id"], rows["location"], rows["delivered_sample_id"]]
    found = spread(named, lambda *texts: _stranger(*texts, names=expected.names), ["held_field", "reason", "proposal"])
    found = found[found["reason"] != ""]
    if len(found):
        frame.loc[found.index, ["held_field", "reason", "proposal"]] = found
        frame.loc[found.index, "class"] = "held"
        frame.loc[found.index, "delivered_field"] = delivered_at(frame.loc[found.index], found["held_field"], "delivered_")
    return _dates_settled(frame, expected)


@dataclass(frozen=True)
class _Stranger:
    held_field: str = ""
    reason: str = ""
    proposal: str = ""


def _stranger(sample: str, location: str, delivered: str, *, names: tuple[str, ...]) -> _Stranger:
    key = same_but_for_writing(sample)
    written_otherwise = any(same_but_for_writing(name) == key for name in names)
    if sample in names or (location in names and not written_otherwise):
        return _Stranger()
    near, of_field, text = near_names(sample, names), "sample_id" if delivered or not location else "location", sample
    if not near and location != sample:
        near = near_names(location, names)
        if near:
            of_field, text = "location", location
    said = f"; it may be {' or '.join(near)}" if near else ""
    what = "location" if text != sample else "sample"
    return _Stranger(of_field, f"{what} '{text}' is on neither custody record nor plan{said}", " | ".join(near))


def _dates_settled(frame: pd.DataFrame, expected: Expected) -> pd.DataFrame:
    """Of the readings of a date of sampling, propose the day that the custody record gives; a person decides."""
    held = frame[(frame["class"] == "held") & (frame["held_field"] == "sampled_at")]
    named = [held["sample_id"], held["reason"], held["proposal"], held["analysed_at"]]
    settled = spread(named, lambda *texts: _settled_day(*texts, expected=expected), ["reason", "proposal"])
    frame.loc[held.index, ["reason", "proposal"]] = settled
    return frame


@dataclass(frozen=True)
class _Day:
    reason: str
    proposal: str


def _settled_day(sample: str, reason: str, proposal: str, analysed_at: str, *, expected: Expected) -> _Day:
    day, readings = expected.collected.get(sample), proposal.split(" | ")
    agreeing = [reading for reading in readings if day and reading[:10] == day.isoformat()]
    if len(readings) < 2 or not agreeing:
        return _Day(reason, proposal)
    waits = " or ".join(f"{reading}{_wait(reading, analysed_at)}" for reading in readings)
    return _Day(f"{reason}: {waits}; the custody record says {day}", agreeing[0])


def _wait(reading: str, analysed_at: str) -> str:
    if not analysed_at:
        return ""
    days = (dt.date.fromisoformat(analysed_at[:10]) - dt.date.fromisoformat(reading[:10])).days
    return f" ({days} days before analysis)"
