"""Custody forms with a column to tick for each analysis, and records in the site file; all names are invented."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl
import pytest

SOIL = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "result": "<0.0010"}


def _missing(office: Any) -> list[tuple[str, str]]:
    match = office.run("custody", "match", "--site", "one").document["match"]
    return [(item["sample"], item["analysis"]) for item in match["missing"]]


def _form(office: Any, *rows: list[object], name: str = "form.xlsx") -> Path:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = "Custody"
    for row in rows:
        page.append(row)
    path = Path(office.folder / name)
    book.save(path)
    return path


def _add(office: Any, path: Path) -> Any:
    return office.run("custody", "add", path, "--site", "one")


def test_a_form_in_one_header_row(office: Any) -> None:
    office.plain_site()
    rows = [
        {
            "Sample ID": "A-1",
            "Date collected": "2025-05-06",
            "Depth": "12.5",
            "VOC": "x",
            "PAH": "",
            "TPH-DRO": "X",
            "Remarks": "odour",
        },
        {"Sample ID": "A-2", "Date collected": "2025-05-06", "Depth": "9", "VOC": "\N{CHECK MARK}", "PAH": "2", "TPH-DRO": "-"},
        {"Sample ID": "A-3", "Date collected": "2025-05-06", "Depth": "9", "VOC": "2 vials", "PAH": "no", "TPH-DRO": "0"},
    ]
    said = _add(office, office.deliverable("form.csv", rows))
    assert said.status == 0, said.error
    assert (said.document["custody"]["samples"], said.document["custody"]["sample_analyses"]) == (3, 5)
    assert _missing(office) == [("A-1", "VOC"), ("A-1", "DRO"), ("A-2", "VOC"), ("A-2", "PAH"), ("A-3", "VOC")]


@pytest.mark.parametrize("above", [False, True])
def test_a_form_with_the_analyses_in_a_row_of_their_own(office: Any, above: bool) -> None:
    office.plain_site()
    wide = [None, None, None, "Analyses requested", None, None]
    names = [None, None, None, "VOCs by 8260D", "Metals (As, Pb)", "Zq-17"]
    first = ["Sample", "Collected", "No. of bottles", *([None] * 3 if above else wide[3:])]
    header = [wide, names, first] if above else [first, names]
    day = dt.date(2025, 5, 6)
    path = _form(office, ["Chain of custody"], *header, ["A-1", day, 4, 3, 1, None], ["A-2", day, 2, None, "x", "x"])
    said = _add(office, path)
    assert said.status == 3, said.error  # Zq-17 is in no list, and is asked for all the same
    assert said.document["custody"]["unlisted"] == ["Zq-17"]
    assert _missing(office) == [("A-1", "VOC"), ("A-1", "Metals"), ("A-2", "Metals"), ("A-2", "Zq-17")]


def test_ticked_media_and_columns_beside_the_analyses_ask_for_nothing(office: Any) -> None:
    office.plain_site()
    header = ["Sample", "Collected", "Grab", "Comp", "Soil", "Groundwater", "VOC", "Containers"]
    path = _form(
        office, header, ["A-1", "2025-05-06", "x", None, "x", None, "x", 3], ["W-1", "2025-05-06", "x", None, None, "x", 2, 2]
    )
    assert _add(office, path).status == 0
    assert _missing(office) == [("A-1", "VOC"), ("W-1", "VOC")]


@pytest.mark.parametrize(("mark", "sample", "words"), [
    ("hold", "A-1", "sheet 'Custody', row 2, column C ('PAH'): 'hold' is neither a tick nor a number of bottles; is PAH asked for on A-1?"),
    ("?", "A-1", "column C ('PAH'): '?' is neither"),
    ("x", None, "row 2: no sample is named"),
])  # fmt: skip
def test_what_is_no_tick_is_refused_by_name(office: Any, mark: str, sample: str | None, words: str) -> None:
    office.plain_site()
    said = _add(office, _form(office, ["Sample", "VOC", "PAH"], [sample, "x", mark], ["A-2", "x", None]))
    assert said.status == 1
    assert words in said.error
    assert office.run("custody", "match", "--site", "one").document["match"]["records"] == []


def test_a_sample_with_nothing_ticked_is_refused(office: Any) -> None:
    office.plain_site()
    said = _add(office, _form(office, ["Sample", "VOC", "PAH"], ["A-1", "x", None], ["A-2", None, "-"]))
    assert "row 3: no analysis is ticked for A-2" in said.error


def test_analyses_written_out_are_a_list_whatever_stands_beside(office: Any) -> None:
    office.plain_site()
    said = _add(office, _form(office, ["Sample", "Analyses", "Lead"], ["A-1", "VOC, PAH", None]))
    assert said.status == 0, said.error
    assert _missing(office) == [("A-1", "VOC"), ("A-1", "PAH")]


def test_a_form_holds_strangers_and_shows_gaps_like_a_list(office: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    assert _add(office, _form(office, ["Sample", "VOC", "PAH"], ["A-1", "x", "x"])).status == 0
    rows = [{"sample_id": name, "analyte": "Benzene", **SOIL} for name in ("A-1", "A1")]
    held = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]["held_back"]
    assert [(item["text"], item["proposal"]) for item in held] == [("A1", "A-1")]
    answer = office.run("screen", "--site", "one").document
    gaps = [item["text"] for item in answer["recommendation"]["open_items"] if item["kind"] == "gap"]
    assert gaps == ["PAH asked for on the custody record for sample A-1 and not delivered"]


def test_a_form_and_the_site_file_count_together(office: Any) -> None:
    lines = '[[custody]]\nsample = "B-1"\nanalyses = ["VOC", "Metals (As, Pb)"]\ncollected = 2025-05-06\ndepth = "4"\nmedium = "soil"\n'
    office.plain_site(more=lines)
    assert _add(office, _form(office, ["Sample", "VOC"], ["A-1", "x"])).status == 0
    assert _missing(office) == [("A-1", "VOC"), ("B-1", "VOC"), ("B-1", "Metals")]


@pytest.mark.parametrize(("lines", "words"), [
    ('[[custody]]\nsample = "B-1"\nanalyses = []\n', "custody.1.analyses"),
    ('[[custody]]\nsample = ""\nanalyses = ["VOC"]\n', "custody.1.sample"),
    ('[[custody]]\nsample = "B-1"\nanalyses = ["VOC"]\ntests = "PAH"\n', "custody.1.tests"),
])  # fmt: skip
def test_a_record_in_the_site_file_that_says_too_little_is_refused(office: Any, lines: str, words: str) -> None:
    said = office.plain_site(more=lines)
    assert said.status == 1
    assert words in said.error
