"""Amounts by their size alone: thousandths of a power of ten as whole numbers, so that no binary float is needed."""

from __future__ import annotations

from decimal import Context, Decimal
from functools import lru_cache

THREE_HUNDREDFOLD = 2477
"""log10(300) in thousandths. 300 is an own choice, no source: a slip between units of one kind is a factor 1,000, and
drying, dilution and sample size move a value by far less."""
ABSENT = -(10**9)
_ROUGH, _SURE = Context(prec=9), Decimal("0.4999")
"""Nine figures tell which whole thousandth is nearest, but for a logarithm that lies between two."""


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
    number = Decimal(f"{figures[0]}.{figures[1:]}")
    size = number.log10(_ROUGH) * 1000
    whole = size.to_integral_value()
    if abs(size - whole) > _SURE:
        whole = (number.log10() * 1000).to_integral_value()
    return int(whole)
