"""An old binary workbook made fit for a reader that believes what lengths and extents a file names ([MS-XLS], recalled)."""

from __future__ import annotations

import struct
from collections.abc import Iterator

from screening.deliverable.compound import LARGEST_WRAPPED, stream_of, wrapped
from screening.deliverable.extent import refuse_spread
from screening.errors import Refused

_END, _SHEET, _TEXTS, _EXTENT, _SHORT_NUMBERS, _MERGED = 0x000A, 0x0085, 0x00FC, 0x0200, 0x00BD, 0x00E5
_CELLS = frozenset(
    (0x0006, 0x0206, 0x0406, 0x00BE, 0x00D6, 0x00FD, 0x0201, 0x0203, 0x0204, 0x0205, 0x027E, 0x0002, 0x0003, 0x0004, 0x0005)
)
"""Records that begin with row and column of a cell."""
_LEAST_TEXT = 3
"""Bytes of a text in the list of texts: its length and how it is written."""
MOST_SHEETS = 2_000


def believable(file: str, data: bytes) -> bytes:
    """The same workbook in a container made anew, without the extents that it claims beside those of its cells.

    Raises `Refused` where no workbook can be found in the container, where its list of texts cannot be as long as it says,
    and for a few cells over a very large area.
    """
    for name in ("Workbook", "Book"):
        stream = stream_of(data, (name,))
        if stream is not None:
            break
    else:
        raise Refused(f"{file}: is no workbook, or damaged (no sheets can be found in it); save it again as xlsx or csv")
    if len(stream) > LARGEST_WRAPPED:
        raise Refused(f"{file}: is too large for a workbook of its kind; save it as csv")
    made = bytearray(stream)
    begins = []
    for kind, at, length in _records(made, 0):
        if kind == _SHEET and length >= 6:
            begins.append(struct.unpack_from("<I", made, at)[0])
        elif kind == _TEXTS and length >= 8 and struct.unpack_from("<I", made, at + 4)[0] > len(made) // _LEAST_TEXT:
            raise Refused(f"{file}: is damaged (its list of texts is shorter than it says); ask for the file again")
    if len(begins) > MOST_SHEETS:
        raise Refused(f"{file}: has {len(begins)} sheets; save those with results in a workbook of their own")
    for begin in dict.fromkeys(begins):
        _refuse_far_cells(file, made, begin)
    return wrapped(bytes(made), name)


def _records(stream: bytes | bytearray, at: int) -> Iterator[tuple[int, int, int]]:
    """Kind, place and length of each record from a place on, up to the first end."""
    while at + 4 <= len(stream):
        kind, length = struct.unpack_from("<HH", stream, at)
        if kind == _END or at + 4 + length > len(stream):
            return
        yield kind, at + 4, length
        at += 4 + length


def _refuse_far_cells(file: str, stream: bytearray, begin: int) -> None:
    filled = 0
    first_row = first_column = 1 << 16
    last_row = last_column = 0
    for kind, at, length in _records(stream, begin):
        if kind == _EXTENT and length in (10, 14):  # one cell: what the cells say is believed in its place
            struct.pack_into("<4H" if length == 10 else "<2I2H", stream, at, 0, 1, 0, 1)
        elif (kind in _CELLS and length >= 4) or (kind == _SHORT_NUMBERS and length >= 6):
            row, column = struct.unpack_from("<HH", stream, at)
            last = column + (length - 6) // 6 - 1 if kind == _SHORT_NUMBERS else column
            filled += 1 + max(0, last - column)
            first_row, last_row = min(first_row, row), max(last_row, row)
            first_column, last_column = min(first_column, column), max(last_column, last)
    if filled:
        refuse_spread(file, "", last_row + 1, last_column + 1, filled)
