"""Conditions that a sample's own results decide: 'benzene in the same water: detected, not detected, unknown'."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Share:
    """A further test: the sum of some analytes below a share of another in the same sample."""

    parts: tuple[str, ...]
    of: str
    below: Decimal


@dataclass(frozen=True)
class Presence:
    """When an analyte counts as not detected: every limit at or below ``limit_at_most`` (in ``limit_unit``), and the share."""

    key: str
    analyte: str
    limit_at_most: Decimal | None = None
    limit_unit: str = ""
    share: Share | None = None


@dataclass(frozen=True)
class State:
    """What a sample's results say of a condition, and the words for it."""

    state: str
    told: str


@dataclass(frozen=True)
class _Bounds:
    """What all fractions of an analyte in a sample show together; ``detected`` means surely there."""

    detected: bool
    lower: Decimal
    upper: Decimal | None
    unit: str
    shown: str
    doubts: frozenset[str] = frozenset()


_UNSHOWN = {
    "blank": "{} {} is in a blank as well, so whether it is there is not shown",
    "rejected": "{} is rejected",
    "late": "{} <{} was analysed too late to show its absence",
    "only_total": "of {} only the total is reported",
    "parts_disagree": "{} is not detected, but its parts are",
}
"""Doubts in which a result shows neither presence nor absence, the first that holds is told."""

SAMPLES = """
CREATE OR REPLACE TEMP TABLE sample AS
SELECT *, count(*) FILTER (WHERE depth_top IS NOT NULL OR depth_bottom IS NOT NULL)
        OVER (PARTITION BY sample_id, sample_kind, location, medium, sampled_on) = 1 AS alone
FROM (
    SELECT DISTINCT sample_no, sample_id, sample_kind, location, depth_top, depth_bottom, depth_unit, medium, sampled_on FROM comparand
)
"""
SAME = """
    s.sample_id = r.sample_id AND s.sample_kind = r.sample_kind AND s.location = r.location AND s.medium = r.medium
    AND s.sampled_on IS NOT DISTINCT FROM r.sampled_on
    AND (s.depth_top IS NOT DISTINCT FROM r.depth_top AND s.depth_bottom IS NOT DISTINCT FROM r.depth_bottom
            AND s.depth_unit = r.depth_unit
         OR s.alone AND r.depth_top IS NULL AND r.depth_bottom IS NULL)
"""
"""Whether a result r tells of a sample s: taken with it, or without a depth where the sample has only one."""

_FOUND = """
SELECT s.sample_no, r.analyte, bool_or(detected AND doubt NOT IN ('rejected', 'blank', 'only_total')) AS surely,
    min(lower), max(upper), count(upper) = count(*), any_value(unit),
    arg_max(coalesce(nullif(shown, ''), plain(coalesce(upper, lower))), coalesce(upper, lower)),
    list(doubt) FILTER (detected OR doubt <> 'only_total')
FROM comparand AS r JOIN sample AS s ON {same}
WHERE list_contains(?, analyte) AND doubt NOT IN ('leachate', 'other_fraction')
GROUP BY s.sample_no, r.analyte
""".replace("{same}", SAME)


def states(connection: duckdb.DuckDBPyConnection, presence: Presence) -> Mapping[int, State]:
    """The state of the condition by ``sample_no`` for every sample with comparands. Reads ``comparand``."""
    wanted = {presence.analyte}
    if presence.share:
        wanted |= {*presence.share.parts, presence.share.of}
    connection.execute(SAMPLES)
    found: dict[int, dict[str, _Bounds]] = {}
    for row in connection.execute(_FOUND, [sorted(wanted)]).fetchall():
        sample, analyte, surely, lower, upper, bounded, unit, shown, doubts = row
        bounds = _Bounds(surely, lower, upper if bounded else None, unit, shown, frozenset(doubts or ()))
        found.setdefault(sample, {})[analyte] = bounds
    return {sample: _state(presence, of_sample) for sample, of_sample in found.items()}


def _state(presence: Presence, found: Mapping[str, _Bounds]) -> State:
    name = presence.analyte.lower()
    main = found.get(presence.analyte)
    if main is None:
        return State("unknown", f"{name} is not reported in this sample")
    if main.detected:
        return State("detected", f"{name} {main.shown}")
    for doubt, words in _UNSHOWN.items():
        if doubt in main.doubts:
            return State("unknown", words.format(name, main.shown))
    if main.upper is None:
        return State("unknown", f"{name} is not detected, but no limit is given")
    if presence.limit_at_most is not None and (main.unit != presence.limit_unit or main.upper > presence.limit_at_most):
        limit = f"{presence.limit_at_most.normalize():f} {presence.limit_unit}"
        return State(
            "unknown", f"{name} <{main.shown} {main.unit} is not shown to be at most {limit}, so its absence is not shown"
        )
    if presence.share is None:
        return State("not_detected", f"{name} not detected (<{main.shown})")
    return _share(presence.share, found, f"{name} not detected (<{main.shown})")


def _share(share: Share, found: Mapping[str, _Bounds], told: str) -> State:
    whole = found.get(share.of)
    parts = [found[part] for part in share.parts if part in found]
    words = " + ".join(part.lower() for part in share.parts)
    percent = f"{(share.below * 100).normalize():f} %"
    if whole is None or not whole.detected or len(parts) < len(share.parts):
        return State("unknown", f"{told}, but {words} or {share.of.lower()} is not reported")
    lower = sum((part.lower for part in parts), Decimal(0))
    if whole.upper is not None and lower >= share.below * whole.upper:
        return State(
            "detected",
            f"{words} {lower.normalize():f} is {_percent(lower, whole.upper)} of {share.of.lower()} {whole.shown}, not below {percent}",
        )
    uppers = [part.upper for part in parts if part.upper is not None]
    if len(uppers) == len(parts):
        upper = sum(uppers, Decimal(0))
        if upper < share.below * whole.lower:
            return State(
                "not_detected",
                f"{told} and {words} at most {upper.normalize():f}, {_percent(upper, whole.lower)} of {share.of.lower()} {whole.shown}",
            )
    return State("unknown", f"{told}, but whether {words} is below {percent} of {share.of.lower()} is not shown")


def _percent(part: Decimal, whole: Decimal) -> str:
    return f"{part * 100 / whole:.2f} %" if whole else "an unknown share"
