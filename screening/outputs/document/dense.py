"""Lists as the document shows them: what all rows say alike is said once, what decides nothing is left to the workbook."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screening.outputs import evidence, lists
from screening.outputs.lists import MARK, Amount, Listing, Value

if TYPE_CHECKING:
    from screening.decision.contents import Contents

FEW = 3
"""Rows from which a column that says the same in each is said once above the table."""


def text_of(value: Value) -> str:
    """A cell as it is printed."""
    return value.text if isinstance(value, Amount) else "" if value is None else str(value)


def said_once(one: Listing) -> tuple[Listing, str]:
    """The list with the columns that a document shows and that differ, and what stands in all rows alike ('' for nothing)."""
    kept, said = [], []
    for at, column in enumerate(one.columns):
        if not column.narrow:
            continue
        texts = {text_of(row[at]) for row in one.rows}
        if len(one.rows) < FEW or len(texts) > 1 or column.holds == MARK:
            kept.append(at)
        elif texts != {""}:
            said.append(f"{column.heading}: {texts.pop()}")
    rows = tuple(tuple(row[at] for at in kept) for row in one.rows)
    return replace(one, columns=tuple(one.columns[at] for at in kept), rows=rows), "; ".join(said)


def open_items(contents: Contents) -> Listing:
    """What is open; the section on findings says what would close it."""
    one = lists.open_items(contents)
    return replace(one, notes=one.notes[:1])


def duplicates(contents: Contents) -> Listing:
    """Pairs of which a side was detected, without the reasons, which the lists of outcomes hold."""
    one = lists.duplicates(contents, detected=True)
    at = [number for number, column in enumerate(one.columns) if column.heading != "Why"]
    return replace(
        one, columns=tuple(one.columns[number] for number in at), rows=tuple(tuple(row[number] for number in at) for row in one.rows)
    )  # fmt: skip


def quality(contents: Contents) -> Listing:
    """The findings; their summary is a section of its own."""
    return replace(evidence.quality(contents), notes=())


def coverage(contents: Contents) -> Listing:
    """What is required, taken and missing; the notes stand in the section on coverage."""
    return replace(evidence.coverage(contents), notes=())


def deadlines(contents: Contents) -> Listing:
    """The clocks that apply or may apply."""
    one = evidence.deadlines(contents)
    at = next(number for number, column in enumerate(one.columns) if column.heading == "Applies")
    rows = tuple(row for row in one.rows if row[at] != evidence.APPLIES[False])
    left = len(one.rows) - len(rows)
    told = (f"Deadlines that do not apply: {left}; the workbook lists them.",) if left else ()
    return replace(one, rows=rows, notes=(*told, *one.notes))
