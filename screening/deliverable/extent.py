"""How far a sheet may reach, so that a small file does not make a large one of itself."""

from __future__ import annotations

from collections.abc import Sequence

from screening.deliverable.rows import ByColumn
from screening.errors import Refused

LONGEST_CELL = 32_767
"""Characters of a cell: as many as spreadsheet programs keep."""
MOST_CELLS = 1_000_000
"""Cells of a sheet, blank ones between included, that need not be filled."""
MOST_BLANK = 50
"""Blank cells for each filled one in a larger sheet."""
LAST_ROW, LAST_COLUMN = 2_000_000, 20_000
"""The last row and column that any sheet has (workbooks have half as many rows, and 16,384 columns)."""


class Misshapen(ValueError):
    """A number in a file that cannot stand there."""


def place_in(text: str | None, usual: int, last: int) -> int:
    """The row or column that an attribute names, ``usual`` where it names none. Raises `Misshapen` for what is no such place."""
    if not text:
        return usual
    if len(text) > 9 or not text.isascii() or not text.isdigit() or not 1 <= int(text) <= last:
        raise Misshapen(f"'{text[:20]}' is no row or column")
    return int(text)


def repeats_in(text: str | None, least: int = 1) -> int:
    """How often an attribute repeats something. Raises `Misshapen` for what is no whole number of at least ``least``."""
    if not text:
        return least
    if len(text) > 9 or not text.isascii() or not text.isdigit() or int(text) < least:
        raise Misshapen(f"'{text[:20]}' is no number of repeats")
    return int(text)


def spread_out(rows: int, columns: int, filled: int) -> bool:
    """Whether a few cells lie over a very large area."""
    return rows * columns > max(MOST_CELLS, MOST_BLANK * filled)


def refuse_spread(file: str, sheet: str, rows: int, columns: int, filled: int) -> None:
    """Raise `Refused` where a few cells lie over a very large area, and for more columns than a sheet has."""
    if columns > LAST_COLUMN or spread_out(rows, columns, filled):
        place = f"sheet '{sheet}'" if sheet else "the sheet"
        raise Refused(
            f"{file}: {place} has {filled} filled cells over {rows} rows and {columns} columns; delete what stands far from the "
            "table, or save the sheet as csv"
        )


def refuse_long(file: str, sheet: str, rows: Sequence[Sequence[str]]) -> None:
    """Raise `Refused` for a cell with more text than a spreadsheet keeps."""
    if isinstance(rows, ByColumn) and all(len(text) <= LONGEST_CELL for column in rows.columns for text in column.values):
        return
    for number, row in enumerate(rows, start=1):
        if max(map(len, row), default=0) <= LONGEST_CELL:
            continue
        for cell in row:
            if len(cell) > LONGEST_CELL:
                place = f"sheet '{sheet}', " if sheet else ""
                raise Refused(
                    f"{file}: {place}row {number}: a cell holds {len(cell)} characters, more than {LONGEST_CELL}; is a quotation mark "
                    "left open? Mend the row"
                )
