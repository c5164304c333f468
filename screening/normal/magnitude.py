"""Amounts by their size alone: thousandths of a power of ten as whole numbers, so that no binary float is needed."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import pandas as pd

from screening.normal.spread import spread

THREE_HUNDREDFOLD = 2477
"""log10(300) in thousandths. 300 is an own choice, no source: a slip between units of one kind is a factor 1,000, and
drying, dilution and sample size move a value by far less."""
ABSENT = -(10**9)


@dataclass(frozen=True)
class _Size:
    milli: int


def size_of(number: Decimal) -> int:
    """log10 of an amount above 0 in whole thousandths.

    >>> size_of(Decimal("0.001"))
    -3000
    """
    return int((number.log10() * 1000).to_integral_value())


def sizes(texts: pd.Series) -> pd.Series:
    """`size_of` of each exact text; ABSENT where there is none above 0."""
    read = spread([texts.astype("str")], _size, ["milli"])
    return read["milli"].astype("int64")


def _size(text: str) -> _Size:
    number = Decimal(text) if text and not text.startswith("-") else Decimal(0)
    return _Size(size_of(number) if number else ABSENT)
