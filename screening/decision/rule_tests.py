"""The statistical ways of comparing that rules name, each applied to the samples that one level is held against."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from screening.decision.sample_groups import Group
from screening.errors import Refused
from screening.screen.statistics import shares
from screening.screen.statistics.choice import Limit, Tested, upper_limit
from screening.screen.statistics.shares import Part, all_of
from screening.screen.statistics.shown import figures, not_above


@dataclass(frozen=True)
class Found:
    """What a test found: estimate and limit as texts in the unit of the group, whether it holds (None: open), and words."""

    estimate: str | None
    limit: str | None
    holds: bool | None
    note: str
    method: str = ""
    parts: tuple[Part, ...] = ()


Test = Callable[[Group, tuple[Tested, ...]], Found]


def confidence_limit(group: Group, tested: tuple[Tested, ...]) -> Found:
    """The one-sided 95 % upper confidence limit of the mean, not above the level. Raises `Refused` for too few values."""
    limit = upper_limit(group.observed, tested)
    part = _limit_part(group, limit)
    return Found(
        figures(limit.estimate, group.level),
        figures(limit.limit, group.level),
        part.met,
        _told(group, limit),
        limit.method,
        (part,),
    )


def three_part(group: Group, tested: tuple[Tested, ...]) -> Found:
    """Limit of the mean not above the level, no sample above twice it, fewer than a tenth above it (Washington, recalled).

    Values count as lognormal unless that is rejected. Raises `Refused` for too few values.
    """
    level = _level(group)
    limit = upper_limit(group.observed, tested, lognormal_first=True)
    bounds = [one.bounds for one in group.samples]
    everything = bounds + [one.bounds for one in group.duplicates]
    parts = (
        _limit_part(group, limit), shares.none_above_times(everything, level, 2),
        shares.fewer_than_a_tenth(bounds, level, group.sign),
    )  # fmt: skip
    return Found(
        figures(limit.estimate, level), figures(limit.limit, level), all_of(parts), _told(group, limit), limit.method, parts
    )


def three_quarters_and_ten_times(group: Group, tested: tuple[Tested, ...]) -> Found:
    """Three quarters of the samples not above the level, none above ten times it. Counts alone; no distribution."""
    parts = _counted(group)
    return Found(None, None, all_of(parts), "counts alone: no mean, no distribution", "exact fractions", parts)


def mean(group: Group, tested: tuple[Tested, ...]) -> Found:
    """The arithmetic mean not above the level, with three quarters not above it and none above ten times it."""
    mean_part = shares.mean_not_above([one.bounds for one in group.samples], _level(group), group.sign)
    parts = (mean_part, *_counted(group))
    found = shares.mean_between([one.bounds for one in group.samples])
    low, high = (figures(one, group.level) for one in found)
    note = (
        f"mean {low} to {high if high is not None else 'unknown'}, non-detects at 0 and at their limits"
        if low != high
        else "no non-detects"
    )
    return Found(high, None, all_of(parts), note, "exact fractions", parts)


def spatial_mean(group: Group, tested: tuple[Tested, ...]) -> Found:
    """A mean weighed by area, which cannot be made: no site file says what area a sample stands for. Raises `Refused`."""
    raise Refused("the area that each sample stands for is not known; weigh the samples by hand")


RULES: Mapping[str, Test] = {
    "upper_confidence_limit": confidence_limit,
    "three_part": three_part,
    "three_quarters_and_ten_times": three_quarters_and_ten_times,
    "mean": mean,
    "spatial_mean": spatial_mean,
}
"""By the names that level tables use."""


def _counted(group: Group) -> tuple[Part, Part]:
    bounds = [one.bounds for one in group.samples]
    everything = bounds + [one.bounds for one in group.duplicates]
    level = _level(group)
    return shares.three_quarters(bounds, level, group.sign), shares.none_above_times(everything, level, 10)


def _level(group: Group) -> Decimal:
    if group.level is None:
        raise Refused(f"{group.table} lists no number for this medium to hold the samples against")
    return group.level


def _limit_part(group: Group, limit: Limit) -> Part:
    """Above the level is a failure, but where only a non-detect's limit is above, the answer is open."""
    level = _level(group)
    below = not_above(limit.limit, level, group.sign)
    told = f"{figures(limit.limit, level)} {group.unit} {'not above' if below else 'above'} the level"
    if limit.instead and not below:
        highest = max(group.observed.detects, default=0)
        return Part("limit", None if not_above(highest, level, group.sign) else False, told)
    doubtful = limit.ceiling is not None and not not_above(limit.ceiling, level, group.sign)
    if below and (group.unbounded or group.limits_above or doubtful):
        return Part("limit", None, told)
    return Part("limit", below, told)


def _told(group: Group, limit: Limit) -> str:
    said = [f"{limit.method}: {limit.because}", *limit.warnings]
    if group.limits_above:
        said.append(f"the limits of {', '.join(group.limits_above)} lie above the level: the test cannot pass")
    return "; ".join(said)
