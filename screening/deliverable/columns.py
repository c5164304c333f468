"""Columns of texts, each distinct text kept once: what is done to a column is done once for each of its distinct texts."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import pyarrow as pa
    from numpy.typing import NDArray

    Flags = NDArray[np.bool_]
    Numbers = NDArray[np.int64]
    Codes = NDArray[np.uint8] | NDArray[np.uint16] | NDArray[np.int32]

MOST_PLACES = 1 << 62
FEW = 50_000
"""Rows up to which sorting is as fast as hashing."""


class Column:
    """Texts (or other values, as None) of the rows; ``codes`` are places in ``values``, which holds each value once.

    Values that are equal are one value (1.0 and 1.00, True and 1). A column is never changed; every method gives a new one, or
    flags (one truth value a row). Codes are as narrow as the number of values lets them be: most columns have few.

    >>> Column.of(["a", "b", "a"]).map(str.upper).mask(Column.of(["a", "b", "a"]) == "b", "-").tolist()
    ['A', '-', 'A']
    """

    __slots__ = ("codes", "values")
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, codes: NDArray[Any], values: Sequence[Any]) -> None:
        self.codes: Codes = codes.astype(_kind(len(values)), copy=False)
        self.values = values

    @classmethod
    def of(cls, values: Iterable[Hashable]) -> Column:
        """A column of these values."""
        given = values if isinstance(values, list | tuple) else list(values)
        met = list(dict.fromkeys(given))
        places = dict(zip(met, range(len(met)), strict=True))
        return cls(np.fromiter(map(places.__getitem__, given), dtype=_kind(len(met)), count=len(given)), met)

    @classmethod
    def full(cls, value: Hashable, length: int) -> Column:
        """The same value in every row."""
        return cls(_same(length, False).view(np.uint8), [value])

    @classmethod
    def coded(cls, codes: NDArray[Any], values: Sequence[Hashable]) -> Column:
        """A column of codes into values that may stand there more than once."""
        places: dict[Hashable, int] = {}
        moved = [places.setdefault(value, len(places)) for value in values]
        if len(places) < len(values):
            codes = np.asarray(moved, dtype=_kind(len(places)))[codes]
        return cls(codes, list(places))

    @classmethod
    def joined(cls, parts: Sequence[Column]) -> Column:
        """Columns one below the other."""
        if len(parts) == 1:
            return parts[0]
        grown = Growing()
        for part in parts:
            grown.add(part)
        return grown.column()

    def __len__(self) -> int:
        return len(self.codes)

    def __iter__(self) -> Iterator[Any]:
        return iter(self.tolist())

    def at(self, row: int) -> Any:
        """The value of one row."""
        return self.values[self.codes[row]]

    def tolist(self) -> list[Any]:
        """The values of all rows."""
        return [self.values[code] for code in self.codes.tolist()]

    def unique(self) -> list[Any]:
        """The distinct values in the order in which they come first."""
        return [self.values[code] for code in _first_met(self.codes, len(self.values))]

    def flags(self, test: Callable[[Any], object]) -> Flags:
        """Where the values pass a test."""
        if len(self.values) == 1:
            return _same(len(self), bool(test(self.values[0])))
        return np.fromiter((bool(test(value)) for value in self.values), dtype=np.bool_, count=len(self.values))[self.codes]

    def __eq__(self, other: object) -> Flags:  # type: ignore[override]
        if isinstance(other, Column):
            places = {value: place for place, value in enumerate(self.values)}
            moved = np.fromiter((places.get(value, -1) for value in other.values), dtype=np.int32, count=len(other.values))
            return np.asarray(self.codes == moved[other.codes])
        if other not in self.values or len(self.values) == 1:
            return _same(len(self), other in self.values)
        return np.asarray(self.codes == self.codes.dtype.type(self.values.index(other)))

    def __ne__(self, other: object) -> Flags:  # type: ignore[override]
        return ~(self == other)

    def isin(self, wanted: Iterable[Hashable]) -> Flags:
        """Where the value is one of these."""
        known = set(wanted)
        return self.flags(lambda value: value in known)

    def map(self, change: Callable[[Any], Hashable]) -> Column:
        """Each value changed; values that nothing uses any more are changed all the same."""
        return Column.coded(self.codes, [change(value) for value in self.values])

    def replace(self, meanings: Mapping[Any, Hashable]) -> Column:
        """Values that the mapping names, as it says."""
        if not any(value in meanings for value in self.values):
            return self
        return self.map(lambda value: meanings.get(value, value))

    def mask(self, where: Flags, other: Column | Hashable) -> Column:
        """The other value, or the other column's, where the flag is set."""
        if not where.any():
            return self
        if not isinstance(other, Column):
            if where.all():
                return Column.full(other, len(self))
            place = self.values.index(other) if other in self.values else len(self.values)
            values = self.values if place < len(self.values) else [*self.values, other]
            return Column(np.where(where, _kind(len(values))(place), self.codes), values)
        values = [*self.values, *other.values]
        return Column.coded(np.where(where, _behind(other, self), self.codes), values)

    def put(self, rows: Numbers, other: Column) -> Column:
        """The other column's values in the rows of these numbers, one after the other."""
        if not len(rows):
            return self
        values = [*self.values, *other.values]
        codes = self.codes.astype(_kind(len(values)))
        codes[rows] = _behind(other, self)
        return Column.coded(codes, values)

    def where(self, kept: Flags, other: Column | Hashable) -> Column:
        """The other value, or the other column's, where the flag is not set."""
        return self.mask(~kept, other)

    def __add__(self, other: Column | str) -> Column:
        if isinstance(other, str):
            return self.map(lambda text: text + other)
        return spread([self, other], lambda one, two: one + two)

    def __radd__(self, other: str) -> Column:
        return self.map(lambda text: other + text)

    def take(self, rows: Flags | Numbers) -> Column:
        """The rows of these numbers, or with these flags; values that no row has are forgotten."""
        if len(self.values) == 1:
            return Column.full(self.values[0], int(np.count_nonzero(rows)) if rows.dtype == np.bool_ else len(rows))
        return Column(self.codes[rows], self.values).trimmed()

    def trimmed(self) -> Column:
        """The same column without values that no row has."""
        if len(self.values) <= 1:
            return self
        used = np.bincount(self.codes, minlength=len(self.values)) > 0
        if used.all():
            return self
        kept = np.flatnonzero(used).tolist()
        places = np.zeros(len(used), dtype=_kind(len(kept)))
        places[kept] = np.arange(len(kept))
        return Column(places[self.codes], [self.values[place] for place in kept])

    def arrow(self) -> pa.DictionaryArray:
        """For the database: an arrow array of the same texts; None stays null."""
        import pyarrow as pa

        return pa.DictionaryArray.from_arrays(_arrow_numbers(self.codes), _arrow_texts(self.values))


