"""Result tables as sheets: analytes down, samples across; on paper no sample is split and every page names its analytes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from screening.outputs.tables import MARKS, NOT_ANALYSED, Cell, Crosstab, Level, LevelTable, Row, Sample, decimal_of
from screening.outputs.texts import readable
from screening.outputs.workbook.sheet import BODY, HEADING, POINT_HEIGHT, QUIET, Book, key_lines, lines_of, put

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

MOST_SAMPLES = 48
"""Samples of one sheet at most; a wider table goes on in a further sheet."""
PAGE_WIDTH = 139
"""Characters across a landscape letter page with the margins set, at full scale: 10.2 inches of 96 dots, 7 dots each."""
SCALE = 78
"""Scale in percent of a page, at which the body text prints near 8 points."""
LONGEST_NAME = 60

ANALYTE, CAS, UNIT, METHOD, LEVEL = 25, 11, 6.5, 13, 11.5
RESULT, FLAG = 9, 4
HEADS = ("Location", "Sample", "Kind", "Sampled", "Depth", "Unit and basis", "Method")
FIRST_HEAD = 3
HEAD_ROW = FIRST_HEAD + len(HEADS)

_LINE = {**BODY, "bottom": 4, "bottom_color": "#999999"}
_SAMPLE = {
    **BODY,
    "bold": True,
    "align": "center",
    "valign": "vcenter",
    "text_wrap": True,
    "left": 1,
    "right": 1,
    "bottom": 4,
    "bottom_color": "#999999",
}
_LABEL = {**BODY, "bold": True, "align": "right", "valign": "vcenter"}
_BOX: dict[str, dict[str, Any]] = {
    "exceeds": {"bold": True, "edge": 2, "bg_color": "#F6DDCF"},
    "open": {"italic": True, "edge": 8, "pattern": 18, "fg_color": "#5B6470", "bg_color": "#FFFFFF"},
}
"""Signs beside the letter: a heavy box and bold figures, a dashed box and dots; both hold in a grey copy."""


@dataclass(frozen=True)
class Part:
    """The samples of a table that one sheet shows, by their numbers."""

    table: Crosstab
    columns: tuple[int, ...]
    title: str


def sheets_of(table: Crosstab) -> list[tuple[str, Part]]:
    """A table in as many sheets as it needs, each with its name."""
    name = table.medium.replace("_", " ").capitalize()
    chunks = even(range(len(table.samples)), MOST_SAMPLES)
    units = sorted({row.unit for row in table.rows})
    head = f"{name} results, {' and '.join(units)}" if len(units) <= 3 else f"{name} results"
    if len(chunks) == 1:
        return [(name[:31], Part(table, tuple(chunks[0]), head))]
    return [
        (f"{name[:22]} {number} of {len(chunks)}", Part(table, tuple(chunk), f"{head}, part {number} of {len(chunks)}"))
        for number, chunk in enumerate(chunks, start=1)
    ]


def even(items: Sequence[int], most: int) -> list[Sequence[int]]:
    """Items in as few parts as ``most`` allows, all of nearly the same length."""
    parts = max(1, -(-len(items) // most))
    size, longer = divmod(len(items), parts)
    cuts = [0]
    for part in range(parts):
        cuts.append(cuts[-1] + size + (part < longer))
    return [items[start:end] for start, end in pairwise(cuts)]


def add_crosstab(book: Book, name: str, part: Part) -> None:
    """Add one sheet of a table."""
    table = part.table
    sheet = book.sheet(name, part.title)
    first = 4 + len(table.tables)
    mark = 3 if len(table.tables) < 2 else 3 + 2.4 * len(table.tables)
    for at, width in enumerate((ANALYTE, CAS, UNIT, METHOD, *[LEVEL] * len(table.tables))):
        sheet.set_column(at, at, width)
    for number in range(len(part.columns)):
        for at, width in enumerate((mark, RESULT, FLAG)):
            sheet.set_column(first + 3 * number + at, first + 3 * number + at, width)
    _heads(book, sheet, part, first, mark + RESULT + FLAG)
    row = HEAD_ROW
    for at, analyte in enumerate(table.rows):
        row += 1
        cells = [table.cells.get((at, column)) for column in part.columns]
        _analyte(book, sheet, row, analyte)
        for number, cell in enumerate(cells):
            _cell(book, sheet, row, first + 3 * number, table, cell)
        for level_table, levels in zip(table.tables, analyte.levels, strict=True):
            if len(levels) > 1:
                row += 1
                _levels_by_sample(book, sheet, row, first, analyte, level_table, cells)
    sheet.autofilter(HEAD_ROW, 0, row, first + 3 * len(part.columns) - 1)
    sheet.freeze_panes(HEAD_ROW + 1, 1)
    _page(sheet, part, first, mark)
    _notes(book, sheet, row + 2, table)


def _page(sheet: Worksheet, part: Part, first: int, mark: float) -> None:
    """Set up the pages: at one page's width where all samples fit, else breaks between samples at a scale that lets them fit."""
    own = ANALYTE + CAS + UNIT + METHOD + LEVEL * len(part.table.tables)
    each = mark + RESULT + FLAG
    sheet.repeat_rows(0, HEAD_ROW)
    room = int((PAGE_WIDTH * 100 / SCALE - own) / each)
    if len(part.columns) <= max(room, 1):
        sheet.fit_to_pages(1, 0)
        return
    pages = even(part.columns, max(room, 1))
    sheet.repeat_columns(0, first - 1)
    sheet.set_print_scale(max(25, min(SCALE, int(PAGE_WIDTH * 100 / (own + each * max(map(len, pages)))))))
    ends = [sum(map(len, pages[: number + 1])) for number in range(len(pages) - 1)]
    sheet.set_v_pagebreaks([first + 3 * end for end in ends])


