"""Numbers of statistics as texts of decimals: six figures, or as many as it takes not to contradict the answer."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction


def figures(number: float | Fraction | None, level: Decimal | None = None) -> str | None:
    """A number without an exponent; at a level it is written as far as its side of the level shows."""
    if number is None:
        return None
    for digits in range(6, 18):
        text = Decimal(f"{float(number):.{digits}g}")
        if level is None or _side(Fraction(text), Fraction(level)) == _side(Fraction(number), Fraction(level)):
            break
    shown = f"{text:f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _side(number: Fraction, level: Fraction) -> int:
    return (number > level) - (number < level)


def not_above(number: float, level: Decimal, sign: str) -> bool:
    """Whether a limit (a float, as every limit is) lies not above a level; an equal one is above for 'at_or_above'."""
    exact = Decimal(number)
    return exact < level if sign == "at_or_above" else exact <= level