class Growing:
    """A column that is put together from parts, each forgotten once it is taken in."""

    def __init__(self) -> None:
        self._codes: list[NDArray[Any]] = []
        self._places: dict[Hashable, int] = {}

    def add(self, part: Column) -> None:
        """Put a part below what there is."""
        places = [self._places.setdefault(value, len(self._places)) for value in part.values]
        if len(part):
            self._codes.append(np.asarray(places, dtype=_kind(len(self._places)))[part.codes])

    def column(self) -> Column:
        """All parts, one below the other."""
        kind = _kind(len(self._places))
        return Column(np.concatenate(self._codes or [np.zeros(0, kind)], dtype=kind), list(self._places))


def _same(length: int, flag: bool) -> Flags:
    """One flag for all rows, in one byte; `numpy.broadcast_to` takes ten times as long to say so."""
    return np.ndarray(length, np.bool_, b"\1" if flag else b"\0", strides=(0,))


def _kind(count: int) -> type[Any]:
    """The narrowest numbers for places among so many values."""
    return np.uint8 if count <= 1 << 8 else np.uint16 if count <= 1 << 16 else np.int32


def _behind(other: Column, one: Column) -> Codes:
    """The codes of a column whose values are put behind those of another."""
    kind = _kind(len(one.values) + len(other.values))
    moved: Codes = other.codes.astype(kind) + kind(len(one.values))
    return moved