def _heads(book: Book, sheet: Worksheet, part: Part, first: int, width: float) -> None:
    table = part.table
    heights = [1] * len(HEADS)
    for at, label in enumerate(HEADS):
        put(sheet, FIRST_HEAD + at, 0, label, book.format(_LABEL))
    for number, level in enumerate(table.tables):
        for at, text in enumerate(_level_heads(level)):
            shape = book.format({**BODY, "font_size": 9}, text_wrap=True, left=1, right=1, bold=at == 0)
            put(sheet, FIRST_HEAD + at, 4 + number, text, shape)
            heights[at] = max(heights[at], lines_of(text, LEVEL))
    for number, column in enumerate(part.columns):
        left = first + 3 * number
        for at, text in enumerate(_sample_heads(table.samples[column])):
            shape = book.format(_SAMPLE) if at < 2 else book.format({**_SAMPLE, "bold": False, "font_size": 9})
            sheet.merge_range(FIRST_HEAD + at, left, FIRST_HEAD + at, left + 2, "", shape)
            put(sheet, FIRST_HEAD + at, left, readable(text, LONGEST_NAME), shape)
            heights[at] = max(heights[at], lines_of(readable(text, LONGEST_NAME), width * 1.05))
        for at, text in enumerate(("", "Result", "Flag")):
            put(
                sheet,
                HEAD_ROW,
                left + at,
                text,
                book.format(HEADING, align="right" if at == 1 else "left", left=int(at == 0), right=int(at == 2)),
            )
    for at, height in enumerate(heights):
        sheet.set_row(FIRST_HEAD + at, POINT_HEIGHT * min(height, 8))
    names = (
        "Analyte",
        "CAS number",
        "Unit",
        "Method",
        *(f"Level {level.number}" if len(table.tables) > 1 else "Level" for level in table.tables),
    )
    for at, text in enumerate(names):
        put(sheet, HEAD_ROW, at, text, book.format(HEADING, align="right" if at > 3 else "left"))
    sheet.set_row(HEAD_ROW, POINT_HEIGHT * 1.3)


def _level_heads(level: LevelTable) -> tuple[str, ...]:
    signs = " or ".join(sign.replace("_", " ") for sign in level.comparisons) or "not compared"
    until = f" to {level.until}" if level.until else ""
    return (
        level.table, f"version {level.version}", f"in force from {level.version}{until}", f"exceeded: {signs} the level",
        f"{level.stage} stage" if level.stage else "", level.transcription, level.citation,
    )  # fmt: skip


def _sample_heads(sample: Sample) -> tuple[str, ...]:
    return (
        sample.location, sample.sample_id, sample.title, sample.sampled_at[:10], sample.depth, "; ".join(sample.units),
        "; ".join(sample.methods),
    )  # fmt: skip


