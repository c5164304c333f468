"""22,122 groundwater results of a federal network: imported without loss, then held against drinking-water limits.

The oracle below reads the same csv with the csv module and Decimal, and the federal figures by CAS number from the
reference folder; it shares no code with the tool.
"""

from __future__ import annotations

import csv
import datetime as dt
import json
from collections import Counter
from collections.abc import Callable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.portfolio.same import hold_beside

MEDIA = {"WG": "groundwater", "WGQ": "groundwater", "OAQ": "other_water"}
KINDS = {"9": "field", "7": "field_duplicate", "2": "field_blank"}
PER_LITRE = {"ug/L": 1, "ug/L as Cr": 1, "mg/L": 1000}
TABLE = "us/drinking-water@2006-01-23"

Lines = dict[int, dict[str, str]]


@pytest.fixture(scope="module")
def folder(reference: Path) -> Path:
    return reference / "real" / "o03_usgs_groundwater_voc_metals"


@pytest.fixture(scope="module")
def expected(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "expected.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def delivered(folder: Path, lines: Callable[[Path], Lines]) -> Lines:
    return lines(folder / "samples_voc_metals.csv")


@pytest.fixture(scope="module")
def numbers(folder: Path, lines: Callable[[Path], Lines]) -> dict[str, str]:
    """CAS number by parameter code; it stands in a second file only."""
    return {line["pcode"]: line["casrn"] for line in lines(folder / "parameters.csv").values()}


@pytest.fixture(scope="module")
def imported(desk: Any, folder: Path, layout: Callable[[str], Path]) -> dict[str, Any]:
    desk.plain_site("wells", place="us-id", levels="us/drinking-water")
    said = desk.run("import", folder / "samples_voc_metals.csv", "--site", "wells", "--layout", layout("usgs_groundwater"))
    assert said.status == 0, said.error
    return dict(said.document["deliverables"][0])


@pytest.fixture(scope="module")
def screened(desk: Any, imported: dict[str, Any]) -> dict[str, Any]:
    return dict(desk.run("screen", "--site", "wells", "--levels", TABLE, "--setting", "review=none").document)


@pytest.fixture(scope="module")
def blanks(desk: Any, delivered: Lines, layout: Callable[[str], Path]) -> list[dict[str, Any]]:
    """The field blanks, which no screen shows, from a file of their own: to list all 22,122 results takes half a minute."""
    at = [row for row, line in delivered.items() if line["sample_type_cd"] == "2"]
    desk.plain_site("blanks", place="us-id", levels="us/drinking-water")
    file = desk.deliverable("blanks.csv", [delivered[row] for row in at])
    said = desk.run("import", file, "--site", "blanks", "--layout", layout("usgs_groundwater"))
    assert said.document["deliverables"][0]["rows"]["quality_control"] == len(at)
    found = desk.stored("blanks")
    assert not any(item["chosen"] for item in found)
    return [{**item, "source": {**item["source"], "row": at[item["source"]["row"] - 2]}} for item in found]


def amount(line: Mapping[str, str]) -> Decimal:
    """The delivered number in ug/L; of a non-detect it is the limit."""
    return Decimal(line["result_va"]) * PER_LITRE[line["unit_cd"]]


def federal_levels(reference: Path) -> dict[str, Decimal]:
    """Federal figures in ug/L by CAS number; total chromium, lead and copper among them, xylenes as their total."""
    with (reference / "levels" / "federal_mcl_40cfr141.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert {row["unit"] for row in rows} == {"mg/L"}
    return {row["cas"]: Decimal(row["value"]) * 1000 for row in rows}


def verdict(line: Mapping[str, str], level: Decimal | None) -> str:
    """What a straight reading says of one result: 'above' exceeds, and a limit above the level shows nothing."""
    if level is None:
        return "no_level"
    if line["remark_cd"] == "<":
        return "open" if amount(line) > level else "does_not_exceed"
    return "exceeds" if amount(line) > level else "does_not_exceed"


def test_every_row_is_accounted_for_once(
    desk: Any, folder: Path, layout: Any, imported: dict[str, Any], balanced: Any, expected: dict[str, Any]
) -> None:
    rows = imported["rows"]
    kinds = expected["sample_type"]
    assert rows["read"] == expected["summary"]["data_rows"] == 22122
    assert rows == {
        "read": 22122, "results": kinds["9"] + kinds["7"], "quality_control": kinds["2"], "held_back": 0, "ignored": 0,
    }  # fmt: skip
    assert balanced(rows)
    words = ("import", folder / "samples_voc_metals.csv", "--site", "wells", "--layout", layout("usgs_groundwater"))
    again = desk.run(*words).document["deliverables"][0]
    assert again["status"] == "already_imported" and again["id"] == imported["id"]


def check(item: Mapping[str, Any], line: Mapping[str, str], cas: str) -> None:
    """One row of the tool against the line it came from."""
    missed, factor = line["remark_cd"] == "<", PER_LITRE[line["unit_cd"]]
    assert (item["location"], item["sample_id"]) == (line["site_no"], line["sample_id"])
    assert item["sampled_at"] == line["sample_dt_utc"]
    assert (item["medium"], item["sample_kind"]) == (MEDIA[line["medium_cd"]], KINDS[line["sample_type_cd"]])
    assert item["source"]["text"] == line["result_va"] and item["unit"] == "ug/L"
    assert item["detected"] is not missed
    assert Decimal(item["limit" if missed else "value"]) == amount(line)
    reporting = line["rpt_lev_va"] or (line["result_va"] if missed else "")
    assert (Decimal(item["reporting_limit"]) == Decimal(reporting) * factor) if reporting else item["reporting_limit"] is None
    assert item["cas"] == cas
    assert item["fraction"] == ("dissolved" if ", wf" in line["parm_short_nm"] else "total")


def test_import_keeps_every_figure(
    screened: dict[str, Any], blanks: list[dict[str, Any]], delivered: Lines, numbers: dict[str, str], expected: dict[str, Any]
) -> None:
    items = [*screened["outcomes"], *screened["outweighed"], *blanks]
    assert sorted(item["source"]["row"] for item in items) == list(delivered)
    for item in items:
        line = delivered[item["source"]["row"]]
        check(item, line, numbers[line["pcode"]])
    marks = Counter(item.get("qualifiers", item.get("lab_qualifiers")) for item in items)
    assert marks == expected["remark"]
    summary = expected["summary"]
    assert sum(not item["detected"] for item in items) == summary["nondetect"]
    differing = [i for i in items if not i["detected"] and Decimal(i["limit"]) != Decimal(i["reporting_limit"])]
    assert len(differing) == summary["nondetect_limit_differs_from_reporting_level"]
    assert len({item["location"] for item in items}) == summary["sites"]
    assert len({item["sample_id"] for item in items}) == summary["samples"]


def test_outcomes_are_those_of_a_straight_reading(
    reference: Path, screened: dict[str, Any], delivered: Lines, numbers: dict[str, str]
) -> None:
    levels = federal_levels(reference)
    compared = {row: line for row, line in delivered.items() if line["sample_type_cd"] in ("7", "9")}
    wanted = {row: verdict(line, levels.get(numbers[line["pcode"]])) for row, line in compared.items()}
    told = [*screened["outcomes"], *screened["outweighed"]]  # of a replicate and its sample one outcome stands
    found = {item["source"]["row"]: item for item in told}
    assert len(found) == len(told), "a row was told twice"
    assert {row: item["outcome"] for row, item in found.items()} == wanted
    assert Counter(wanted.values()) == {"no_level": 10893, "does_not_exceed": 9868, "open": 446, "exceeds": 41}
    for row, item in found.items():
        if item["outcome"] != "no_level":
            assert Decimal(item["level_normal"]) == levels[numbers[delivered[row]["pcode"]]]
        shown = item["value"] if item["detected"] else item["limit"]
        assert Decimal(shown) == amount(delivered[row])
    assert screened["recommendation"]["status"] == "triggered"


def test_exceedances_and_open_items_have_the_faces_one_expects(screened: dict[str, Any]) -> None:
    outcomes = [*screened["outcomes"], *screened["outweighed"]]
    over = Counter((item["analyte"], item["fraction"]) for item in outcomes if item["outcome"] == "exceeds")
    assert over == {
        ("Carbon tetrachloride", "total"): 19, ("Trichloroethene", "total"): 14, ("Chromium", "total"): 5,
        ("Lead", "total"): 1, ("Thallium", "dissolved"): 1, ("Vinyl chloride", "total"): 1,
    }  # fmt: skip
    waiting = [item for item in outcomes if item["outcome"] == "open"]
    assert not any(item["detected"] for item in waiting)
    assert all("times the level" in item["because"] for item in waiting)
    assert {item["analyte"] for item in waiting} == {
        "1,2-Dibromo-3-chloropropane", "1,2-Dibromoethane", "Arsenic", "Beryllium", "Cadmium",
    }  # fmt: skip
    assert {item["outcome"] for item in outcomes if item["cas"] == "18540-29-9"} == {"no_level"}


def test_every_other_count_of_the_source(
    screened: dict[str, Any], blanks: list[dict[str, Any]], delivered: Lines, numbers: dict[str, str], expected: dict[str, Any]
) -> None:
    summary, items = expected["summary"], [*screened["outcomes"], *screened["outweighed"], *blanks]
    for heading, key in (("medium_cd", "medium"), ("unit_cd", "units"), ("sample_type_cd", "sample_type")):
        assert Counter(line[heading] for line in delivered.values()) == expected[key]
    found = [item for item in items if item["detected"]]
    assert len(found) == summary["estimated_E"] + summary["detects_unqualified"]
    assert sum(Decimal(item["value"]) <= 0 for item in found) == summary["zero_or_negative_detects"] == 0
    assert len({item["cas"] for item in items} - {""}) == summary["distinct_cas"]
    codes = {line["pcode"] for line in delivered.values()}
    assert len(codes) == summary["distinct_parameter_codes"] and codes <= numbers.keys()
    assert sum(code.startswith("0") for code in codes) == summary["codes_with_leading_zero"]
    assert len({line["parm_short_nm"] for line in delivered.values()}) == summary["distinct_short_names"]
    assert sum(not line["result_va"] for line in delivered.values()) == summary["empty_result_value"] == 0
    keys = Counter((line["site_no"], line["sample_dt_utc"], line["pcode"]) for line in delivered.values())
    assert sum(count > 1 for count in keys.values()) == summary["same_site_time_parameter_more_than_once"] == 0


def test_a_portfolio_of_the_site_tells_every_outcome_alike(desk: Any, screened: dict[str, Any]) -> None:
    hold_beside(desk, ("screen", "--site", "wells", "--levels", TABLE, "--setting", "review=none"), screened)


def test_reviewed_a_late_non_detect_proves_nothing(desk: Any, screened: dict[str, Any], delivered: Lines) -> None:
    """Volatiles in water 14 days (site plans, second-hand), mercury 28 (recalled), other metals 180 (40 CFR 136, read),
    to the minute: the file gives both times."""
    answer = desk.run("screen", "--site", "wells", "--levels", TABLE).document
    found = {item["source"]["row"]: item for item in (*answer["outcomes"], *answer["outweighed"])}
    plain = {item["source"]["row"]: item["outcome"] for item in (*screened["outcomes"], *screened["outweighed"])}
    metals = {"Antimony", "Arsenic", "Barium", "Beryllium", "Cadmium", "Chromium", "Copper", "Lead", "Selenium", "Thallium"}
    late = set()
    for row, item in found.items():
        line = delivered[row]
        if item["outcome"] == "no_level" or not line["anl_dt"] or item["detected"]:
            continue
        waited = dt.datetime.fromisoformat(line["anl_dt"]) - dt.datetime.fromisoformat(line["sample_dt_utc"])
        allowed = 180 if item["analyte"] in metals else 28 if item["analyte"] == "Mercury" else 14
        if waited > dt.timedelta(days=allowed):
            late.add(row)
    assert {row for row, item in found.items() if item["outcome"] != plain[row]} == {row for row in late if plain[row] != "open"}
    assert {found[row]["outcome"] for row in late} == {"open"} and len(late) > 20
    assert answer["counts"]["exceeds"] == screened["counts"]["exceeds"], "a late exceedance is an exceedance"
