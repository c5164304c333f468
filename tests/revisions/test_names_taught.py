"""What an accepted row teaches: the site's list, the list for all sites, and which waiting rows it would change."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

ROW = {"sample_id": "A-1", "medium": "soil", "analyte": "Benzene", "result": "0.1", "unit": "mg/kg", "basis": "dry"}


def bring(office: Any, name: str, site: str, *rows: dict[str, str]) -> Any:
    path = Path(office.deliverable(name, [{**ROW, **row} for row in rows]))
    said = office.run("import", path, "--site", site)
    assert said.status in (0, 3), said.error
    return said.document["deliverables"][0]


def accept(office: Any, identity: str, *words: str) -> Any:
    return office.run("held", "accept", identity, "--by", "R. Lind", "--why", "laboratory asked", *words)


@pytest.mark.parametrize(("field", "text", "value"), [
    ("analyte", "Benzeen", "Benzene"),
    ("unit", "mgkg", "mg/kg"),
    ("medium", "Dirtlike", "soil"),
    ("sample_kind", "Regular one", "field"),
    ("qualifiers", "QX", "J"),
])  # fmt: skip
def test_an_accepted_word_is_read_at_the_next_import(office: Any, field: str, text: str, value: str) -> None:
    office.plain_site()
    first = bring(office, "a.csv", "one", {field: text})
    assert [(row["field"], row["text"]) for row in first["held_back"]] == [(field, text)]
    said = accept(office, first["held_back"][0]["id"], "--as", value)
    assert said.status == 0, said.error
    second = bring(office, "b.csv", "one", {field: text, "sample_id": "A-2"})
    assert second["rows"]["results"] == 1
    if field != "analyte":
        assert f"{field} '{text}' is read as '{value}', as accepted before" in second["assumptions"]


def test_rows_that_wait_with_the_same_text_are_named(office: Any) -> None:
    office.plain_site()
    first = bring(office, "a.csv", "one", {"analyte": "Benzeen"}, {"analyte": "benzeen", "sample_id": "A-2"})
    second = bring(office, "b.csv", "one", {"analyte": "Benzeen", "sample_id": "A-3"}, {"analyte": "Tolueen", "sample_id": "A-3"})
    said = accept(office, first["held_back"][0]["id"], "--as", "Benzene")
    assert said.document["also_waiting"] == [first["held_back"][1]["id"], second["held_back"][0]["id"]]


def test_for_all_sites(office: Any) -> None:
    office.plain_site("one")
    office.plain_site("two")
    waits = bring(office, "b.csv", "two", {"unit": "mgkg", "sample_id": "B-1"})["held_back"][0]["id"]
    held = bring(office, "a.csv", "one", {"unit": "mgkg"})["held_back"][0]["id"]
    said = accept(office, held, "--as", "mg/kg", "--for-all-sites")
    assert said.document["also_waiting"] == [waits]
    assert bring(office, "c.csv", "two", {"unit": "mgkg", "sample_id": "B-2"})["rows"]["results"] == 1


def test_what_one_site_learned_holds_for_no_other(office: Any) -> None:
    office.plain_site("one")
    office.plain_site("two")
    held = bring(office, "a.csv", "one", {"analyte": "Benzeen"})["held_back"][0]["id"]
    accept(office, held, "--as", "Benzene")
    assert bring(office, "b.csv", "two", {"analyte": "Benzeen"})["rows"]["held_back"] == 1


def test_a_site_s_own_word_wins_over_the_one_for_all(office: Any) -> None:
    office.plain_site("one")
    office.plain_site("two")
    held = bring(office, "a.csv", "two", {"unit": "mgkg"})["held_back"][0]["id"]
    accept(office, held, "--as", "ug/kg")
    held = bring(office, "b.csv", "one", {"unit": "mgkg"})["held_back"][0]["id"]
    accept(office, held, "--as", "mg/kg", "--for-all-sites")
    bring(office, "c.csv", "two", {"unit": "mgkg", "sample_id": "A-9"})
    found = office.run("results", "--site", "two").document["results"]
    assert {item["value"].rstrip("0") for item in found} == {"0.0001"}


@pytest.mark.parametrize(("field", "text", "value"), [
    ("unit", "", "mg/kg"), ("medium", "water", "groundwater"), ("result", "see page 2", "5.2"),
])  # fmt: skip
def test_blank_and_ambiguous_texts_teach_nothing(office: Any, field: str, text: str, value: str) -> None:
    office.plain_site()
    more = {"unit": "ug/L", "basis": ""} if field == "medium" else {}
    held = bring(office, "a.csv", "one", {**more, field: text})["held_back"][0]
    assert held["field"] == field
    assert accept(office, held["id"], "--as", value, "--for-all-sites").status == 1
    assert accept(office, held["id"], "--as", value).status == 0
    assert bring(office, "b.csv", "one", {**more, field: text, "sample_id": "A-2"})["rows"]["held_back"] == 1


def test_all_like_it_takes_the_same_text_in_the_same_file_only(office: Any) -> None:
    office.plain_site()
    rows = [{"analyte": "Benzeen", "sample_id": f"A-{number}"} for number in range(5)]
    first = bring(office, "a.csv", "one", *rows, {"analyte": "Tolueen", "sample_id": "A-1"})
    bring(office, "b.csv", "one", {"analyte": "Benzeen", "sample_id": "B-1"})
    said = accept(office, first["held_back"][0]["id"], "--as", "Benzene", "--all-like-it")
    assert len(said.document["held"]) == 5
    left = office.run("held", "list", "--site", "one").document["held"]
    assert [row["text"] for row in left] == ["Tolueen", "Benzeen"]
    assert len(office.run("results", "--site", "one").document["results"]) == 5


def test_a_row_alike_that_the_text_does_not_settle_goes_on_waiting(office: Any) -> None:
    """The CAS number of the second row is toluene's: it is no benzene."""
    office.plain_site()
    first = bring(
        office, "a.csv", "one", {"analyte": "Benzeen", "cas": ""}, {"analyte": "Benzeen", "cas": "108-88-3", "sample_id": "A-2"}
    )
    ids = [row["id"] for row in first["held_back"] if row["field"] == "analyte"]
    said = accept(office, ids[0], "--as", "Benzene", "--all-like-it")
    assert said.status == 0, said.error
    waits = {row["id"].partition(".")[0] for row in office.run("held", "list", "--site", "one").document["held"]}
    assert waits == {row["id"] for row in first["held_back"]} - {ids[0]}


def test_a_held_row_is_read_again_with_the_file_s_order_of_dates(office: Any) -> None:
    """13/05/2025 in another row settles day before month for the whole file, also for a row read again later."""
    office.plain_site()
    first = bring(
        office,
        "a.csv",
        "one",
        {"sampled_at": "13/05/2025"},
        {"sampled_at": "04/05/2025", "analyte": "Tolueen", "sample_id": "A-2"},
    )
    said = accept(office, first["held_back"][0]["id"], "--as", "Toluene")
    assert said.document["further"] == []
    found = office.run("results", "--site", "one").document["results"]
    assert [item["sampled_at"][:10] for item in found if item["analyte"] == "Toluene"] == ["2025-05-04"]
