"""Result tables as sheets: analytes down, samples across; on paper no sample is split and every page names its analytes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, Any

from screening.outputs.tables import MARKS, NOT_ANALYSED, Cell, Crosstab, Level, LevelTable, Row, Sample, decimal_of
from screening.outputs.texts import readable
from screening.outputs.workbook.heights import POINT_HEIGHT, lines_of
from screening.outputs.workbook.sheet import BODY, HEADING, QUIET, Book, key_lines, put

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

MOST_SAMPLES = 48
"""Samples of one sheet at most; a wider table goes on in a further sheet."""
PAGE_DOTS = 915
"""Dots across a landscape letter page with the margins set, at full scale: 10.2 inches of 96 dots, less the six percent by
which one spreadsheet program takes a column wider than another."""
SCALE = 78
"""Scale in percent of a page, at which the body text prints near 8 points."""
LEAST_SCALE = 66
"""Scale in percent that a page is brought down to where it then holds all analytes."""
PAGE_LINES = 37
"""Lines of body text on a landscape letter page at full scale."""
LONGEST_NAME = 60
"""Letters of a sample's head; the lists show more."""

OWN = (22, 11.5, 6.5, 14.5)
"""Widths of analyte, CAS number, unit and method, in characters."""
LEVEL, MARK, RESULT, FLAG = 10, 2.6, 8.6, 3.8
HEADS = ("Location", "Sample", "Kind", "Sampled", "Depth", "Unit, basis", "Method")
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
    units = sorted({row.unit for row in table.rows if row.unit})
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
    own = (*OWN, *[LEVEL] * len(table.tables))
    each = (MARK if len(table.tables) < 2 else MARK + 2.4 * len(table.tables), RESULT, FLAG)
    for at, width in enumerate((*own, *each * len(part.columns))):
        sheet.set_column(at, at, width)
    first = len(own)
    lines = _heads(book, sheet, part, sum(each)) + 4
    row = HEAD_ROW
    for at, analyte in enumerate(table.rows):
        row += 1
        cells = [table.cells.get((at, column)) for column in part.columns]
        lines += _analyte(book, sheet, row, analyte, max((lines_of(cell.text, RESULT) for cell in cells if cell), default=1))
        for number, cell in enumerate(cells):
            _cell(book, sheet, row, first + 3 * number, table, cell)
        for level_table, levels in zip(table.tables, analyte.levels, strict=True):
            if len(levels) > 1:
                row += 1
                lines += _levels_by_sample(book, sheet, row, first, analyte, level_table, cells)
    last = first + 3 * len(part.columns) - 1
    sheet.autofilter(HEAD_ROW, 0, row, last)
    sheet.freeze_panes(HEAD_ROW + 1, 1)
    sheet.repeat_rows(0, HEAD_ROW)
    sheet.print_area(0, 0, row, last)
    _page(sheet, len(part.columns), first, (_dots(own), _dots(each)), lines)
    _notes(book, sheet, row + 2, table)


def _dots(widths: Sequence[float]) -> float:
    """Dots of columns at full scale: seven a character and five of padding."""
    return sum(7 * width + 5 for width in widths)


def _page(sheet: Worksheet, samples: int, first: int, dots: tuple[float, float], lines: int) -> None:
    """Set up the pages: breaks between samples at a scale at which a page's samples fit across.

    Where all analytes would nearly fit on one page in height, they are made to.
    """
    own, each = dots
    tall = int(PAGE_LINES * 100 / lines)
    scale = tall if LEAST_SCALE <= tall < SCALE else SCALE
    pages = [len(page) for page in even(range(samples), max(1, int((PAGE_DOTS * 100 / scale - own) / each)))]
    sheet.set_print_scale(max(25, min(scale, int(PAGE_DOTS * 100 / (own + each * max(pages))))))
    if len(pages) > 1:
        sheet.repeat_columns(0, first - 1)
        sheet.set_v_pagebreaks([first + 3 * end for end in accumulate(pages[:-1])])


def _heads(book: Book, sheet: Worksheet, part: Part, width: float) -> int:
    """Write the heads of samples and levels; returns their lines."""
    table = part.table
    first = len(OWN) + len(table.tables)
    heights = [1] * len(HEADS)
    for at, label in enumerate(HEADS):
        put(sheet, FIRST_HEAD + at, len(OWN) - 1, label, book.format(_LABEL))
    for number, level in enumerate(table.tables, start=len(OWN)):
        for at, text in enumerate((level.table, level.version)):
            shape = book.format({**BODY, "font_size": 8}, text_wrap=True, align="right", indent=1)
            put(sheet, FIRST_HEAD + len(HEADS) - 2 + at, number, text, shape)
            heights[len(HEADS) - 2 + at] = max(heights[len(HEADS) - 2 + at], lines_of(text, LEVEL - 1.5, size=8))
    for number, column in enumerate(part.columns):
        left = first + 3 * number
        for at, text in enumerate(_sample_heads(table.samples[column])):
            shape = book.format(_SAMPLE) if at < 2 else book.format({**_SAMPLE, "bold": False, "font_size": 9})
            sheet.merge_range(FIRST_HEAD + at, left, FIRST_HEAD + at, left + 2, "", shape)
            put(sheet, FIRST_HEAD + at, left, readable(text, LONGEST_NAME), shape)
            height = lines_of(readable(text, LONGEST_NAME), width, size=10 if at < 2 else 9, bold=at < 2)
            heights[at] = max(heights[at], height)
        for at, text in enumerate(("", "Result", "Flag")):
            edges = {"left": int(at == 0), "right": int(at == 2)}
            put(
                sheet, HEAD_ROW, left + at, text, book.format(HEADING, align="right" if at == 1 else "left", **edges, font_size=9)
            )
    told = "\n".join(_level_text(level) for level in table.tables)
    needed = lines_of(told, sum(OWN[:3]), size=9) + 1
    heights[-1] = max(heights[-1], needed - sum(heights[:-1]))
    shape = book.format({**BODY, "font_size": 9}, text_wrap=True)
    sheet.merge_range(FIRST_HEAD, 0, FIRST_HEAD + len(HEADS) - 1, len(OWN) - 2, "", shape)
    put(sheet, FIRST_HEAD, 0, told, shape)
    for at, height in enumerate(heights):
        sheet.set_row(FIRST_HEAD + at, POINT_HEIGHT * min(height, 12))
    names = (
        "Analyte",
        "CAS number",
        "Unit",
        "Method",
        *(f"Level {level.number}" if len(table.tables) > 1 else "Level" for level in table.tables),
    )
    for at, text in enumerate(names):
        put(
            sheet,
            HEAD_ROW,
            at,
            text,
            book.format(HEADING, align="right" if at >= len(OWN) else "left", indent=int(at >= len(OWN))),
        )
    sheet.set_row(HEAD_ROW, POINT_HEIGHT * 1.3)
    return sum(min(height, 12) for height in heights)


