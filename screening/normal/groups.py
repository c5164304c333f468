"""Rows in groups and whole numbers over them: the largest, the smallest, the middle of each group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Column, combinations, numbered
from screening.normal.magnitude import ABSENT, size_of

if TYPE_CHECKING:
    from screening.deliverable.columns import Numbers


def sizes(texts: Column) -> Numbers:
    """`size_of` of each exact text; ABSENT where there is none above 0."""
    return np.asarray([_size(text) for text in texts.values], dtype=np.int64)[texts.codes]


def _size(text: str) -> int:
    number = Decimal(text) if text and not text.startswith("-") else Decimal(0)
    return size_of(number) if number else ABSENT


@dataclass(frozen=True)
class Groups:
    """Rows in groups: the group of each row, how many groups there are."""

    of_row: Numbers
    count: int

    @classmethod
    def of(cls, columns: Sequence[Column]) -> Groups:
        """Rows with the same values in one group; the groups are numbered as they come first."""
        codes, met = combinations(columns)
        return cls(codes.astype(np.int64), len(met))

    def most(self, numbers: Numbers) -> Numbers:
        """The largest number of each group."""
        found = np.full(self.count, np.iinfo(np.int64).min)
        np.maximum.at(found, self.of_row, numbers)
        return found

    def least(self, numbers: Numbers) -> Numbers:
        """The smallest number of each group."""
        return -self.most(-numbers)

    def spans(self, numbers: Numbers) -> Numbers:
        """For each row how far the largest number of its group is from the smallest."""
        return (self.most(numbers) - self.least(numbers))[self.of_row]

    def twice_middle(self, numbers: Numbers) -> Numbers:
        """Twice the median of each group: the sum of the two middle numbers, so that it stays whole."""
        order = np.lexsort((numbers, self.of_row))
        size = np.bincount(self.of_row, minlength=self.count)
        begins = np.cumsum(size) - size
        ranked = numbers[order]
        return np.asarray(ranked[begins + (size - 1) // 2] + ranked[begins + size // 2])

    def distinct(self, column: Column) -> Numbers:
        """How many values of a column each group has."""
        size = len(column.values)
        _, _, first = numbered(self.of_row * size + column.codes, self.count * size)
        return np.bincount(self.of_row[first], minlength=self.count)
