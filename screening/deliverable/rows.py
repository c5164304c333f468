"""The rows of a sheet from one on, looked at by columns; and the rows of a large text file, kept by columns alone."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, overload

import numpy as np

from screening.deliverable.columns import Column

if TYPE_CHECKING:
    from screening.deliverable.columns import Numbers


class ByColumn(Sequence[list[str]]):
    """Rows of equal length that are kept by columns; a row is put together when someone asks for it."""

    def __init__(self, columns: Sequence[Column]) -> None:
        self.columns = columns

    def __len__(self) -> int:
        return len(self.columns[0])

    @overload
    def __getitem__(self, at: int) -> list[str]: ...
    @overload
    def __getitem__(self, at: slice) -> list[list[str]]: ...

    def __getitem__(self, at: int | slice) -> list[str] | list[list[str]]:
        if isinstance(at, slice):
            numbers = range(*at.indices(len(self)))
            taken = [column.take(np.arange(numbers.start, numbers.stop, numbers.step)).tolist() for column in self.columns]
            return [list(row) for row in zip(*taken, strict=True)]
        if not -len(self) <= at < len(self):
            raise IndexError(at)
        return [column.at(at) for column in self.columns]

    def below(self, above: int) -> ByColumn:
        """The rows below so many."""
        return ByColumn([Column(column.codes[above:], column.values) for column in self.columns]) if above else self


class Below:
    """The rows of a sheet below so many."""

    def __init__(self, rows: ByColumn, above: int) -> None:
        self.rows = rows.below(above)
        self.width = len(rows.columns)

    def __len__(self) -> int:
        return len(self.rows)

    def column(self, index: int) -> Column:
        """The texts of one column, '' beyond the last."""
        return self.rows.columns[index] if index < self.width else Column.full("", len(self))

    @cached_property
    def filled(self) -> Numbers:
        """How many cells of each row hold a text."""
        count = np.zeros(len(self), dtype=np.int64)
        for index in range(self.width):
            count += self.column(index) != ""
        return count

    def with_at_most(self, cells: int) -> list[tuple[int, list[str]]]:
        """The rows that hold so many texts or fewer, each with its number from 0."""
        return [(at, self.rows[at]) for at in np.flatnonzero(self.filled <= cells).tolist()]

    def same_as(self, header: list[str]) -> Numbers:
        """The numbers of the rows that hold these texts and no others, in their order."""
        if not header:
            return np.zeros(0, dtype=np.int64)
        begins = np.zeros(len(self), dtype=np.bool_)
        for index in range(self.width):
            begins |= self.column(index) == header[0]
        likely = np.flatnonzero(begins & (self.filled == len(header)))
        return np.asarray([at for at in likely.tolist() if [cell for cell in self.rows[at] if cell] == header], dtype=np.int64)
