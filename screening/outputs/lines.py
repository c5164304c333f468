"""The pieces of people's text in the terminal: headings, tables without lines, bullets, how much is left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.table import Column, Table
from rich.text import Text

LONGEST = 200
"""Rows of one list shown in the terminal; the rest is counted and stands in the JSON."""


BETWEEN = 2
"""Blanks between columns."""
OF_THE_LAST, OF_WORDS, OF_A_HEAD = (12, 16), 8, 8
"""Letters left to the last column, which holds the reasons (the most: that no word breaks), to one of words, and to a heading,
where the window is narrow."""


class _Fitting(Table):
    """A table that a narrow window folds and does not cut: rich cuts what the least widths that `row` asks for leave no room for."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        *before, last = (max(map(cell_len, [str(column.header), *map(str, column.cells)])) for column in self.columns)
        spare = options.max_width - BETWEEN * len(before) - sum(before)
        asked = all(column.min_width is not None for column in self.columns[:-1])
        if asked and spare < min(last, max(before, default=0)):  # else rich takes from the last column alone
            self._fit(options.max_width, last)
        yield from super().__rich_console__(console, options)

    def _fit(self, width: int, wanted: int) -> None:
        """Give each column a width: its least; where that is too much, columns of words less, as far as no word breaks and
        then further, at last what is copied or compared.

        That is the first column, which names the row, and numbers; what stands in them between blanks breaks last of all.
        The last column, which wants ``wanted``, has the rest.
        """
        *before, last = self.columns
        least = [max(column.min_width or 1, min(cell_len(str(column.header)), OF_A_HEAD)) for column in before]
        room = width - BETWEEN * len(before)
        scant, most = OF_THE_LAST
        good = min(wanted, most, max(scant, _longest_word(last)))
        scant = min(wanted, scant)
        kept = [at == 0 or column.justify == "right" for at, column in enumerate(before)]
        whole = [max(_longest_word(column), min(cell_len(str(column.header)), OF_A_HEAD)) for column in before]
        unbroken = [max(OF_WORDS, letters) for letters in whole]
        words, short, one = ([letters] * len(before) for letters in (OF_WORDS, OF_WORDS // 2, 1))
        ways = ((False, unbroken, good), (True, whole, good), (False, words, good), (False, short, scant), (True, one, scant))
        for which, narrowest, rest in ways:
            places = [at for at, is_kept in enumerate(kept) if is_kept == which]
            while sum(least) + rest > room and (wide := [at for at in places if least[at] > narrowest[at]]):
                least[max(wide, key=lambda at: least[at])] -= 1
        for column, taken in zip(before, least, strict=True):
            column.width = taken
        last.width = max(1, room - sum(least))


def _longest_word(column: Column) -> int:
    """How many letters the longest word of a column's cells has."""
    return max((cell_len(word) for cell in column.cells for word in str(cell).split()), default=1)


def table(*columns: str, right: Sequence[str] = ()) -> Table:
    """A table of these columns; long words break, nothing is cut off."""
    made = _Fitting(box=None, pad_edge=False, padding=(0, BETWEEN, 0, 0), header_style="bold")
    for column in columns:
        made.add_column(column, justify="right" if column in right else "left", overflow="fold")
    return made


def row(of: Table, *cells: Any, unbroken: int = 26) -> None:
    """Add a row; all but the last column stay unbroken as far as ``unbroken`` letters go, the last takes the rest."""
    for column, text in zip(of.columns[:-1], cells, strict=False):
        column.min_width = max(column.min_width or 0, min(unbroken, len("" if text is None else str(text))))
    of.add_row(*(Text("" if cell is None else str(cell)) for cell in cells))


def head(out: Console, text: str) -> None:
    """A heading with a blank line above."""
    out.print()
    out.print(Text(text, style="bold underline"))


def bullets(out: Console, title: str, lines: Sequence[str]) -> None:
    """A list under its heading; nothing where it is empty."""
    if lines:
        head(out, title)
        for line in lines:
            out.print(Text(f"- {line}"))


def rest(out: Console, items: Sequence[object]) -> None:
    """How many rows the list did not show."""
    if len(items) > LONGEST:
        out.print(Text(f"... and {len(items) - LONGEST} more; --json lists all"))
