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


@pytest.mark.parametrize(("field", "text", "value", "other"), [
    ("analyte", "Benzeen", "Benzene", "Toluene"),
    ("unit", "mgkg", "mg/kg", "ug/kg"),
    ("medium", "Dirtlike", "soil", "sediment"),
    ("sample_kind", "Regular one", "field", "field_duplicate"),
    ("fraction", "Everything", "total", "dissolved"),
])  # fmt: skip
def test_what_a_taught_word_would_change_is_told(office: Any, field: str, text: str, value: str, other: str) -> None:
    """Rows that wait, and rows settled before in another way; none of them is changed by the act."""
    office.plain_site()
    first = bring(office, "a.csv", "one", *({field: text, "sample_id": f"A-{number}"} for number in range(4)))
    ids = [row["id"] for row in first["held_back"]]
    assert accept(office, ids[0], "--as", other).status == 0
    assert office.run("held", "reject", ids[1], "--by", "R", "--why", "w").status == 0
    before = office.run("results", "--site", "one", "--all").document["results"]
    said = accept(office, ids[2], "--as", value)
    assert said.status == 0, said.error
    assert said.document["also_waiting"] == [ids[3]]
    assert [(row["row"], row["now"]) for row in said.document["read_otherwise"]] == [(2, f"accepted as {other}"), (3, "rejected")]
    assert "Settled before with the same text, stays as it is" in said.error
    after = office.run("results", "--site", "one", "--all").document["results"]
    assert [row for row in after if row in before] == before


def test_quality_control_kept_with_an_unread_name_is_told(office: Any) -> None:
    office.plain_site()
    first = bring(office, "a.csv", "one", {"analyte": "Benzeen"}, {"analyte": "Benzeen", "sample_kind": "method_blank"})
    said = accept(office, first["held_back"][0]["id"], "--as", "Benzene")
    assert [(row["row"], row["now"]) for row in said.document["read_otherwise"]] == [(3, "quality control, kept as delivered")]


class TestQualifierKey:
    """One key for each deliverable; the letters and their meanings are invented."""

    def test_a_letter_in_the_result_cell_is_taught_and_the_row_read_again(self, office: Any) -> None:
        office.plain_site()
        rows = [{"result": "5.2 Q"}, {"result": "0.3", "qualifiers": "Q", "sample_id": "A-2"}, {"result": "0.4 J", "sample_id": "A-3"},
                {"result": "9", "qualifiers": "Q", "sample_kind": "method_blank", "sample_id": "B"}]  # fmt: skip
        first = bring(office, "a.csv", "one", *rows)
        held = first["held_back"]
        assert [(row["field"], row["text"]) for row in held] == [("qualifiers", "Q")] * 2
        assert "accept it with its effect in the deliverable's own key" in held[0]["reason"]
        said = accept(office, held[0]["id"], "--as", "not_detected")
        assert said.status == 0, said.error
        assert said.document["also_waiting"] == [held[1]["id"]]
        assert [(row["row"], row["now"]) for row in said.document["read_otherwise"]] == [
            (5, "quality control, kept as delivered")
        ]
        one = office.run("results", "--site", "one").document["results"]
        found = {row["sample_id"]: (row["detected"], row["limit"], row["lab_qualifiers"], row["source"]["text"]) for row in one}
        assert found["A-1"] == (False, "5.2", "Q", "5.2 Q")
        assert accept(office, held[1]["id"]).status == 0  # the key knows the letter now
        again = {row["sample_id"]: row for row in office.run("results", "--site", "one").document["results"]}
        assert (again["A-2"]["detected"], again["A-2"]["limit"]) == (False, "0.3")

    def test_all_like_it_and_a_known_letter_as_the_meaning(self, office: Any) -> None:
        office.plain_site()
        rows = ({"result": f"0.{number} qx", "sample_id": f"A-{number}"} for number in range(1, 4))
        first = bring(office, "a.csv", "one", *rows)
        assert accept(office, first["held_back"][0]["id"], "--as", "J", "--all-like-it").status == 0
        found = office.run("results", "--site", "one").document["results"]
        assert [(row["lab_qualifiers"], row["detected"]) for row in found] == [("QX", True)] * 3

    def test_several_letters_are_told_apart(self, office: Any) -> None:
        office.plain_site()
        held = bring(office, "a.csv", "one", {"result": "5.2", "qualifiers": "Q, Z"})["held_back"][0]
        assert held["text"] == "Q, Z"
        assert "are several letters" in accept(office, held["id"], "--as", "estimated").error
        assert accept(office, held["id"], "--as", "Q=not_detected, Z=none").status == 0
        (row,) = office.run("results", "--site", "one").document["results"]
        assert (row["lab_qualifiers"], row["detected"]) == ("Q Z", False)

    @pytest.mark.parametrize(("words", "told"), [
        (["--as", "important"], "'important' is no effect; say one of blank, "),
        (["--as", "P9=none"], "'P9' does not stand in 'Q'"),
        ([], "what does Q mean in the deliverable's key? Say --as"),
        (["--as", "none", "--for-all-sites"], "each deliverable has its own key"),
    ])  # fmt: skip
    def test_what_explains_nothing_is_refused(self, office: Any, words: list[str], told: str) -> None:
        office.plain_site()
        held = bring(office, "a.csv", "one", {"result": "5.2 Q"})["held_back"][0]
        said = accept(office, held["id"], *words)
        assert said.status == 1
        assert told in said.error
        assert len(office.run("held", "list", "--site", "one").document["held"]) == 1

    def test_one_deliverable_has_one_key(self, office: Any) -> None:
        office.plain_site()
        held = bring(office, "a.csv", "one", {"result": "5 Q"}, {"result": "6 Q", "sample_id": "A-2"})["held_back"]
        assert accept(office, held[0]["id"], "--as", "estimated").status == 0
        said = accept(office, held[1]["id"], "--as", "not_detected")
        assert said.status == 1
        assert "'Q' means estimated in this deliverable" in said.error

    def test_the_next_deliverable_is_asked_again_with_a_proposal(self, office: Any) -> None:
        office.plain_site()
        held = bring(office, "a.csv", "one", {"result": "5 Q"})["held_back"][0]
        assert accept(office, held["id"], "--as", "estimated").status == 0
        other = bring(office, "b.csv", "one", {"result": "6 Q", "sample_id": "A-2"})["held_back"][0]
        assert other["proposal"] == "estimated"
        assert "accepted as estimated in a.csv: is the key the same?" in other["reason"]
        assert accept(office, other["id"]).status == 0

    def test_a_second_question_about_the_row_keeps_the_key(self, office: Any) -> None:
        office.plain_site()
        held = bring(office, "a.csv", "one", {"analyte": "Benzeen", "result": "5 Q"})["held_back"][0]
        said = accept(office, held["id"], "--as", "Benzene")
        (further,) = said.document["further"]
        assert (further["field"], further["text"]) == ("qualifiers", "Q")
        assert accept(office, further["id"], "--as", "not_detected").status == 0
        assert [row["limit"] for row in office.run("results", "--site", "one").document["results"]] == ["5"]
