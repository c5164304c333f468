"""Times with and without their offset, dates in two orders, and limits in a unit of their own. All figures are invented."""

from __future__ import annotations

from typing import Any

import duckdb
import pytest

from screening.normal.dates import BOTH, may_follow, order_of, read_moment
from screening.store.database import SCHEMA_VERSION

ROW = {"sample_id": "S1", "medium": "groundwater", "analyte": "Benzene", "cas": "71-43-2", "result": "0.1", "unit": "ug/L"}


@pytest.mark.parametrize(
    ("text", "zone", "iso", "known"),
    [
        ("2025-05-06T10:00:00-05:00", "", "2025-05-06 15:00:00", "-05:00"),
        ("2025-05-06T10:00:00Z", "", "2025-05-06 10:00:00", "+00:00"),
        ("2025-05-06T22:30:00.5+05:30", "", "2025-05-06 17:00:00", "+05:30"),
        ("05/26/2025 10:00 PM EST", "", "2025-05-27 03:00:00", "-05:00"),
        ("2025-05-06 10:00", "CDT", "2025-05-06 15:00:00", "-05:00"),
        ("2025-05-06 10:00 CST", "CDT", "2025-05-06 16:00:00", "-06:00"),
        ("2025-05-06 1000", "UTC-5", "2025-05-06 15:00:00", "-05:00"),
        ("2025-05-06 10:00", "", "2025-05-06 10:00:00", "local"),
        ("2025-05-06", "EST", "2025-05-06", "day"),
        ("2025-05-06 AKST", "", "2025-05-06", "day"),
        ("", "EST", None, ""),
    ],
)
def test_what_is_known_of_a_moment(text: str, zone: str, iso: str | None, known: str) -> None:
    read = read_moment(text, None, zone)
    assert (read.iso, read.known, read.problem) == (iso, known, None)


def test_a_zone_whose_offset_depends_on_the_season_is_asked_about(office: Any) -> None:
    office.plain_site()
    rows = [{**ROW, "sampled_at": "2025-05-06 10:00", "time_zone": "ET"}]
    held = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]["held_back"]
    assert [(item["field"], item["reason"]) for item in held] == [
        ("sampled_at", "time zone 'ET' is not listed; say its offset from UTC, as in -05:00")
    ]
    words = ("held", "accept", held[0]["id"], "--as", "2025-05-06 10:00 -04:00", "--by", "test", "--why", "asked")
    assert office.run(*words).status == 0
    assert office.run("results", "--site", "one").document["results"][0]["sampled_at"] == "2025-05-06 10:00:00-04:00"


def test_a_day_stays_a_day_and_a_time_keeps_its_clock(office: Any) -> None:
    office.plain_site()
    rows = [
        {**ROW, "sampled_at": "2025-05-06", "analysed_at": "2025-05-07 00:00"},
        {**ROW, "sample_id": "S2", "sampled_at": "2025-05-06 22:00", "analysed_at": "2025-05-07 00:00"},
        {**ROW, "sample_id": "S3", "sampled_at": "2025-05-06 22:00 EST", "analysed_at": "2025-05-08 00:00"},
    ]
    said = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]
    notes = said["assumptions"]
    assert notes.count("times of day without a time zone are taken as local time") == 1
    assert notes.count("times marked 'EST' are taken as UTC-05:00") == 1
    assert "analysed_at: every time of day is 00:00, so the times count as not given" in notes
    found = office.run("results", "--site", "one").document["results"]
    assert [item["sampled_at"] for item in found] == ["2025-05-06", "2025-05-06 22:00:00", "2025-05-06 22:00:00-05:00"]
    assert [item["analysed_at"] for item in found] == ["2025-05-07", "2025-05-07", "2025-05-08"]
    outcomes = office.run("screen", "--site", "one").document["outcomes"]
    assert {item["sampled_at"] for item in outcomes} == {item["sampled_at"] for item in found}
    with duckdb.connect(office.database, read_only=True) as store:
        kept = store.execute("SELECT CAST(sampled_at AS VARCHAR), sampled_at_known FROM result ORDER BY sample_id").fetchall()
    assert kept == [
        ("2025-05-06 00:00:00", "day"), ("2025-05-06 22:00:00", "local"), ("2025-05-07 03:00:00", "-05:00"),
    ]  # fmt: skip


def test_columns_of_time_and_zone_right_of_a_date_belong_to_it(office: Any) -> None:
    office.plain_site()
    rows = [
        {
            "Sample ID": "S1", "Matrix": "Groundwater", "Date collected": "2025-05-06", "Time": "10:00", "Time Zone": "PDT",
            "Compound": "Benzene", "Result": "0.1", "Units": "ug/L",
        }
    ]  # fmt: skip
    assert office.run("import", office.deliverable("a.csv", rows), "--site", "one").status == 0
    assert office.run("results", "--site", "one").document["results"][0]["sampled_at"] == "2025-05-06 10:00:00-07:00"


