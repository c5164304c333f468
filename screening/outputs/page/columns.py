"""Columns as the page carries them: each distinct text once, in sort order, and for each row the number of its text.

The browser sorts by these whole numbers, so that decimals are put in order exactly and in one way everywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypedDict, TypeVar

from screening.outputs.lists import NUMBER, Amount, Listing, Value, cell_text
from screening.outputs.texts import natural, readable

LONGEST = 12_000
"""Characters of one text that the page carries; more is cut, and its length said."""

Cell = TypeVar("Cell")


class Column(TypedDict):
    """``texts`` in sort order; ``codes`` point into them, one for each row."""

    texts: list[str]
    codes: list[int]


def column(values: Sequence[Cell], key: Callable[[Cell], Any], text: Callable[[Cell], str] = str) -> Column:
    """A column of hashable values, sorted by a key, shown by a text."""
    distinct = sorted(set(values), key=lambda value: (key(value), text(value)))
    code = {value: number for number, value in enumerate(distinct)}
    return {"texts": [readable(text(value), LONGEST) for value in distinct], "codes": [code[value] for value in values]}


def list_columns(one: Listing) -> list[Column]:
    """The columns of a list, sorted by number where they hold numbers, else as people read."""
    made = []
    for number, shown in enumerate(one.columns):
        values = [row[number] for row in one.rows]
        made.append(column(values, _number_key if shown.holds == NUMBER else _text_key, cell_text))
    return made


def _text_key(value: Value) -> Any:
    return natural(cell_text(value))


def _number_key(value: Value) -> Any:
    number = value.number if isinstance(value, Amount) else value if isinstance(value, int) else None
    return (number is not None, number if number is not None else 0, natural(cell_text(value)))
