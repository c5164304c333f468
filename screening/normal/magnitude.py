"""Amounts by their size alone: thousandths of a power of ten as whole numbers, so that no binary float is needed."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache

THREE_HUNDREDFOLD = 2477
"""log10(300) in thousandths. 300 is an own choice, no source: a slip between units of one kind is a factor 1,000, and
drying, dilution and sample size move a value by far less."""
ABSENT = -(10**9)


def size_of(number: Decimal) -> int:
    """log10 of an amount above 0 in whole thousandths.

    >>> size_of(Decimal("0.001"))
    -3000
    """
    figures = "".join(map(str, number.as_tuple().digits)).strip("0")
    return _of_figures(figures) + 1000 * number.adjusted()


@lru_cache(maxsize=1 << 14)
def _of_figures(figures: str) -> int:
    """The size of the figures with the point behind the first: of 0.0123, 1.23 and 12.3 the logarithm is drawn once."""
    return int((Decimal(f"{figures[0]}.{figures[1:]}").log10() * 1000).to_integral_value())
