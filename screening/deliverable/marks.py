"""What a spreadsheet shows beside its texts: hidden rows and columns, struck-out cells, formulas without a value."""

from __future__ import annotations

from dataclasses import dataclass, field

NO_VALUE = "(formula without a stored value)"
"""Stands in a cell whose formula was never worked out, so that it is no blank that could be passed over."""


@dataclass(frozen=True)
class Marks:
    """Of one sheet; rows and columns are numbered from 1."""

    hidden: bool = False
    hidden_rows: frozenset[int] = field(default_factory=frozenset)
    hidden_columns: frozenset[int] = field(default_factory=frozenset)
    struck_out: frozenset[tuple[int, int]] = field(default_factory=frozenset)
    uncalculated: frozenset[tuple[int, int]] = field(default_factory=frozenset)
