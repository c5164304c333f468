"""Conditions that a sample's own results decide: 'benzene in the same water: detected, not detected, unknown'."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

Key = tuple[str, str]
"""A sample: its number and its kind."""


@dataclass(frozen=True)
class Share:
    """A further test: the sum of some analytes below a share of another in the same sample."""

    parts: tuple[str, ...]
    of: str
    below: Decimal


@dataclass(frozen=True)
class Presence:
    """When an analyte counts as not detected: every limit at or below ``limit_at_most`` (normal unit), and the share."""

    key: str
    analyte: str
    limit_at_most: Decimal | None = None
    share: Share | None = None


@dataclass(frozen=True)
class State:
    """What a sample's results say of a condition, and the words for it."""

    state: str
    told: str


@dataclass(frozen=True)
class _Bounds:
    detected: bool
    lower: Decimal
    upper: Decimal | None
    shown: str
    doubt: str = ""


def states(connection: duckdb.DuckDBPyConnection, presence: Presence) -> Mapping[Key, State]:
    """The state of the condition for every sample with comparands. Reads the temporary table ``comparand``."""
    wanted = {
        presence.analyte,
        *(presence.share.parts if presence.share else ()),
        *((presence.share.of,) if presence.share else ()),
    }
    rows = connection.execute(
        "SELECT sample_id, sample_kind, analyte, bool_or(detected), max(lower), max(upper), "
        "count(upper) = count(*), arg_max(shown, coalesce(upper, lower)), max(doubt) FILTER (doubt IN ('blank', 'late')) "
        "FROM comparand WHERE list_contains(?, analyte) AND doubt NOT IN ('rejected', 'leachate') "
        "GROUP BY sample_id, sample_kind, analyte",
        [sorted(wanted)],
    ).fetchall()
    found: dict[Key, dict[str, _Bounds]] = {}
    for sample, kind, analyte, detected, lower, upper, bounded, shown, doubt in rows:
        found.setdefault((sample, kind), {})[analyte] = _Bounds(detected, lower, upper if bounded else None, shown, doubt or "")
    return {sample: _state(presence, of_sample) for sample, of_sample in found.items()}


def _state(presence: Presence, found: Mapping[str, _Bounds]) -> State:
    name = presence.analyte.lower()
    main = found.get(presence.analyte)
    if main is None:
        return State("unknown", f"{name} is not reported in this sample")
    if main.doubt == "blank":
        return State("unknown", f"{name} {main.shown} is in a blank as well, so whether it is there is not shown")
    if main.doubt == "late":
        return State("unknown", f"{name} <{main.shown} was analysed too late to show its absence")
    if main.detected:
        return State("detected", f"{name} {main.shown}")
    if main.upper is None:
        return State("unknown", f"{name} is not detected, but no limit is given")
    if presence.limit_at_most is not None and main.upper > presence.limit_at_most:
        limit = f"{presence.limit_at_most.normalize():f}"
        return State("unknown", f"{name} <{main.shown} has a limit above {limit}, so its absence is not shown")
    if presence.share is None:
        return State("not_detected", f"{name} not detected (<{main.shown})")
    return _share(presence.share, found, f"{name} not detected (<{main.shown})")


def _share(share: Share, found: Mapping[str, _Bounds], told: str) -> State:
    whole = found.get(share.of)
    parts = [found.get(part) for part in share.parts]
    words = " + ".join(part.lower() for part in share.parts)
    percent = f"{(share.below * 100).normalize():f} %"
    if whole is None or not whole.detected or any(part is None for part in parts):
        return State("unknown", f"{told}, but {words} or {share.of.lower()} is not reported")
    known = [part for part in parts if part is not None]
    lower = sum((part.lower for part in known), Decimal(0))
    uppers = [part.upper for part in known]
    limit = share.below * whole.lower
    if lower >= limit:
        return State(
            "detected",
            f"{words} {lower.normalize():f} is {_percent(lower, whole.lower)} of {share.of.lower()} {whole.shown}, not below {percent}",
        )
    if all(upper is not None for upper in uppers):
        upper_sum = sum((upper for upper in uppers if upper is not None), Decimal(0))
        if upper_sum < limit:
            return State(
                "not_detected",
                f"{told} and {words} at most {upper_sum.normalize():f}, {_percent(upper_sum, whole.lower)} of {share.of.lower()} {whole.shown}",
            )
    return State("unknown", f"{told}, but whether {words} is below {percent} of {share.of.lower()} is not shown")


def _percent(part: Decimal, whole: Decimal) -> str:
    return f"{part * 100 / whole:.2f} %" if whole else "an unknown share"
