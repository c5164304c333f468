"""The blocks of a document: lists, result tables and pictures, put where the template names them and as wide as its page."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from docx.oxml.ns import qn
from docx.shared import Length, Twips
from docx.text.paragraph import Paragraph

from screening.outputs.document.dense import first_rows
from screening.outputs.document.fields import CLOSES, OPENS
from screening.outputs.document.grid import Piece, grid, line
from screening.outputs.document.widths import widths
from screening.outputs.drawings import Picture
from screening.outputs.lists import MARK, NUMBER, Listing, Value, cell_text, said_once
from screening.outputs.tables import HELD, MARKS, NOT_ANALYSED, Cell, Crosstab, LevelTable, Row, Sample

if TYPE_CHECKING:
    from screening.decision.contents import Contents

MOST_SHEETS = 6
"""Sheets of one kind of picture in the document; the picture files hold all."""
_HEADING = 1400
"""Room kept for a heading above a picture."""
_OWN = (2100, 680)
_LEVEL, _SAMPLE = 1080, 1180
_HEADS = ("Location", "Sample", "Kind", "Sampled", "Depth", "Unit, basis")
"""The section on methods names these."""


@dataclass(frozen=True)
class _Page:
    """Room of the section in which a block stands, in twentieths of a point."""

    width: int
    height: int


def put_blocks(document: Any, blocks: Mapping[str, Callable[[Contents], Any]], contents: Contents) -> None:
    """Put each block in place of the paragraph that holds its name."""
    tables = Counter()
    for paragraph in list(document.element.body.iter(qn("w:p"))):
        text = "".join(one.text or "" for one in paragraph.iter(qn("w:t")))
        begin, end = text.find(OPENS), text.find(CLOSES)
        if begin < 0 or end < begin:
            continue
        page = _page(paragraph)
        found = blocks[text[begin + 1 : end]](contents)
        if isinstance(found, Listing):
            made = list(_listing(first_rows(found), page, tables))
        elif found and isinstance(found[0], Crosstab):
            made = [part for table in found for part in _crosstab(table, page, tables)]
        else:
            made = [_picture(document, one, page) for one in found[:MOST_SHEETS]]
            if len(found) > MOST_SHEETS:
                made.append(
                    line(f"{len(found) - MOST_SHEETS} more sheets of this kind stand with the picture files.", italic=True)
                )
        for element in made:
            paragraph.addprevious(element)
        paragraph.getparent().remove(paragraph)


class Counter:
    """Numbers of the tables of a document."""

    def __init__(self) -> None:
        self.last = 0

    def title(self, text: str) -> str:
        """The next table's title with its number."""
        self.last += 1
        return f"Table {self.last}. {text}"


def _page(paragraph: Any) -> _Page:
    """The page of the section that a paragraph belongs to: the next section mark behind it is its own."""
    at = paragraph
    while at.getparent().tag != qn("w:body"):
        at = at.getparent()
    while at is not None:
        found = at if at.tag == qn("w:sectPr") else at.find(f"{qn('w:pPr')}/{qn('w:sectPr')}")
        if found is not None:
            size, margins = found.find(qn("w:pgSz")), found.find(qn("w:pgMar"))
            width, height = (int(size.get(qn(f"w:{side}"))) for side in ("w", "h"))
            edges = {side: int(margins.get(qn(f"w:{side}"))) for side in ("left", "right", "top", "bottom")}
            return _Page(width - edges["left"] - edges["right"], height - edges["top"] - edges["bottom"])
        at = at.getnext()
    return _Page(10080, 12960)


def _listing(one: Listing, page: _Page, tables: Counter) -> Iterator[Any]:
    yield line(tables.title(one.title), bold=True, with_next=True, before=240)
    shown, alike = said_once(one)
    if alike:
        yield line(alike, half_points=16, with_next=True, before=0)
    if one.rows:
        room = widths([column.heading for column in shown.columns], [list(map(cell_text, row)) for row in shown.rows], page.width)
        heads = [
            Piece(column.heading, bold=True, align="right" if column.holds == NUMBER else "left", mark="head")
            for column in shown.columns
        ]
        rows = [
            [_piece(value, row[0], column.holds) for value, column in zip(row, shown.columns, strict=True)] for row in shown.rows
        ]
        yield grid([heads, *rows], room, 1)
    else:
        yield line("Nothing is in this list.", italic=True, before=0)
    for note in one.notes:
        yield line(note, half_points=16, before=30)


def _piece(value: Value, first: Value, holds: str) -> Piece:
    marked = {MARKS["exceeds"]: "exceeds", MARKS["open"]: "open"}.get(str(first), "") if holds == MARK else ""
    align = "right" if holds == NUMBER else "center" if holds == MARK else "left"
    return Piece(cell_text(value), bold=first == MARKS["exceeds"], italic=first == MARKS["open"], align=align, mark=marked)


