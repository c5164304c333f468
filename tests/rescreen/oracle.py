"""What a rescreen of the made-up portfolio must find, worked out straight from its numbers. Shares no code with the program."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tests.rescreen.portfolio import LAW, Level, Portfolio, Result


@dataclass(frozen=True)
class Expected:
    """One comparison before and after: outcomes, the kinds of flip, which way the level moved and exactly how far."""

    before: str
    after: str
    kinds: frozenset[str]
    direction: str | None
    factor: Fraction | None
    old: Level | None
    new: Level | None


def expected(portfolio: Portfolio) -> dict[tuple[str, str, str], Expected]:
    """By site, sample and analyte."""
    return {(one.site, one.sample, one.analyte): _one(one, portfolio.classes[one.site]) for one in portfolio.results}


def _one(result: Result, soil_class: str) -> Expected:
    if result.site.startswith("still"):
        level = (
            {"groundwater": Level("5", "ug/L"), "soil": Level("0.246", "mg/kg")}[result.medium]
            if result.analyte == "Benzene"
            else None
        )
        outcome = _outcome(result, level)
        return Expected(outcome, outcome, frozenset(), None, None, level, level)
    old = new = None
    for row in LAW:
        if row.analyte == result.analyte and row.medium == result.medium and row.soil_class in ("", soil_class):
            old, new = row.old, row.new
    before, after = _outcome(result, old), _outcome(result, new)
    direction, factor = None, None
    if old is not None and new is not None and _exact(old) != _exact(new):
        direction = "stricter" if _exact(new) < _exact(old) else "looser"
        factor = max(_exact(old), _exact(new)) / min(_exact(old), _exact(new))
    return Expected(before, after, _kinds(before, after), direction, factor, old, new)


def _exact(level: Level) -> Fraction:
    number = Fraction(level.figure.replace(",", ""))
    return number * 1000 if level.unit == "mg/L" else number


def _outcome(result: Result, level: Level | None) -> str:
    if level is None:
        return "no_level"
    amount = Fraction(result.text.lstrip("<")) * {"ug/L": 1, "mg/L": 1000, "mg/kg": 1, "ug/kg": Fraction(1, 1000)}[result.unit]
    if result.text.startswith("<"):
        return "open" if amount > _exact(level) else "does_not_exceed"
    if level.sign == "above":
        return "exceeds" if amount > _exact(level) else "does_not_exceed"
    return "exceeds" if amount >= _exact(level) else "does_not_exceed"


def _kinds(before: str, after: str) -> frozenset[str]:
    if before == after:
        return frozenset()
    kinds = set()
    if after == "exceeds":
        kinds.add("newly_exceeds")
    if before == "exceeds":
        kinds.add("no_longer_exceeds")
    if after == "open":
        kinds.add("newly_open")
    if before == "open" and after != "no_level":
        kinds.add("newly_decided")
    if before == "no_level":
        kinds.add("level_appeared")
    if after == "no_level":
        kinds.add("level_vanished")
    return frozenset(kinds)
