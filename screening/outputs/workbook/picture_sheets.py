"""Pictures as sheets, one kind a sheet, each picture on a page of its own."""

from __future__ import annotations

import io
import struct
from collections.abc import Sequence
from typing import TYPE_CHECKING

from screening.outputs.drawings import KINDS, Picture
from screening.outputs.workbook.sheet import QUIET, Book, put

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

MOST_SHEETS = 6
"""Pictures of one kind at most; the picture files hold all."""
_WIDE, _HIGH = 900, 560
"""Room of a picture on a landscape letter page with its head lines, in dots."""
_ROW_DOTS = 20
_ROWS = _HIGH // _ROW_DOTS + 1
_FIRST = 3


def add_pictures(book: Book, kind: str, pictures: Sequence[Picture]) -> None:
    """Add the pictures of one kind as a sheet."""
    sheet = book.sheet(KINDS[kind], KINDS[kind])
    for at, picture in enumerate(pictures[:MOST_SHEETS]):
        _picture(sheet, _FIRST + at * _ROWS, picture)
    shown = min(len(pictures), MOST_SHEETS)
    last = _FIRST + shown * _ROWS
    if len(pictures) > MOST_SHEETS:
        put(sheet, last, 0, f"{len(pictures) - MOST_SHEETS} more of this kind stand with the picture files.", book.format(QUIET))
    sheet.set_h_pagebreaks([_FIRST + at * _ROWS for at in range(1, shown)])
    sheet.set_default_row(_ROW_DOTS * 0.75)


def _picture(sheet: Worksheet, row: int, picture: Picture) -> None:
    data = picture.png
    width, height = struct.unpack(">II", data[16:24])  # the header of a png
    scale = min(_WIDE / width, _HIGH / height)
    options = {
        "image_data": io.BytesIO(data), "x_scale": scale * _dots(data) / 96, "y_scale": scale * _dots(data) / 96, "object_position": 3,
        "description": f"{picture.title}. {picture.description}"[:1000],
    }  # fmt: skip
    sheet.insert_image(row, 0, "picture.png", options)


def _dots(data: bytes) -> float:
    """Dots to the inch that a png states, 96 where it states none."""
    at = data.find(b"pHYs")
    if at < 0:
        return 96
    across, _, unit = struct.unpack(">IIB", data[at + 4 : at + 13])
    return across * 0.0254 if unit == 1 else 96
