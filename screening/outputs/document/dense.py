"""Lists as the document shows them: what decides nothing is left to the workbook, what a section says is not said again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from screening.outputs import evidence, lists
from screening.outputs.lists import LONG, MARK, NUMBER, TEXT, Column, Listing, Value
from screening.outputs.tables import MARKS, Crosstab, Document, crosstabs

if TYPE_CHECKING:
    from screening.decision.contents import Contents


MOST_ROWS, MOST_OPEN = 150, 60
"""Rows of a list, and open comparisons one by one, that a document bears; the workbook holds all."""
MOST_CELLS = 1_500
"""Results of a medium from which its tables show only the analytes that exceed somewhere."""
NAMED = 6
"""Samples that a row of several names."""


def first_rows(one: Listing) -> Listing:
    """A list that is not too long for a document, with a note of what is left out."""
    left = len(one.rows) - MOST_ROWS
    return (
        one
        if left <= 0
        else replace(one, rows=one.rows[:MOST_ROWS], notes=(*one.notes, f"{left} more rows stand in the workbook."))
    )


def results(contents: Contents) -> list[Crosstab]:
    """The result tables; of a large one the analytes that exceed somewhere."""
    made = []
    for table in crosstabs(contents):
        over = {row for (row, _), cell in table.cells.items() if cell.worst == "exceeds"}
        if len(table.cells) > MOST_CELLS and len(over) < len(table.rows):
            kept = sorted(over)
            cells = {(kept.index(row), at): cell for (row, at), cell in table.cells.items() if row in over}
            table = replace(table, rows=tuple(table.rows[row] for row in kept), cells=cells, of_rows=len(table.rows))
        made.append(table)
    return made


def open_items(contents: Contents) -> Listing:
    """What is open, by analyte where it is much; the section on findings says what would close it."""
    one = lists.open_items(contents)
    items = lists.of_outcome(contents.answer, "open")
    if len(items) <= MOST_OPEN:
        return replace(one, notes=one.notes[:1])
    columns = (
        Column("Mark", MARK, 6), Column("Medium", TEXT, 12), Column("Analyte", TEXT, 25), Column("Comparisons", NUMBER, 11),
        Column("Samples", LONG, 46), Column("Why", LONG, 46),
    )  # fmt: skip
    groups: dict[tuple[str, str], list[Document]] = {}
    for item in lists.by_place(items):
        groups.setdefault((item["medium"], lists.analyte_text(item)), []).append(item)
    rows: list[tuple[Value, ...]] = []
    for (medium, analyte), found in groups.items():
        samples = list(dict.fromkeys(item["sample_id"] for item in found))
        more = f" and {len(samples) - NAMED} more" if len(samples) > NAMED else ""
        others = len({item["because"] for item in found}) - 1
        why = found[0]["because"] + (f"; and {others} other reason{'s' if others > 1 else ''}" if others else "")
        rows.append((MARKS["open"], lists.words(medium), analyte, len(found), ", ".join(samples[:NAMED]) + more, why))
    at = {column.heading: number for number, column in enumerate(one.columns)}
    for row in one.rows[len(items) :]:
        rows.append((row[at["Mark"]], "", row[at["Analyte"]], None, row[at["Sample"]], row[at["Why"]]))
    return Listing(one.name, one.title, (one.notes[0], "The workbook lists each comparison."), columns, tuple(rows))


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
