"""Columns of texts do what lists of the same texts would do, however few or many distinct texts there are; both readers of delimited text agree."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.deliverable import delimited
from screening.deliverable.columns import Column, Frame, combinations
from screening.deliverable.delimited import columns_of

FEW, SOME, MANY = 3, 256, 65_536
"""Distinct texts: within a code of one byte; the most of one byte; the most of two."""
SIZES = [FEW, SOME, SOME + 1, MANY, MANY + 1]


def texts(count: int, length: int, seed: int) -> list[str]:
    """So many distinct texts and more of them again, in an order of chance."""
    numbers = np.concatenate([np.arange(count), np.random.default_rng(seed).integers(0, count, max(0, length - count))])
    return [f"t{number}" for number in np.random.default_rng(seed + 1).permutation(numbers).tolist()]


@pytest.mark.parametrize(("count", "other"), [*product(SIZES[:3], SIZES[:3]), (SOME, MANY), (MANY, FEW), (MANY + 1, FEW)])
def test_a_column_is_a_list(count: int, other: int) -> None:
    length = max(count, other) + 5
    one, two = texts(count, length, 1), [f"u{text}" if at % 2 else text for at, text in enumerate(texts(other, length, 3))]
    flags = np.random.default_rng(5).random(length) < 0.4
    rows = np.flatnonzero(flags)
    column, beside = Column.of(one), Column.of(two)
    assert column.tolist() == one and len(column.values) == count
    assert column.mask(flags, beside).tolist() == [b if flag else a for a, b, flag in zip(one, two, flags, strict=True)]
    assert column.mask(flags, "another").tolist() == ["another" if flag else a for a, flag in zip(one, flags, strict=True)]
    assert column.take(flags).tolist() == column.take(rows).tolist() == [one[row] for row in rows]
    put = list(one)
    for row, text in zip(rows.tolist(), two, strict=False):
        put[row] = text
    assert column.put(rows, Column.of(two[: len(rows)])).tolist() == put
    assert Column.joined([column, beside, column]).tolist() == [*one, *two, *one]
    assert (column == beside).tolist() == [a == b for a, b in zip(one, two, strict=True)]
    assert (column == one[-1]).tolist() == [text == one[-1] for text in one] and not (column == "none of them").any()
    assert column.isin({*two[:9]}).tolist() == [text in {*two[:9]} for text in one]
    assert column.map(lambda text: text[:3]).tolist() == [text[:3] for text in one]
    assert column.arrow().to_pylist() == one
    numbers, met = combinations([column, beside])
    assert [met[number] for number in numbers.tolist()] == list(zip(one, two, strict=True))


def test_the_same_text_in_every_row() -> None:
    column = Column.full("a", 4)
    assert column.tolist() == ["a"] * 4 and (column == "a").all() and not (column == "b").any()
    assert column.flags(str.isalpha).tolist() == [True] * 4 and column.arrow().to_pylist() == ["a"] * 4
    assert column.mask(np.array([True, False, False, False]), "b").tolist() == ["b", "a", "a", "a"]
    assert column.put(np.array([2]), Column.of(["c"])).tolist() == ["a", "a", "c", "a"]
    assert Frame({"x": column}, np.arange(4)).take(np.array([1, 2])).records() == [{"x": "a", "row": 1}, {"x": "a", "row": 2}]


CELLS = st.text(alphabet='ab1 ,"\n;µ', max_size=6)
TABLES = st.integers(2, 4).flatmap(
    lambda width: st.lists(st.lists(CELLS, min_size=width, max_size=width), min_size=3, max_size=30)
)


@pytest.fixture(scope="module")
def in_portions() -> Any:
    """The fast reader from the first byte on, a few bytes at a time."""
    with pytest.MonkeyPatch.context() as patch:
        for bound, size in (("LARGE", 0), ("HEAD_BYTES", 0), ("PORTION", 17)):
            patch.setattr(delimited, bound, size)
        taken: list[Any] = []
        fast: Callable[..., Any] = delimited._fast

        def told(*given: Any) -> Any:
            taken.append(fast(*given))
            return taken[-1]

        patch.setattr(delimited, "_fast", told)
        yield taken


@settings(max_examples=150, deadline=None)
@given(TABLES, st.sampled_from(["\n", "\r\n"]))
def test_portions_of_a_text_are_read_as_the_whole(in_portions: list[Any], rows: list[list[str]], end: str) -> None:
    """As Python's own reader reads them; cells may hold line ends and quotation marks, a portion may end within one."""
    rows = [["head", *("more" for _ in rows[0][1:])], *([cell.replace("\n", end) for cell in row] for row in rows)]
    written = io.StringIO(newline="")
    csv.writer(written, lineterminator=end).writerows(rows)
    expected = [[cell.strip() for cell in row] for row in rows]
    del in_portions[:]
    assert columns_of(written.getvalue().encode(), ",")[:] == expected
    marked = any('"' in cell for row in rows for cell in row)  # quotation marks in a cell are left to the other reader
    assert in_portions != [None] and len(in_portions) == (not marked)


def test_a_row_of_another_width_leaves_it_to_the_other_reader(in_portions: list[Any]) -> None:
    data = b"head,more\n" * 5 + b'"two\nlines",x\n' * 5 + b"1\n2,3"
    del in_portions[:]
    assert columns_of(data, ",")[8:] == [["two\nlines", "x"], ["two\nlines", "x"], ["1", ""], ["2", "3"]]
    assert in_portions == [None]