def _first_met(codes: NDArray[Any], most: int) -> list[int]:
    """The codes in the order in which they come first; ``most`` is above every code."""
    if most <= 1:
        return [0] if len(codes) else []
    first = _first_rows(codes, most)
    order = np.argsort(first, kind="stable")
    return [int(code) for code in order[: int((first < len(codes)).sum())]]


def _arrow_numbers(numbers: NDArray[Any]) -> Any:
    """An arrow array over the same memory; `pyarrow.array` would load pandas first."""
    import pyarrow as pa

    kind = {1: pa.uint8(), 2: pa.uint16(), 4: pa.int32(), 8: pa.int64()}[numbers.itemsize]
    return pa.Array.from_buffers(kind, len(numbers), [None, pa.py_buffer(np.ascontiguousarray(numbers))])


def _arrow_texts(texts: Sequence[str | None]) -> Any:
    """An arrow array of texts; None is null."""
    import pyarrow as pa

    parts = [b"" if text is None else text.encode() for text in texts]
    ends = np.zeros(len(parts) + 1, dtype=np.int32)
    np.cumsum([len(part) for part in parts], out=ends[1:])
    there = np.packbits([text is not None for text in texts], bitorder="little")
    return pa.StringArray.from_buffers(len(parts), pa.py_buffer(ends), pa.py_buffer(b"".join(parts)), pa.py_buffer(there))


def combinations(columns: Sequence[Column]) -> tuple[NDArray[np.int32], list[tuple[Any, ...]]]:
    """Each row's combination of values as a number, and the combinations in the order in which they come first."""
    length = len(columns[0])
    varied = [column for column in columns if len(column.values) > 1]
    if not length:
        return np.zeros(0, np.int32), []
    key = np.zeros(length, np.int64)
    most = 1
    for column in varied:
        size = len(column.values)
        if most > MOST_PLACES // size:
            key, most = numbered(key, most)[:2]
        key = key * size + column.codes
        most *= size
    numbers, count, first = numbered(key, most)
    order = np.argsort(first, kind="stable")
    place = np.empty(count, np.int32)
    place[order] = np.arange(count, dtype=np.int32)
    met = first[order]
    parts = [
        [column.values[0]] * count if len(column.values) == 1 else [column.values[code] for code in column.codes[met].tolist()]
        for column in columns
    ]
    return place[numbers], list(zip(*parts, strict=True))


def numbered(key: Numbers, most: int) -> tuple[Numbers, int, Numbers]:
    """Keys below ``most`` numbered without gaps: the numbers, how many there are, the first row of each."""
    length = len(key)
    if most <= max(4 * length, 1024):  # a place for every possible key is cheaper than sorting
        first = _first_rows(key, most)
        met = np.flatnonzero(first < length)
        number = np.zeros(most, dtype=np.int64)
        number[met] = np.arange(len(met))
        return number[key], len(met), first[met]
    if length <= FEW:
        _, rows, numbers = np.unique(key, return_index=True, return_inverse=True)
        return numbers.astype(np.int64), len(rows), rows
    hashed = _arrow_numbers(key).dictionary_encode()
    numbers = hashed.indices.to_numpy(zero_copy_only=False).astype(np.int64)
    count = len(hashed.dictionary)
    return numbers, count, _first_rows(numbers, count)


def _first_rows(codes: NDArray[Any], most: int) -> Numbers:
    """The first row of each code below ``most``; the number of rows where none has it."""
    first = np.full(most, len(codes), dtype=np.int64)
    np.minimum.at(first, codes, np.arange(len(codes)))
    return first