def _crosstab(table: Crosstab, page: _Page, tables: Counter) -> Iterator[Any]:
    levels = len(table.tables)
    room = max(1, (page.width - sum(_OWN) - _LEVEL * levels) // _SAMPLE)
    parts = -(-len(table.samples) // room)
    each = -(-len(table.samples) // parts)
    name = table.medium.replace("_", " ").capitalize()
    for part in range(parts):
        columns = range(part * each, min((part + 1) * each, len(table.samples)))
        of = f", part {part + 1} of {parts}" if parts > 1 else ""
        yield line(tables.title(f"{name} results{of}"), bold=True, with_next=True, before=240)
        if table.of_rows:
            told = f"The {len(table.rows)} of {table.of_rows} analytes that exceed a level somewhere; all results stand in the workbook."
            yield line(told, half_points=16, with_next=True, before=0)
        for level in table.tables:
            yield line(_level_text(level), half_points=16, with_next=True, before=0)
        heads = [
            [
                Piece(label, bold=True, align="right", span=2 + levels),
                *(Piece(_head(table.samples[at], row), bold=row < 2, align="center") for at in columns),
            ]
            for row, label in enumerate(_HEADS)
        ]
        names = ["Analyte", "Unit", *(f"Level {level.number}" if levels > 1 else "Level" for level in table.tables)]
        heads.append([Piece(text, bold=True, mark="head", align="right" if at > 1 else "left") for at, text in enumerate(names)])
        heads[-1] += [Piece("Result", bold=True, mark="head", align="right") for _ in columns]
        shown = [(at, row) for at, row in enumerate(table.rows) if any((at, column) in table.cells for column in columns)]
        rows = [line for at, row in shown for line in _lines(table, at, row, columns)]
        left = page.width - sum(_OWN) - _LEVEL * levels
        widths = [*_OWN, *[_LEVEL] * levels, *[min(_SAMPLE + 200, left // each)] * len(columns)]
        yield grid([*heads, *rows], widths, len(heads))


def _level_text(level: LevelTable) -> str:
    signs = " or ".join(sign.replace("_", " ") for sign in level.comparisons) or "not compared"
    until = f" to {level.until}" if level.until else ""
    return (
        f"Level {level.number}: {level.table}, version {level.version}, in force from {level.version}{until}; exceeded when {signs}; "
        f"read: {level.transcription}; {level.citation}"
    )


def _head(sample: Sample, row: int) -> str:
    return (
        sample.location, sample.sample_id, sample.title, sample.sampled_at[:10], sample.depth, "; ".join(sample.units),
    )[row][:80]  # fmt: skip


def _lines(table: Crosstab, at: int, row: Row, columns: range) -> Iterator[list[Piece]]:
    cells = [table.cells.get((at, column)) for column in columns]
    told = [row.level_words(number) for number in range(len(row.levels))]
    levels = [Piece(said or one[0].text, align="right", italic=bool(said)) for said, one in zip(told, row.levels, strict=True)]
    yield [Piece(row.name, bold=True), Piece(row.unit), *levels, *(_result(table, cell) for cell in cells)]
    for number, one in enumerate(row.levels):
        if len(one) > 1:
            own = [cell.levels[number] if cell else None for cell in cells]
            texts = [Piece(level.text if level else "", italic=True, align="right") for level in own]
            yield [Piece(f"{row.name}: level {number + 1} of each sample", italic=True, span=2 + len(row.levels)), *texts]


def _result(table: Crosstab, cell: Cell | None) -> Piece:
    if cell is None:
        return Piece(NOT_ANALYSED, align="right")
    if cell.held:
        return Piece(HELD, align="right", bold=True)
    text = " ".join(part for part in (table.marked(cell), cell.text, cell.qualifiers) if part)
    worst = cell.worst if cell.worst in ("exceeds", "open") else ""
    return Piece(text, bold=worst == "exceeds", italic=worst == "open", align="right", mark=worst)


def _picture(document: Any, one: Picture, page: _Page) -> Any:
    """A picture as large as the page lets it be, with its description for who cannot see it."""
    holder = line("", before=0)
    picture = Paragraph(holder, document._body).add_run().add_picture(io.BytesIO(one.png), width=Twips(page.width))
    scale = min(1.0, Twips(page.height - _HEADING) / picture.height)
    picture.width, picture.height = Length(int(picture.width * scale)), Length(int(picture.height * scale))
    about = picture._inline.docPr
    about.set("name", one.title)
    about.set("descr", one.description)
    return holder