def _level_text(level: LevelTable) -> str:
    """What a level column is: table, version, days in force, sign, stage, how it was read, citation."""
    signs = " or ".join(sign.replace("_", " ") for sign in level.comparisons) or "not compared"
    until = f" to {level.until}" if level.until else ""
    stage = f", {level.stage} stage" if level.stage else ""
    return (
        f"Level {level.number}: {level.table}, version {level.version}, in force from {level.version}{until}{stage}; "
        f"exceeded when {signs}; read: {level.transcription}; {level.citation}"
    )


def _sample_heads(sample: Sample) -> tuple[str, ...]:
    return (
        sample.location, sample.sample_id, sample.title, sample.sampled_at[:10], sample.depth, "; ".join(sample.units),
        "; ".join(sample.methods),
    )  # fmt: skip


def _analyte(book: Book, sheet: Worksheet, row: int, analyte: Row, height: int) -> int:
    """Write what is known of an analyte; returns the lines of its row, which are at least ``height``."""
    methods = "; ".join(analyte.methods)
    wrapped = {**_LINE, "text_wrap": True}
    put(sheet, row, 0, analyte.name, book.format(wrapped, bold=True))
    put(sheet, row, 1, analyte.cas, book.format(_LINE))
    put(sheet, row, 2, analyte.unit, book.format(_LINE))
    put(sheet, row, 3, methods, book.format(wrapped, font_size=9))
    for at, levels in enumerate(analyte.levels, start=len(OWN)):
        if len(levels) == 1:
            _level(book, sheet, row, at, levels[0], {**_LINE, "indent": 1})
        else:
            put(sheet, row, at, analyte.level_words(at - len(OWN)), book.format(_LINE, align="right", indent=1, italic=True))
    height = min(max(height, lines_of(analyte.name, OWN[0], bold=True), lines_of(methods, OWN[3], size=9)), 6)
    sheet.set_row(row, POINT_HEIGHT * height)
    return height


def _level(book: Book, sheet: Worksheet, row: int, at: int, level: Level, base: dict[str, Any]) -> None:
    number = decimal_of(level.text)
    if number is None:
        put(sheet, row, at, level.text, book.format({**base, "text_wrap": True}, align="right"))
    else:
        book.number(sheet, row, at, number, level.text, base)


def _boxes(shape: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    """The looks of mark, result and flag: one box about the three where the shape has an edge."""
    shape = {**_LINE, **shape}
    edge = shape.pop("edge", 0)
    if edge:
        del shape["bottom_color"]
        shape |= {"top": edge, "bottom": edge}
    return (
        {**shape, "left": edge or 1, "align": "center"}, {**shape, "align": "right"}, {**shape, "right": edge or 1, "align": "left"},
    )  # fmt: skip


_LOOKS = {name: _boxes(_BOX.get(name, {})) for name in ("", *MARKS)}
_EMPTY = _boxes({"font_color": "#666666"})


def _cell(book: Book, sheet: Worksheet, row: int, left: int, table: Crosstab, cell: Cell | None) -> None:
    mark, result, flag = _EMPTY if cell is None or cell.held else _LOOKS[cell.worst]
    put(sheet, row, left, table.marked(cell) if cell else "", book.format(mark))
    if cell is not None and cell.number is not None:
        book.number(sheet, row, left + 1, cell.number, cell.text, result)
    else:
        put(sheet, row, left + 1, cell.text if cell else NOT_ANALYSED, book.format(result, text_wrap=True))
    put(sheet, row, left + 2, cell.qualifiers if cell else "", book.format(flag))


def _levels_by_sample(
    book: Book, sheet: Worksheet, row: int, first: int, analyte: Row, table: LevelTable, cells: Sequence[Cell | None]
) -> int:
    """The level of each sample, where facts of the sample decide it; returns the lines of the row."""
    base = {**_LINE, "italic": True, "font_size": 9, "font_color": "#333333"}
    put(sheet, row, 0, f"{analyte.name}: level of each sample", book.format({**base, "text_wrap": True}, indent=1))
    put(sheet, row, 2, analyte.unit, book.format(base))
    put(sheet, row, len(OWN) + table.number - 1, table.table, book.format({**base, "text_wrap": True}, align="right"))
    for number, cell in enumerate(cells):
        level = cell.levels[table.number - 1] if cell is not None else None
        if level is not None:
            _level(book, sheet, row, first + 3 * number + 1, level, base)
    sheet.set_row(row, POINT_HEIGHT * 2)
    return 2


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
