"""The workbook read back by openpyxl, which did not write it, and held against the answer of the run."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import openpyxl
import pytest

from screening.decision.contents import Contents
from screening.outputs import workbook
from screening.outputs.tables import crosstabs
from screening.outputs.workbook.crosstab_sheets import add_crosstab, sheets_of
from screening.outputs.workbook.sheet import Book, new_workbook
from tests.outputs.conftest import ANALYTES, SAMPLES
from tests.outputs.read_back import LETTERS, counted, list_rows, result_cells

LISTS = {"exceeds": "Exceedances", "open": "Open", "no_level": "No level"}


@pytest.mark.parametrize("outcome", LETTERS)
def test_marks_in_the_tables_are_rows_of_the_list_are_counts_of_the_run(book: Any, contents: Contents, outcome: str) -> None:
    """AT-20: as many marks in the tables as rows in the list, and at the same places."""
    wanted = counted(contents.answer, outcome)
    marks = Counter((found.sample, found.analyte) for found in result_cells(book) if found.mark.value == LETTERS[outcome])
    rows = Counter((row["Sample"], row["Analyte"]) for row in list_rows(book, LISTS[outcome]) if row["Mark"] == LETTERS[outcome])
    assert wanted and marks == wanted and rows == wanted
    assert sum(wanted.values()) == contents.answer["counts"][outcome]


def test_brackets_are_the_side_of_a_pair_that_does_not_stand(book: Any, contents: Contents) -> None:
    wanted = Counter(LETTERS.get(item["outcome"], "") for item in contents.answer["outweighed"])
    marks = Counter(
        str(found.mark.value).strip("()") for found in result_cells(book) if str(found.mark.value or "").startswith("(")
    )
    assert marks == {letter: count for letter, count in wanted.items() if letter} and marks["n"]


def test_every_chosen_result_stands_in_a_table_with_its_digits(book: Any, contents: Contents) -> None:
    cells = {(found.sample, found.analyte): found for found in result_cells(book)}
    outcomes = {
        (item["sample_id"], item["analyte"]): item for item in (*contents.answer["outcomes"], *contents.answer["outweighed"])
    }
    chosen = [row for row in contents.results if row["chosen"]]
    assert len(chosen) == 286
    for row in chosen:
        key = (row["sample_id"], row["analyte"])
        shown, cell = outcomes.get(key, row), cells[key].result
        if shown["detected"]:
            decimals = len(cell.number_format.partition(".")[2])
            assert isinstance(cell.value, int | float), key
            assert f"{Decimal(str(cell.value)):.{decimals}f}" == shown["value"], key
        else:
            assert cell.value == f"<{shown['limit']}" and cell.data_type == "s", key


def test_a_sum_between_its_bounds_is_text(book: Any) -> None:
    (found,) = [found for found in result_cells(book) if (found.sample, found.analyte) == ("TV-D1", "Total xylenes")]
    assert (found.mark.value, found.result.value, found.result.data_type) == ("?", "30.1 to 44.1", "s")


def test_marks_hold_without_colour(book: Any) -> None:
    """Bold in a heavy box, and a dashed box: neither needs colour."""
    for found in result_cells(book):
        look = (found.result.font.b, found.result.border.top.style, found.mark.border.left.style, found.flag.border.right.style)
        if found.mark.value == "E":
            assert look == (True, "medium", "medium", "medium")
        elif found.mark.value == "?":
            assert look[1:] == ("mediumDashed",) * 3 and found.result.font.i
        else:
            assert not look[0] and look[1] is None


def test_flags_stand_apart_from_marks(book: Any) -> None:
    flags = Counter(found.flag.value for found in result_cells(book) if found.flag.value)
    assert set(flags) == {"J", "D"}  # U and ND say no more than '<'; the run over its range, flagged E, is not chosen


def test_levels_are_in_the_unit_of_the_results(book: Any) -> None:
    """OAC table as printed: benzene 0.246 mg/kg in soil of class 1, 0.005 mg/L in groundwater; the table shows 5 ug/L."""
    found = {}
    for name in ("Soil", "Groundwater"):
        sheet = book[name]
        head = next(row for row in range(1, 30) if sheet.cell(row, 1).value == "Analyte")
        for row in range(head + 1, sheet.max_row):
            if sheet.cell(row, 1).value == "Benzene":
                found[name] = (sheet.cell(row, 3).value, sheet.cell(row, 5).value)
        told = sheet.cell(head - 7, 1).value
        assert all(
            words in told
            for words in ("us-oh/closure", "version 2017-01-01", "in force from 2017-01-01", "OAC 1301:7-9-12", "above")
        )
    assert found == {"Soil": ("mg/kg", 0.246), "Groundwater": ("ug/L", 5)}
    printed = {
        (row["Medium"], row["Analyte"]): row["Level as printed"] for row in list_rows(book, "Levels") if row["Decided"] == "used"
    }
    assert printed["groundwater", "Benzene"] == 0.005


def test_every_number_names_its_cell(book: Any, contents: Contents) -> None:
    rows = list_rows(book, "Sources")
    assert len(rows) == len(contents.results) == 434
    for row, one in zip(rows, contents.results, strict=True):
        source = one["source"]
        assert (row["File"], row["Sheet"] or "", row["Row"], row["Column"], row["As received"]) == (
            source["file"], source["sheet"], source["row"], source["column"], source["text"],
        )  # fmt: skip


def test_open_holds_back_and_misses_too(book: Any, contents: Contents) -> None:
    marks = Counter(row["Mark"] for row in list_rows(book, "Open"))
    gaps = sum(item["kind"] == "gap" for item in contents.answer["recommendation"]["open_items"])
    assert marks == {"?": 14, "h": len(contents.answer["held_back"]), "m": gaps}
    held = {(found.sample, found.analyte) for found in result_cells(book) if found.mark.value == "h"}
    assert held == {(row["sample_id"], row["analyte"]) for row in contents.answer["held_back"]}


def test_both_sides_of_a_duplicate_are_shown(book: Any) -> None:
    rows = list_rows(book, "Duplicates")
    (benzene,) = [row for row in rows if row["Analyte"] == "Benzene"]
    assert (benzene["Parent"], benzene["Result"], benzene["Field duplicate"], benzene["Result of the duplicate"]) == (
        "TV-T2-W",
        0.096,
        "TV-T2-WD",
        0.112,
    )
    heads = {found.sample for found in result_cells(book)}
    assert {"TV-T2-W", "TV-T2-WD", "TV-T3-W", "TV-T3-WD"} <= heads


def test_samples_stand_by_location_and_depth_and_duplicates_beside_parents(book: Any) -> None:
    sheet = book["Soil"]
    samples = [cell.value for cell in sheet[5] if cell.value and cell.value != "Sample"]
    assert samples == sorted(samples) and samples.index("TV-T2-WD") == samples.index("TV-T2-W") + 1


def test_sheets_are_set_up_to_be_read_and_printed(book: Any) -> None:
    for sheet in book.worksheets:
        assert str(sheet.page_setup.paperSize) == "1"
        assert "data state" in sheet.oddFooter.right.text and "E bold in a heavy box" in sheet.oddFooter.left.text
        if sheet.title in ("Summary",) or not sheet.auto_filter.ref:
            continue
        assert sheet.page_setup.orientation == "landscape" and sheet.freeze_panes and sheet.print_title_rows
    soil = book["Soil"]
    first = next(cell.column for cell in soil[11] if cell.value == "Result") - 1
    breaks = [one.id for one in soil.col_breaks.brk]
    assert breaks and all((at - first + 1) % 3 == 0 for at in breaks), "a page ends between samples"
    assert soil.print_title_cols == "$A:$E"


def test_the_summary_says_what_the_run_says(book: Any, contents: Contents) -> None:
    texts = [str(cell.value) for row in book["Summary"].iter_rows() for cell in row if cell.value is not None]
    assert "CORRECTIVE ACTION IS INDICATED (triggered)" in texts
    assert contents.answer["recommendation"]["caution"] in texts
    for reason in contents.answer["recommendation"]["reasons"]:
        assert reason["text"] in texts
    links = {
        cell.hyperlink.location.split("!")[0].strip("'") for row in book["Summary"].iter_rows() for cell in row if cell.hyperlink
    }
    assert links == set(book.sheetnames) - {"Summary"}


def test_pictures_are_in_it_with_words_for_who_cannot_see_them(package: Mapping[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(package["workbook.xlsx"])) as archive:
        names = [name for name in archive.namelist() if name.startswith("xl/media/")]
        drawings = [archive.read(name).decode() for name in archive.namelist() if name.startswith("xl/drawings/drawing")]
    assert names and all(text.count("<xdr:pic>") == text.count('descr="') for text in drawings)


def test_nothing_in_it_runs(package: Mapping[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(package["workbook.xlsx"])) as archive:
        assert not any("vba" in name.lower() or "external" in name.lower() for name in archive.namelist())
        for name in archive.namelist():
            if name.startswith("xl/worksheets/sheet"):
                assert b"<f>" not in archive.read(name)


def test_the_same_run_is_the_same_bytes(package: Mapping[str, bytes], contents: Contents) -> None:
    assert workbook.files(contents)["workbook.xlsx"] == package["workbook.xlsx"]


def test_it_is_dated_by_the_run(book: Any, contents: Contents) -> None:
    assert book.properties.created == dt.datetime.combine(contents.today, dt.time())


def test_a_wide_site_goes_on_in_further_sheets(wide: Contents) -> None:
    (table,) = crosstabs(wide)
    target = io.BytesIO()
    made = new_workbook(target)
    for name, part in sheets_of(table):
        add_crosstab(Book(made, wide), name, part)
    made.close()
    book = openpyxl.load_workbook(target)
    assert book.sheetnames == ["Soil 1 of 3", "Soil 2 of 3", "Soil 3 of 3"]
    cells = list(result_cells(book))
    assert len(cells) == SAMPLES * ANALYTES and len({(found.sample, found.analyte) for found in cells}) == len(cells)
    assert sum(found.mark.value == "E" for found in cells) == sum(
        item["outcome"] == "exceeds" for item in wide.answer["outcomes"]
    )
    for sheet in book.worksheets:
        ends = [one.id for one in sheet.col_breaks.brk]
        assert ends and all((end - 5) % 3 == 0 for end in ends), "five columns of their own, three for each sample"
        assert 66 <= sheet.page_setup.scale <= 78, "print no smaller than 6.6 points"
