"""Delimited text as columns: a regular file by a fast reader, any other row by row; both give the same texts."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice, zip_longest

import numpy as np

from screening.deliverable.columns import Column, Growing
from screening.deliverable.extent import LAST_COLUMN, LONGEST_CELL, Misshapen, spread_out
from screening.deliverable.rows import ByColumn

LARGE = 1 << 18
"""Bytes from which on the fast reader pays for its start."""
HEAD, HEAD_BYTES = 60, 1 << 16
"""Lines at the top among which titles of another width may stand, within so many bytes."""
PORTION = 1 << 26
"""Bytes that the fast reader is handed at a time."""
_BLOCK = 1 << 24
_AT_ONCE = 20_000
_QUOTE, _CR, _LF = b'"\r\n'


def columns_of(data: bytes, delimiter: str) -> ByColumn:
    """The cells of a text in UTF-8, blanks around them removed.

    Raises `csv.Error`, and `Misshapen` for a row with more cells than a sheet has columns or few long rows among many short ones.
    """
    if len(data) >= LARGE and (regular := _regular(data, delimiter)) is not None:
        return regular
    return _row_by_row(io.TextIOWrapper(io.BytesIO(data), encoding="utf-8", newline=""), delimiter)


def _row_by_row(lines: Iterable[str], delimiter: str) -> ByColumn:
    csv.field_size_limit(LONGEST_CELL)
    reader = csv.reader(lines, delimiter=delimiter)
    parts: list[ByColumn] = []
    rows = wide = filled = 0
    while block := list(islice(reader, _AT_ONCE)):
        widest = max(range(len(block)), key=lambda at: len(block[at]))
        if len(block[widest]) > LAST_COLUMN:
            raise Misshapen(f"row {rows + widest + 1} has {len(block[widest])} cells; a sheet has {LAST_COLUMN} columns at most")
        rows, wide, filled = rows + len(block), max(wide, len(block[widest])), filled + sum(map(len, block))
        if spread_out(rows, wide, filled):
            raise Misshapen(f"its longest row has {wide} cells, and its {rows} rows have {filled} together; mend the long rows")
        parts.append(by_column(block))
    return _stacked(parts)


def by_column(rows: Sequence[Sequence[str]]) -> ByColumn:
    """Rows of texts by their columns, blanks around the texts removed; short rows end in blanks."""
    columns = [Column.of(texts).map(str.strip) for texts in zip_longest(*rows, fillvalue="")]
    return ByColumn(columns or [Column.full("", len(rows))])


def _stacked(parts: Sequence[ByColumn]) -> ByColumn:
    width = max((len(part.columns) for part in parts), default=1)
    stacked = [
        Column.joined([part.columns[at] if at < len(part.columns) else Column.full("", len(part)) for part in parts])
        for at in range(width)
    ]
    return ByColumn(stacked)


def _regular(data: bytes, delimiter: str) -> ByColumn | None:
    """The cells of a file whose lines all have as many, but for some at the top; None for any other file."""
    head = data[: data.find(b"\n", HEAD_BYTES) + 1]
    if not head or b"\0" in data or data.count(b"\r") != data.count(b"\r\n") or not _well_quoted(data, delimiter):
        return None
    lines = list(islice(csv.reader(io.StringIO(head.decode("utf-8", "replace"), newline=""), delimiter=delimiter), HEAD))
    width = len(lines[-1])
    if width > LAST_COLUMN:
        return None
    above = next((at for at, line in enumerate(lines) if len(line) == width), 0)
    begin = 0
    for _ in range(above):
        begin = head.find(b"\n", begin) + 1
    titles = _row_by_row(io.StringIO(head[:begin].decode("utf-8", "replace"), newline=""), delimiter) if above else None
    if titles is not None and len(titles) != above:
        return None
    table = _fast(data, begin, delimiter, width)
    if table is None:
        return None
    return _stacked([titles, table]) if titles is not None else table


def _fast(data: bytes, begin: int, delimiter: str, width: int) -> ByColumn | None:
    """The cells from a byte on, a portion at a time: as many bytes as a portion are twice in memory, not the whole file."""
    import pyarrow as pa
    from pyarrow import csv as reader

    names = [str(at) for at in range(width)]
    columns = [Growing() for _ in names]
    try:
        for portion in _portions(data, begin):
            table = reader.read_csv(
                pa.py_buffer(portion),
                read_options=reader.ReadOptions(column_names=names, block_size=_BLOCK),
                parse_options=reader.ParseOptions(
                    delimiter=delimiter, quote_char='"', double_quote=True, newlines_in_values=True, ignore_empty_lines=False
                ),
                convert_options=reader.ConvertOptions(
                    column_types={name: pa.dictionary(pa.int32(), pa.string()) for name in names},
                    strings_can_be_null=False, quoted_strings_can_be_null=False,
                ),
            ).unify_dictionaries()  # fmt: skip
            for name, column in zip(names, columns, strict=True):
                column.add(_column(table.column(name)))
    except pa.ArrowInvalid:
        return None
    return ByColumn([column.column() for column in columns])


def _portions(data: bytes, begin: int) -> Iterator[memoryview]:
    """The bytes from one on in portions that end where a line does, outside quotation marks."""
    whole = memoryview(data)
    while begin < len(data):
        end = min(begin + PORTION, len(data))
        marks = data.count(_QUOTE, begin, end)
        while end < len(data) and (marks % 2 or data[end - 1] != _LF):
            here, end = end, data.find(b"\n", end) + 1 or len(data)
            marks += data.count(_QUOTE, here, end)
        yield whole[begin:end]
        begin = end


def _column(chunks: object) -> Column:
    parts = chunks.chunks  # type: ignore[attr-defined]
    codes = [part.indices.to_numpy(zero_copy_only=False).astype(np.int32, copy=False) for part in parts]
    values = parts[0].dictionary.to_pylist() if parts else []
    return Column.coded(np.concatenate(codes or [np.zeros(0, np.int32)]), [value.strip() for value in values])


def _well_quoted(data: bytes, delimiter: str) -> bool:
    """Whether every quotation mark opens a whole cell or closes it, so that no reader can take it otherwise."""
    opens = True
    ends = np.zeros(256, dtype=np.bool_)
    ends[[ord(delimiter), _CR, _LF]] = True
    for first in range(0, len(data), _BLOCK):
        block = np.frombuffer(data, np.uint8, min(_BLOCK, len(data) - first), first)
        marks = np.flatnonzero(block == _QUOTE)
        if not len(marks):
            continue
        opening, closing = (marks[0::2], marks[1::2]) if opens else (marks[1::2], marks[0::2])
        before = [ends[block[at - 1]] if at else first == 0 or ends[data[first - 1]] for at in opening[:1].tolist()]
        after_last = first + int(closing[-1]) + 1 if len(closing) else 0
        after = [after_last == len(data) or ends[data[after_last]]] if len(closing) else []
        if not (all(before) and all(after) and ends[block[opening[1:] - 1]].all() and ends[block[closing[:-1] + 1]].all()):
            return False
        opens ^= len(marks) % 2 == 1
    return opens
