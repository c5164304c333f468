"""The lists of the terminal in windows of any width: every word and every digit is there, numbers whole in 80 columns and more."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from screening.outputs.lines import row, table

ROWS = [
    ("E", "TV-T1-W / TV-T1-W-2 (duplicate)", "12.5 ft", "groundwater", "1,2,4-Trimethylbenzene", "24.100 D mg/kg", "0.000982 mg/kg", "10.2",
     "though as received and no percent solids; from m,p-Xylene 41.300, o-Xylene 18.200"),
    ("?", "A", "8 ft", "soil", "Benzene", "<0.290 mg/kg", "0.246 mg/kg", "1.18", "the limit is 295 times the level"),
]  # fmt: skip
HEADS = ("", "location", "depth", "medium", "analyte", "result", "level", "ratio", "why this row")
NUMBERS = ("result", "level", "ratio")


def _told(rows: list[tuple[str, ...]], width: int) -> str:
    out = Console(file=io.StringIO(), width=width)
    made = table(*HEADS, right=NUMBERS)
    for cells in rows:
        row(made, *cells)
    out.print(made)
    assert isinstance(out.file, io.StringIO)
    return out.file.getvalue()


@given(st.integers(48, 200))
def test_nothing_is_cut_off(width: int) -> None:
    told = _told(ROWS, width)
    assert all(len(line) <= width for line in told.splitlines())
    letters = sorted("".join([*HEADS, *(cell for cells in ROWS for cell in cells)]).replace(" ", ""))
    assert sorted(told.replace(" ", "").replace("\n", "")) == letters


@pytest.mark.parametrize("width", [80, 100, 120])
def test_numbers_stay_whole(width: int) -> None:
    words = _told(ROWS, width).split()
    assert {"24.100", "0.000982", "10.2", "<0.290", "0.246", "1.18"} <= {*words}


@pytest.mark.parametrize("width", [100, 110, 120])
def test_names_break_at_blanks_alone(width: int) -> None:
    words = _told(ROWS, width).split()
    assert {"1,2,4-Trimethylbenzene", "groundwater", "TV-T1-W-2", "(duplicate)", "location", "ratio"} <= {*words}


def test_a_wide_window_gives_each_column_its_width() -> None:
    lines = _told(ROWS, 400).splitlines()
    assert len(lines) == 1 + len(ROWS)
    assert all(" ".join(cells) == " ".join(line.split()) for cells, line in zip(ROWS, lines[1:], strict=True))


@pytest.mark.parametrize("width", [80, 100, 120])
def test_what_names_a_row_stays_whole(width: int) -> None:
    out = Console(file=io.StringIO(), width=width)
    made = table("held row", "file and row", "field", "text", "reason", "proposal")
    row(
        made,
        "dee107b71ac-102",
        "pemberwick-volatiles.csv row 103",
        "cas",
        "1975-09-02",
        "looks like a date made by a spreadsheet",
        "75-09-2",
    )
    out.print(made)
    assert isinstance(out.file, io.StringIO)
    assert "dee107b71ac-102" in out.file.getvalue().split()
