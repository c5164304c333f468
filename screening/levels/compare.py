"""What changed between two versions: rows added and removed, levels stricter and looser, and by how much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from typing import Literal

from screening.levels.table import LevelRow, Version

What = Literal["added", "removed", "stricter", "looser", "sign", "changed"]

_FIGURES = Context(prec=3, rounding=ROUND_HALF_EVEN)
_EXACT = Context(prec=60)


@dataclass(frozen=True)
class Change:
    """One difference. ``factor`` is the larger level over the smaller, to three figures; ``tenfold`` is exact."""

    analyte: str
    medium: str
    conditions: dict[str, str]
    what: What
    before: str | None
    after: str | None
    factor: str | None = None
    tenfold: bool = False


def compare(before: Version, after: Version) -> list[Change]:
    """Every difference between the rows of two versions, in order of analyte, medium and conditions.

    Rows belong together by the analyte's identity, medium, fraction and conditions, however the name is printed.
    """
    old, new = _by_place(before), _by_place(after)
    return [change for place in sorted({*old, *new}) for change in _changes(old.get(place), new.get(place))]


_Place = tuple[str, str, str, tuple[tuple[str, str], ...]]


def _by_place(version: Version) -> dict[_Place, LevelRow]:
    return {(row.analyte, row.medium, row.fraction, tuple(sorted(row.conditions.items()))): row for row in version.rows}


def _changes(old: LevelRow | None, new: LevelRow | None) -> Iterator[Change]:
    row = new or old
    assert row is not None, "a place comes from one of the two"
    what, factor, tenfold = _judge(old, new)
    if what is not None:
        yield Change(row.analyte, row.medium, dict(row.conditions), what, _shown(old), _shown(new), factor, tenfold)


def _judge(old: LevelRow | None, new: LevelRow | None) -> tuple[What | None, str | None, bool]:
    if old is None:
        return "added", None, False
    if new is None:
        return "removed", None, False
    numbers = old.normal_value, old.normal_upper, new.normal_value, new.normal_upper
    if old.normal_unit != new.normal_unit or None in (numbers[0], numbers[2]):
        same = (old.printed, old.unit, old.comparison) == (new.printed, new.unit, new.comparison)
        return (None if same else "changed"), None, False
    if numbers[:2] == numbers[2:]:
        return (None if old.comparison == new.comparison else "sign"), None, False
    assert old.normal_value is not None and new.normal_value is not None
    if old.normal_value == new.normal_value:
        return "changed", None, False
    return stricter_or_looser(old.normal_value, new.normal_value)


def stricter_or_looser(old: Decimal, new: Decimal) -> tuple[Literal["stricter", "looser"], str | None, bool]:
    """Which way a level moved, the larger over the smaller to three figures, and whether that is ten or more (exactly).

    The levels differ and are in one unit; there is no factor from or to a level of 0, which is tenfold.
    """
    low, high = sorted((old, new))
    what: Literal["stricter", "looser"] = "stricter" if new < old else "looser"
    if not low:
        return what, None, True
    return what, _plain(_FIGURES.divide(high, low)), high >= _EXACT.multiply(low, Decimal(10))


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


def _shown(row: LevelRow | None) -> str | None:
    if row is None:
        return None
    sign = "" if row.comparison == "above" else " (at or above)"
    return f"{row.printed} {row.unit}{sign}" if row.value is not None else row.printed
