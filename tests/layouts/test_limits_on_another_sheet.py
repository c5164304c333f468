"""Limits that a workbook lists on a sheet of their own. All figures are invented."""

from __future__ import annotations

from typing import Any

import openpyxl
import pytest

SAMPLES = [["Analyte", "MW-1", "MW-2"], ["Benzene", "ND", "7"], ["Toluene", "ND", "ND"], ["Xylenes", "ND", "9"]]
LISTED = [["Name", "MRL (mg/L)"], ["Benzene", "0.002"], ["Toluene", "0.003"], ["Xylenes", "n.a."]]


def brought_in(office: Any, **sheets: list[list[str]]) -> dict[str, Any]:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    path = office.folder / "book.xlsx"
    book.save(path)
    office.plain_site()
    words = ("import", path, "--site", "one", "--set", "medium=groundwater", "--set", "unit=ug/L")
    return dict(office.run(*words).document["deliverables"][0])


def limits(office: Any) -> dict[tuple[str, str], str | None]:
    found = office.run("results", "--site", "one").document["results"]
    return {(item["sample_id"], item["analyte"]): item["reporting_limit"] for item in found}


def test_the_list_stands_beside_every_sample_in_its_own_unit(office: Any) -> None:
    said = brought_in(office, Results=SAMPLES, Limits=LISTED)
    assert (
        "sheet 'Limits' lists the reporting limit of 2 analytes: taken for every sample of sheet 'Results' as it stands"
        in said["assumptions"]
    )
    assert not any("'Limits' was not read" in note for note in said["assumptions"])
    found = limits(office)
    assert {found["MW-1", "Benzene"], found["MW-2", "Benzene"]} == {"2"} and found["MW-2", "Toluene"] == "3"
    assert sorted(limit for limit in found.values() if limit) == ["2", "2", "3", "3"]


@pytest.mark.parametrize(
    "sheets",
    [
        {"Results": SAMPLES, "Limits": LISTED, "More": LISTED},
        {"Results": SAMPLES, "Limits": [[*row, "other"] for row in LISTED]},
        {"Results": SAMPLES, "Limits": [["Name", "Limit"], *LISTED[1:]]},
    ],
    ids=["two lists", "a third column", "limits of nobody knows what"],
)
def test_what_is_not_plainly_one_list_gives_no_limits(office: Any, sheets: dict[str, list[list[str]]]) -> None:
    brought_in(office, **sheets)
    assert set(limits(office).values()) == {None}


def test_a_table_with_limits_of_its_own_keeps_them(office: Any) -> None:
    own = [["Analyte", "RL", "MW-1"], ["Benzene", "5", "ND"], ["Toluene", "5", "ND"], ["Xylenes", "5", "ND"]]
    brought_in(office, Results=own, Limits=LISTED)
    assert set(limits(office).values()) == {"5"}