def spread(columns: Sequence[Column], read: Callable[..., Any]) -> Column:
    """Call ``read`` once for each distinct combination of values, and give each row what it says.

    >>> spread([Column.of("aab"), Column.of("xxy")], lambda one, two: one + two).tolist()
    ['ax', 'ax', 'by']
    """
    codes, combined = combinations(columns)
    return Column.coded(codes, [read(*values) for values in combined])


def spread_parts(columns: Sequence[Column], read: Callable[..., Any], names: Sequence[str]) -> dict[str, Column]:
    """As `spread`, with one column for each attribute ``names`` of what ``read`` says."""
    codes, combined = combinations(columns)
    said = [read(*values) for values in combined]
    return {name: Column.coded(codes, [getattr(one, name) for one in said]) for name in names}


class Frame:
    """Rows of named columns, with the number that each row has in its sheet and, once stored, in the store."""

    def __init__(self, columns: Mapping[str, Column], row: NDArray[np.int64], row_id: NDArray[np.int64] | None = None) -> None:
        self.columns, self.row, self.row_id = dict(columns), row, row_id

    def __len__(self) -> int:
        return len(self.row)

    def __getitem__(self, name: str) -> Column:
        return self.columns[name]

    def __setitem__(self, name: str, column: Column | str) -> None:
        self.columns[name] = column if isinstance(column, Column) else Column.full(column, len(self))

    def __contains__(self, name: object) -> bool:
        return name in self.columns

    def get(self, name: str, default: str = "") -> Column:
        """A column, or one of the default where there is none of that name."""
        return self.columns.get(name) or Column.full(default, len(self))

    def copy(self) -> Frame:
        """The same rows, to which columns may be set without changing this frame."""
        return Frame(self.columns, self.row, self.row_id)

    def take(self, rows: Flags | Numbers, names: Iterable[str] | None = None) -> Frame:
        """Some rows, of all columns or of those named."""
        picked = self.columns if names is None else {name: self.columns[name] for name in names}
        if rows.dtype == np.bool_:  # numbers are sought once, not for each column
            rows = np.flatnonzero(rows)
        columns = {name: column.take(rows) for name, column in picked.items()}
        return Frame(columns, self.row[rows], None if self.row_id is None else self.row_id[rows])

    def with_columns(self, more: Mapping[str, Column]) -> Frame:
        """The same rows with further columns."""
        return Frame({**self.columns, **more}, self.row, self.row_id)

    def records(self, names: Iterable[str] | None = None) -> list[dict[str, Any]]:
        """Each row as a mapping of names to values, with its ``row`` (and ``row_id``)."""
        kept = list(self.columns if names is None else names)
        lists = [self.columns[name].tolist() for name in kept]
        numbers = {"row": self.row.tolist(), **({} if self.row_id is None else {"row_id": self.row_id.tolist()})}
        made = [dict(zip(kept, values, strict=True)) for values in zip(*lists, strict=True)] if lists else [{} for _ in self.row]
        for name, values in numbers.items():
            for record, value in zip(made, values, strict=True):
                record[name] = value
        return made

    def arrow(self, names: Iterable[str]) -> pa.Table:
        """For the database: these columns, ``row`` and ``row_id``."""
        import pyarrow as pa

        numbers = {"row": _arrow_numbers(self.row)}
        if self.row_id is not None:
            numbers["row_id"] = _arrow_numbers(self.row_id)
        return pa.table({**numbers, **{name: self.columns[name].arrow() for name in names}})

    @staticmethod
    def joined(frames: Sequence[Frame]) -> Frame:
        """Frames with the same columns, one below the other."""
        if len(frames) == 1:
            return frames[0]
        names = frames[0].columns
        ids = [frame.row_id for frame in frames if frame.row_id is not None]
        return Frame(
            {name: Column.joined([frame[name] for frame in frames]) for name in names},
            np.concatenate([frame.row for frame in frames]),
            np.concatenate(ids) if len(ids) == len(frames) else None,
        )
