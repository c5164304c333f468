"""Marks of an old binary workbook (records of [MS-XLS], recalled; tried on files of two other programs)."""

from __future__ import annotations

import struct
from collections.abc import Iterator

from screening.deliverable.compound import stream_of
from screening.deliverable.marks import Marks

BEGIN, END, SHEET, FONT, FORMAT, ROW, COLUMNS = 0x0809, 0x000A, 0x0085, 0x0031, 0x00E0, 0x0208, 0x007D
LABEL, SHARED_LABEL, NUMBER, SHORT_NUMBER, SHORT_NUMBERS, RICH_LABEL, BOOLEAN, FORMULA = (
    0x0204, 0x00FD, 0x0203, 0x027E, 0x00BD, 0x00D6, 0x0205, 0x0006,
)  # fmt: skip
WITH_TEXT = (LABEL, SHARED_LABEL, NUMBER, SHORT_NUMBER, RICH_LABEL, BOOLEAN, FORMULA)
STRUCK, UNSEEN, OUT_OF_SIGHT = 0x0008, 0x0020, 0x0001
NEWEST = 0x0600
WIDEST = 256


def xls_marks(data: bytes) -> dict[str, Marks] | None:
    """The marks of each sheet by name; None where the file is of an older form or cannot be followed."""
    stream = stream_of(data, ("Workbook",))
    if stream is None:
        return None
    try:
        return _of_book(stream)
    except (struct.error, IndexError, UnicodeDecodeError):
        return None


def _records(stream: bytes, at: int) -> Iterator[tuple[int, bytes]]:
    """The records from a place on, up to the end of the part that begins there; parts within it are passed over."""
    depth = 0
    while at + 4 <= len(stream):
        kind, length = struct.unpack_from("<HH", stream, at)
        body = stream[at + 4 : at + 4 + length]
        at += 4 + length
        depth += (kind == BEGIN) - (kind == END)
        if depth == 0:
            return
        if depth == 1:
            yield kind, body


def _of_book(stream: bytes) -> dict[str, Marks] | None:
    fonts: list[bool] = []
    formats: list[int] = []
    sheets: list[tuple[str, int, bool]] = []
    for kind, body in _records(stream, 0):
        if kind == BEGIN and struct.unpack_from("<H", body, 0)[0] != NEWEST:
            return None
        if kind == FONT:
            fonts.append(bool(struct.unpack_from("<H", body, 2)[0] & STRUCK))
        elif kind == FORMAT:
            formats.append(struct.unpack_from("<H", body, 0)[0])
        elif kind == SHEET:
            at, sight, what, length, wide = struct.unpack_from("<IBBBB", body, 0)
            name = body[8 : 8 + length * 2].decode("utf-16-le") if wide & 1 else body[8 : 8 + length].decode("latin-1")
            if what == 0:
                sheets.append((name, at, bool(sight & 3)))
    # number 4 is left out in the count of fonts
    struck = [fonts[font - (font > 4)] if font - (font > 4) < len(fonts) else False for font in formats]
    return {name: _of_sheet(stream, at, hidden, struck) for name, at, hidden in sheets}


def _of_sheet(stream: bytes, at: int, hidden: bool, struck_formats: list[bool]) -> Marks:
    hidden_rows, hidden_columns, struck, uncalculated = set(), set(), set(), set()

    def see(row: int, column: int, of_format: int) -> None:
        if of_format < len(struck_formats) and struck_formats[of_format]:
            struck.add((row + 1, column + 1))

    for kind, body in _records(stream, at):
        if kind == ROW:
            row, options = struct.unpack_from("<H", body, 0)[0], struct.unpack_from("<H", body, 12)[0]
            if options & UNSEEN:
                hidden_rows.add(row + 1)
        elif kind == COLUMNS:
            first, last, _, _, options = struct.unpack_from("<5H", body, 0)
            if options & OUT_OF_SIGHT:
                hidden_columns |= set(range(first + 1, min(last, WIDEST - 1) + 2))
        elif kind in WITH_TEXT:
            row, column, of_format = struct.unpack_from("<3H", body, 0)
            see(row, column, of_format)
            # a stored value that is no number: marked by FFFF, of the kind 'empty'
            if kind == FORMULA and body[12:14] == b"\xff\xff" and body[6] == 3:
                uncalculated.add((row + 1, column + 1))
        elif kind == SHORT_NUMBERS:
            row, first = struct.unpack_from("<2H", body, 0)
            for place in range((len(body) - 6) // 6):
                see(row, first + place, struct.unpack_from("<H", body, 4 + 6 * place)[0])
    return Marks(hidden, frozenset(hidden_rows), frozenset(hidden_columns), frozenset(struck), frozenset(uncalculated))
