"""The pieces of people's text in the terminal: headings, tables without lines, bullets, how much is left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

LONGEST = 200
"""Rows of one list shown in the terminal; the rest is counted and stands in the JSON."""


def table(*columns: str, right: Sequence[str] = ()) -> Table:
    """A table of these columns; long words break, nothing is cut off."""
    made = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
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