def _analyte(book: Book, sheet: Worksheet, row: int, analyte: Row) -> None:
    methods = "; ".join(analyte.methods)
    wrapped = {**_LINE, "text_wrap": True}
    put(sheet, row, 0, analyte.name, book.format(wrapped, bold=True))
    put(sheet, row, 1, analyte.cas, book.format(_LINE))
    put(sheet, row, 2, analyte.unit, book.format(_LINE))
    put(sheet, row, 3, methods, book.format(wrapped, font_size=9))
    for at, levels in enumerate(analyte.levels, start=4):
        if len(levels) == 1:
            _level(book, sheet, row, at, levels[0], _LINE)
        else:
            put(sheet, row, at, "by sample" if levels else "none listed", book.format(_LINE, align="right", italic=True))
    sheet.set_row(row, POINT_HEIGHT * min(max(lines_of(analyte.name, ANALYTE), lines_of(methods, METHOD * 1.1)), 6))


def _level(book: Book, sheet: Worksheet, row: int, at: int, level: Level, base: dict[str, Any]) -> None:
    number = decimal_of(level.text)
    if number is None:
        put(sheet, row, at, level.text, book.format({**base, "text_wrap": True}, align="right"))
    else:
        book.number(sheet, row, at, number, level.text, base)


def _cell(book: Book, sheet: Worksheet, row: int, left: int, table: Crosstab, cell: Cell | None) -> None:
    if cell is None or cell.held:
        text = NOT_ANALYSED if cell is None else ""
        base = {**_LINE, "font_color": "#666666"}
        put(sheet, row, left, table.marked(cell) if cell else "", book.format(base, left=1, align="center"))
        put(sheet, row, left + 1, text, book.format(base, align="right"))
        put(sheet, row, left + 2, "", book.format(base, right=1))
        return
    base = {**_LINE, **_BOX.get(cell.worst, {})}
    edge = base.pop("edge", 0)
    boxed = {**base, "top": edge, "bottom": edge} if edge else base
    boxed.pop("bottom_color", None) if edge else None
    put(sheet, row, left, table.marked(cell), book.format(boxed, left=edge or 1, align="center"))
    if cell.number is None:
        put(sheet, row, left + 1, cell.text, book.format(boxed, align="right"))
    else:
        book.number(sheet, row, left + 1, cell.number, cell.text, boxed)
    put(sheet, row, left + 2, cell.qualifiers, book.format(boxed, right=edge or 1))


def _levels_by_sample(
    book: Book, sheet: Worksheet, row: int, first: int, analyte: Row, table: LevelTable, cells: Sequence[Cell | None]
) -> None:
    """The level of each sample, where facts of the sample decide it."""
    base = {**_LINE, "italic": True, "font_size": 9, "font_color": "#333333"}
    put(sheet, row, 0, f"{analyte.name}: level of each sample", book.format({**base, "text_wrap": True}, indent=1))
    put(sheet, row, 2, analyte.unit, book.format(base))
    put(sheet, row, 4 + table.number - 1, table.table, book.format({**base, "text_wrap": True}, align="right"))
    for number, cell in enumerate(cells):
        level = cell.levels[table.number - 1] if cell is not None else None
        if level is not None:
            _level(book, sheet, row, first + 3 * number + 1, level, base)
    sheet.set_row(row, POINT_HEIGHT * 2)


def _notes(book: Book, sheet: Worksheet, row: int, table: Crosstab) -> None:
    """The key below the table; the marks stand in the footer of every page as well."""
    notes = ["Key", *key_lines(), f"{MARKS['exceeds']} stands in a heavy box in bold, {MARKS['open']} in a dashed box on dots."]
    notes.append("Flag: the laboratory's own letters, kept apart from the marks: an E among the flags is not an exceedance.")
    if any(level.comparisons for level in table.tables):
        notes.append(
            "Levels are in the unit of the results; sheet Levels shows them as the rule prints them, with the citation of each."
        )
    else:
        notes.append("No level table in use holds a level for these results.")
    for at, text in enumerate(notes):
        put(sheet, row + at, 0, text, book.format(QUIET, bold=at == 0))
