"""Rows of a reading held because their sample is not expected, or because the custody record tells which day is meant."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from screening.deliverable.columns import Frame, spread_parts
from screening.normal.results import delivered_at
from screening.store.sample_check import Expected, Names


def hold_strangers(frame: Frame, expected: Expected) -> Frame:
    """The rows of a reading with those held whose sample is on no record, or only near a known name.

    The delivered location settles a sample whose own number is the laboratory's or the sampler's.
    """
    frame = frame.copy()
    # a duplicate of a known sample is known by it, whatever its own number
    of_known = (frame["sample_kind"] == "field_duplicate") & frame["parent_sample"].isin([*expected.names, *expected.earlier])
    asked = np.flatnonzero((frame["class"] == "result") & ~of_known)
    named = [frame[name].take(asked) for name in ("sample_id", "location", "delivered_sample_id")]
    found = spread_parts(named, Names(expected).question, ["held_field", "reason", "proposal"])
    strange = found["reason"] != ""
    if strange.any():
        where = np.zeros(len(frame), dtype=np.bool_)
        where[asked[strange]] = True
        for name, answers in found.items():
            frame[name] = frame[name].put(asked[strange], answers.take(strange))
        frame["class"] = frame["class"].mask(where, "held")
        frame["delivered_field"] = frame["delivered_field"].mask(where, delivered_at(frame, frame["held_field"], "delivered_"))
    return _dates_settled(frame, expected)


def _dates_settled(frame: Frame, expected: Expected) -> Frame:
    """Of the readings of a date of sampling, propose the day that the custody record gives; a person decides."""
    held = np.flatnonzero((frame["class"] == "held") & (frame["held_field"] == "sampled_at"))
    named = [frame[name].take(held) for name in ("sample_id", "reason", "proposal", "analysed_at")]
    settled = spread_parts(named, lambda *texts: _settled_day(*texts, expected=expected), ["reason", "proposal"])
    for name, answers in settled.items():
        frame[name] = frame[name].put(held, answers)
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