@pytest.mark.parametrize(
    ("first", "second", "possible"),
    [
        (("2025-05-06 12:00:00", "local"), ("2025-05-06 11:00:00", "local"), False),
        (("2025-05-06 12:00:00", "local"), ("2025-05-06", "day"), True),
        (("2025-05-07", "day"), ("2025-05-06", "day"), False),
        (("2025-05-06 12:00:00", "-05:00"), ("2025-05-06 11:00:00", "+00:00"), False),
        (("2025-05-06 12:00:00", "local"), ("2025-05-06 01:00:00", "-05:00"), True),
        (("2025-05-06 12:00:00", "local"), ("2025-05-05 21:00:00", "-05:00"), False),
        (("2025-05-06 12:00:00", "+00:00"), ("2025-05-05", "day"), True),
        (("2025-05-06 13:00:00", "+00:00"), ("2025-05-05", "day"), False),
    ],
)
def test_an_order_of_moments_is_denied_only_where_no_clock_on_earth_allows_it(
    first: tuple[str, str], second: tuple[str, str], possible: bool
) -> None:
    assert may_follow(*first, *second) is possible


def test_proofs_of_both_orders_settle_nothing(office: Any) -> None:
    office.plain_site()
    dates = ("14/04/2025", "04/14/2025", "03/04/2025", "05/06/2025 10:00")
    rows = [{**ROW, "sample_id": f"S{number}", "sampled_at": text} for number, text in enumerate(dates)]
    said = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]
    assert (
        "numeric dates stand in both orders ('14/04/2025' and '04/14/2025'): none settles the others, "
        "and dates with two readings are held"
    ) in said["assumptions"]
    held = [(item["text"], item["proposal"]) for item in said["held_back"]]
    assert held == [
        ("03/04/2025", "2025-03-04 | 2025-04-03"), ("05/06/2025 10:00", "2025-05-06 10:00 | 2025-06-05 10:00"),
    ]  # fmt: skip
    assert all("prove both orders" in item["reason"] for item in said["held_back"])
    found = office.run("results", "--site", "one").document["results"]
    assert [item["sampled_at"] for item in found] == ["2025-04-14", "2025-04-14"]
    words = ("held", "accept", said["held_back"][1]["id"], "--as", "2025-05-06 10:00", "--by", "test", "--why", "asked")
    assert office.run(*words).status == 0
    assert order_of(dates) == BOTH and order_of(dates[1:]) == "mdy" and order_of(dates[2:]) is None


def test_a_stated_order_of_year_first_reads_two_digit_years() -> None:
    assert read_moment("25/04/03", "ymd").iso == "2025-04-03"
    assert read_moment("03/04/2025", "ymd").problem == "'03/04/2025' is no date in the order ymd"


def limited(office: Any, **texts: str) -> dict[str, Any]:
    """The import of one non-detect of benzene in a groundwater."""
    office.plain_site(place="us", levels="us/drinking-water")
    row = {**ROW, "result": "ND", **texts}
    return dict(office.run("import", office.deliverable("a.csv", [row]), "--site", "one").document["deliverables"][0])


@pytest.mark.parametrize(
    ("limit", "outcome"), [("0.005", "does_not_exceed"), ("0.0050000000001", "open"), ("0.0049999", "does_not_exceed")]
)
def test_a_limit_in_its_own_unit_at_the_boundary_of_a_level(office: Any, limit: str, outcome: str) -> None:
    """Benzene in drinking water: 0.005 mg/L, 40 CFR 141.61(a); the result is in ug/L, its limit in mg/L."""
    limited(office, reporting_limit=limit, reporting_limit_unit="mg/L", detection_limit="0.5", detection_limit_unit="ug/L")
    (item,) = office.run("screen", "--site", "one").document["outcomes"]
    assert item["outcome"] == outcome
    (found,) = office.run("results", "--site", "one").document["results"]
    assert found["unit"] == "ug/L"


def test_each_limit_follows_its_own_unit_then_that_of_all_then_that_of_the_result(office: Any) -> None:
    limited(
        office, reporting_limit="0.002", reporting_limit_unit="mg/L", quantitation_limit="3", detection_limit="400",
        detection_limit_unit="ng/L", limit_unit="ppb",
    )  # fmt: skip
    (found,) = office.run("results", "--site", "one").document["results"]
    shown = {name: found[f"{name}_limit"] for name in ("reporting", "quantitation", "detection")}
    assert shown == {"reporting": "2", "quantitation": "3", "detection": "0.4"}


@pytest.mark.parametrize(
    ("texts", "field", "words"),
    [
        ({"detection_limit": "1", "detection_limit_unit": "mg/kg"}, "detection_limit_unit", "the limit is given in mg/kg"),
        ({"detection_limit": "1", "limit_unit": "florins"}, "limit_unit", "'florins' is not listed"),
        (
            {"detection_limit": "1", "reporting_limit": "0.002", "reporting_limit_unit": "mg/L"},
            "detection_limit_unit",
            "the detection limit has no unit: that of the result (ug/L) or of the reporting limit (mg/L)?",
        ),
        (
            {
                "result": "7", "unit": "", "detection_limit": "1", "detection_limit_unit": "ug/L", "reporting_limit": "0.002",
                "reporting_limit_unit": "mg/L",
            },
            "unit",
            "no unit is given",
        ),
    ],
)  # fmt: skip
def test_a_limit_whose_unit_is_in_doubt_waits(office: Any, texts: dict[str, str], field: str, words: str) -> None:
    (item,) = limited(office, **texts)["held_back"]
    assert item["field"] == field and words in item["reason"]


