"""Any workbook or text file of random cells is imported with a balanced row account or refused; it never crashes.

SCREENING_EXAMPLES sets the number of examples (100 here; 10,000 in the nightly run).
"""

from __future__ import annotations

import csv
import io
import itertools
import os
import time
from pathlib import Path
from typing import Any

import pytest
from containers import CONTAINERS, Sheet
from facts import ANALYTES
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from score import office_in
from words import DIALECTS

_numbers = itertools.count()
EXAMPLES = int(os.environ.get("SCREENING_EXAMPLES", "100"))
SECONDS = 30


def examples(share: int) -> settings:
    """This many in a hundred of all examples; the nightly run draws new ones every time."""
    return settings(
        max_examples=EXAMPLES * share // 100,
        deadline=None,
        derandomize=EXAMPLES <= 100,
        suppress_health_check=list(HealthCheck),
        database=None,
    )


_headings = st.sampled_from(
    [
        word
        for one in DIALECTS.values()
        for words in (one.sample, one.analyte, one.result, one.unit, one.flag, one.date)
        for word in words
    ]
    + ["RL", "MDL", "Basis", "Location", "Sample type", "CAS", "Recovery %", "Dilution", "Maximum", "Action level", "Depth (ft)"]
)
_trade = st.sampled_from(
    [
        *ANALYTES,
        *(
            "MW-1",
            "MW-2",
            "SB-1 (4-6)",
            "Soil",
            "Groundwater",
            "Trip blank",
            "mg/kg",
            "ug/L",
            "µg/L",
            "All results in ug/L",
            "dry",
        ),
        *(
            "ND",
            "<0.5",
            "< 0.5 U",
            "ND(0.5)",
            "0.5 U",
            "1.2 J",
            "U",
            "J",
            "--",
            "NA",
            "1,200",
            "1.200,5",
            "1,5",
            "3.4E+03",
            "<",
            "Notes:",
        ),
        *(
            "0",
            "-1",
            "1e999",
            "9" * 60,
            "03/04/2025",
            "2024-05-14",
            "14/05/2024 25:61",
            "=1+1",
            "71-43-2",
            "1971-43-02",
            "100",
            "0.0007",
        ),
    ]
)
_text = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)
_number = st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-(10**9), max_value=10**9)
_cell = st.one_of(st.just(""), _headings, _trade, _trade, _number.map(lambda one: format(one.normalize(), "f")), _text)
_grid = st.lists(st.lists(_cell, min_size=1, max_size=7), min_size=1, max_size=12)
_tableish = st.builds(
    lambda header, body, above: [*above, header, *body],
    st.lists(_headings, min_size=3, max_size=6),
    st.lists(st.lists(_cell, min_size=3, max_size=6), min_size=1, max_size=8),
    st.lists(st.lists(_cell, min_size=1, max_size=2), max_size=2),
)
_any_grid = st.one_of(_grid, _tableish)


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Any:
    made = office_in(tmp_path_factory.mktemp("any"))
    return made


def imported(office: Any, path: Path) -> None:
    """Import the file at a site of its own and hold the answer against the promise."""
    site = path.stem
    assert office.plain_site(site).status == 0
    started = time.monotonic()
    said = office.run("import", path, "--site", site, "--set", "medium=soil", "--set", "basis=dry")
    assert time.monotonic() - started < SECONDS
    assert said.status in (0, 1, 3), said.error
    if said.status == 1:
        assert said.error.strip()
        return
    for deliverable in said.document["deliverables"]:
        rows = deliverable["rows"]
        assert rows["read"] == rows["results"] + rows["quality_control"] + rows["held_back"] + rows["ignored"]
        assert rows["held_back"] == len(deliverable["held_back"])


def at(office: Any, ending: str) -> Path:
    return Path(office.folder) / f"any-{next(_numbers)}{ending}"


@examples(40)
@example(rows=[["Sample ID"] * 3, ["", "", "", "Benzene"], ["", "", "", "Benzene"]], encoding="utf-8", delimiter=",")
@given(rows=_any_grid, encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]), delimiter=st.sampled_from(",;\t|"))
def test_any_text_file(office: Any, rows: list[list[str]], encoding: str, delimiter: str) -> None:
    page = io.StringIO(newline="")
    csv.writer(page, delimiter=delimiter).writerows(rows)
    path = at(office, ".csv")
    path.write_bytes(page.getvalue().encode(encoding))
    imported(office, path)


@examples(40)
@given(sheets=st.lists(_any_grid, min_size=1, max_size=3), container=st.sampled_from(["xlsx", "ods", "xls as xml"]))
def test_any_workbook(office: Any, sheets: list[list[list[str]]], container: str) -> None:
    ending, write = CONTAINERS[container]
    path = at(office, ending)
    write([Sheet(f"Sheet{number}", [list(row) for row in rows]) for number, rows in enumerate(sheets)], path)
    imported(office, path)


@examples(20)
@example(content=b"\xfe\xff", ending=".csv")
@given(content=st.binary(max_size=300), ending=st.sampled_from([".csv", ".txt", ".xlsx", ".xls", ".ods"]))
def test_any_bytes(office: Any, content: bytes, ending: str) -> None:
    path = at(office, ending)
    path.write_bytes(content)
    imported(office, path)
