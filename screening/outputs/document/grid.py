"""Tables of a Word document, written as its markup: texts escaped, head rows repeated, marks by border and weight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls

from screening.outputs.texts import readable

HALF_POINTS = 16
"""Size of the text in tables: 8 points."""
LONGEST_TEXT = 1000
"""Letters of a cell; a longer text is cut with its length said, and stands whole in the data files."""
MARGIN = 50
"""Margin of a cell on either side, in twentieths of a point."""
_MARKED = {
    "exceeds": '<w:tcBorders><w:top w:val="single" w:sz="14"/><w:left w:val="single" w:sz="14"/><w:bottom w:val="single" w:sz="14"/>'
    '<w:right w:val="single" w:sz="14"/></w:tcBorders><w:shd w:val="clear" w:color="auto" w:fill="F6DDCF"/>',
    "open": '<w:tcBorders><w:top w:val="dashed" w:sz="8"/><w:left w:val="dashed" w:sz="8"/><w:bottom w:val="dashed" w:sz="8"/>'
    '<w:right w:val="dashed" w:sz="8"/></w:tcBorders>',
    "head": '<w:tcBorders><w:bottom w:val="single" w:sz="8"/></w:tcBorders><w:shd w:val="clear" w:color="auto" w:fill="E9ECEF"/>',
}  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """A cell of a table. ``mark`` is 'exceeds', 'open', 'head' or nothing; ``span`` is how many columns it takes."""

    text: str
    bold: bool = False
    italic: bool = False
    align: str = "left"
    mark: str = ""
    span: int = 1


def grid(rows: Sequence[Sequence[Piece]], widths: Sequence[int], heads: int) -> Any:
    """A table: ``widths`` of its columns in twentieths of a point; the first ``heads`` rows stand on every page."""
    columns = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
    body = "".join(_row(row, widths, at < heads) for at, row in enumerate(rows))
    return parse_xml(
        f'<w:tbl {nsdecls("w")}><w:tblPr><w:tblW w:w="{sum(widths)}" w:type="dxa"/><w:tblBorders>'
        '<w:top w:val="single" w:sz="6"/><w:bottom w:val="single" w:sz="6"/><w:insideH w:val="dotted" w:sz="4"/></w:tblBorders>'
        f'<w:tblLayout w:type="fixed"/><w:tblCellMar><w:left w:w="{MARGIN}" w:type="dxa"/><w:right w:w="{MARGIN}" w:type="dxa"/>'
        f"</w:tblCellMar></w:tblPr><w:tblGrid>{columns}</w:tblGrid>{body}</w:tbl>"
    )


def _row(row: Sequence[Piece], widths: Sequence[int], head: bool) -> str:
    at, cells = 0, []
    for piece in row:
        cells.append(_cell(piece, sum(widths[at : at + piece.span])))
        at += piece.span
    repeated = "<w:tblHeader/>" if head else ""
    return f"<w:tr><w:trPr><w:cantSplit/>{repeated}</w:trPr>{''.join(cells)}</w:tr>"


def _cell(piece: Piece, width: int) -> str:
    span = f'<w:gridSpan w:val="{piece.span}"/>' if piece.span > 1 else ""
    look = f"{'<w:b/>' if piece.bold else ''}{'<w:i/>' if piece.italic else ''}"
    return (
        f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/>{span}{_MARKED.get(piece.mark, "")}</w:tcPr><w:p><w:pPr>'
        f'<w:spacing w:before="10" w:after="10" w:line="240" w:lineRule="auto"/><w:jc w:val="{piece.align}"/></w:pPr>'
        f'<w:r><w:rPr>{look}<w:sz w:val="{HALF_POINTS}"/></w:rPr>{markup(readable(piece.text, LONGEST_TEXT))}</w:r></w:p></w:tc>'
    )


def markup(text: str) -> str:
    """A text as the content of a run; line breaks and tabs as such."""
    pieces = escape(text).replace("\t", '</w:t><w:tab/><w:t xml:space="preserve">')
    broken = pieces.replace("\n", '</w:t><w:br/><w:t xml:space="preserve">')
    return f'<w:t xml:space="preserve">{broken}</w:t>'


def line(
    text: str, *, bold: bool = False, italic: bool = False, half_points: int = 20, with_next: bool = False, before: int = 120
) -> Any:
    """A paragraph of one text."""
    look = f"{'<w:b/>' if bold else ''}{'<w:i/>' if italic else ''}"
    kept = "<w:keepNext/>" if with_next else ""
    return parse_xml(
        f'<w:p {nsdecls("w")}><w:pPr>{kept}<w:spacing w:before="{before}" w:after="60"/></w:pPr><w:r><w:rPr>{look}'
        f'<w:sz w:val="{half_points}"/></w:rPr>{markup(readable(text))}</w:r></w:p>'
    )