def test_a_person_says_the_unit_of_one_limit(office: Any) -> None:
    (item,) = limited(office, detection_limit="1", reporting_limit="0.002", reporting_limit_unit="mg/L")["held_back"]
    assert item["proposal"] == "ug/L | mg/L"
    assert office.run("held", "accept", item["id"], "--as", "ug/L", "--by", "test", "--why", "asked").status == 0
    (found,) = office.run("results", "--site", "one").document["results"]
    assert (found["detection_limit"], found["reporting_limit"]) == ("1", "2")


def test_headings_of_limits_state_their_own_units(office: Any) -> None:
    office.plain_site()
    row = {
        "Sample ID": "S1", "Matrix": "Groundwater", "Compound": "Benzene", "Result (ug/L)": "ND", "RL (mg/L)": "0.002",
        "MDL (ng/L)": "400",
    }  # fmt: skip
    assert office.run("import", office.deliverable("a.csv", [row]), "--site", "one").status == 0
    (found,) = office.run("results", "--site", "one").document["results"]
    assert (found["reporting_limit"], found["detection_limit"], found["limit"]) == ("2", "0.4", "2")


DOWN = "Groundwater\nAnalyte,{head}\nBenzene,{benzene}\nToluene,{toluene}\nEthylbenzene,{toluene}\n"


@pytest.mark.parametrize(
    "text",
    [
        DOWN.format(head="Unit,RL (mg/L),MW-1,MW-2", benzene="ug/L,0.002,ND,5", toluene="ug/L,0.002,ND,7"),
        DOWN.format(head="MW-1,MW-1 RL (mg/L),MW-2,MW-2 RL (mg/L)", benzene="ND,0.002,5,0.002", toluene="ND,0.002,7,0.002"),
        "Groundwater\nSample,Benzene (ug/L),RL (mg/L),Toluene (ug/L),RL (mg/L)\nMW-1,ND,0.002,ND,0.002\nMW-2,5,0.002,7,0.002\n",
    ],
    ids=["one column", "a column a sample", "samples down"],
)
def test_limit_headings_of_a_crosstab_state_their_own_units(office: Any, text: str) -> None:
    office.plain_site()
    file = office.folder / "cross.csv"
    file.write_text(text, encoding="utf-8")
    more = () if "ug/L" in text else ("--set", "unit=ug/L")
    said = office.run("import", file, "--site", "one", *more)
    assert said.status == 0, (said.error, said.document)
    found = office.run("results", "--site", "one").document["results"]
    assert {item["reporting_limit"] for item in found} == {"2"} and len(found) >= 4
    assert {item["limit"] for item in found if not item["detected"]} == {"2"}


def test_a_store_without_the_new_columns_is_brought_up_and_reads_as_before(office: Any) -> None:
    office.plain_site()
    first = [{**ROW, "sampled_at": "2025-05-06", "reporting_limit": "1"}]
    office.run("import", office.deliverable("a.csv", first), "--site", "one")
    run = office.run("screen", "--site", "one").document["run"]
    new = ("reporting_limit_unit", "quantitation_limit_unit", "detection_limit_unit", "time_zone")
    with duckdb.connect(office.database) as store:
        for name in new:
            store.execute(f"ALTER TABLE delivered DROP COLUMN {name}")
        for name in ("sampled_at", "received_at", "prepared_at", "analysed_at"):
            store.execute(f"ALTER TABLE result DROP COLUMN {name}_known")
        store.execute("UPDATE about SET schema_version = 2")
    (old,) = office.run("results", "--site", "one").document["results"]
    assert old["sampled_at"] == "2025-05-06 00:00:00", "what the earlier version did not keep is not made up"
    assert office.run("screen", "--site", "one").status in (0, 3) and run
    second = [{**ROW, "sample_id": "S2", "sampled_at": "2025-05-07 10:00 EST", "reporting_limit": "1", "time_zone": "EST"}]
    assert office.run("import", office.deliverable("b.csv", second), "--site", "one").status == 0
    found = office.run("results", "--site", "one").document["results"]
    assert [item["sampled_at"] for item in found] == ["2025-05-06 00:00:00", "2025-05-07 10:00:00-05:00"]
    with duckdb.connect(office.database, read_only=True) as store:
        assert store.execute("SELECT max(schema_version) FROM about").fetchone() == (SCHEMA_VERSION,)
        kept = store.execute("SELECT sample_id, reporting_limit, time_zone FROM delivered ORDER BY row_id").fetchall()
    assert kept == [("S1", "1", ""), ("S2", "1", "EST")]
