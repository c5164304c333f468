"""Custody records as files and in the site file: read, kept, replaced, refused."""

from __future__ import annotations

import datetime as dt
from typing import Any

import openpyxl
import pytest

from screening.store.database import opened
from screening.vocabulary.analysis_groups import answered_by, asked_for, groups, split_analyses
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.sample_names import near_names

SOIL = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "result": "<0.0010"}


def counts(office: Any) -> dict[str, int]:
    return dict(office.run("custody", "match", "--site", "one").document["match"]["counts"])


def test_the_same_file_again_changes_nothing(office: Any) -> None:
    office.plain_site()
    record = office.deliverable("custody.csv", [{"Sample": "A-1", "Analyses": "VOC"}])
    first = office.run("custody", "add", record, "--site", "one").document["custody"]
    again = office.run("custody", "add", record, "--site", "one").document["custody"]
    assert (first["status"], again["status"]) == ("added", "already_added")
    assert first["id"] == again["id"]
    with opened(office.database) as connection:
        assert connection.execute("SELECT count(*) FROM custody_line").fetchone() == (1,)


def test_a_workbook_with_one_row_a_sample_and_analysis_below_title_rows(office: Any) -> None:
    office.plain_site()
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    for cells in (["Custody record"], [], ["Sample ID", "Date collected", "Analysis"],
                  ["A-1", dt.date(2025, 5, 6), "VOC"], ["A-1", dt.date(2025, 5, 6), "Lead"], [],
                  ["A-2", dt.date(2025, 5, 6), "TPH-GRO/DRO; 8270"]):  # fmt: skip
        page.append(cells)
    path = office.folder / "custody.xlsx"
    book.save(path)
    said = office.run("custody", "add", path, "--site", "one")
    assert said.status == 0, said.error
    missing = office.run("custody", "match", "--site", "one").document["match"]["missing"]
    assert [(item["sample"], item["analysis"]) for item in missing] == [
        ("A-1", "VOC"), ("A-1", "Lead"), ("A-2", "GRO"), ("A-2", "DRO"), ("A-2", "SVOC"),
    ]  # fmt: skip


def test_a_record_in_the_site_file_counts_like_a_file(office: Any) -> None:
    office.plain_site(more='[[custody]]\nsample = "A-1"\nanalyses = ["VOC", "PAH"]\ncollected = 2025-05-06\n')
    office.run("import", office.deliverable("a.csv", [{"sample_id": "A-1", "analyte": "Benzene", **SOIL}]), "--site", "one")
    assert counts(office) == {"asked": 2, "delivered": 1, "waiting": 0, "missing": 1, "unasked": 0}
    answer = office.run("screen", "--site", "one").document
    assert answer["recommendation"]["status"] == "undetermined"


def test_without_any_custody_record_only_names_near_the_plan_are_held(office: Any) -> None:
    office.plain_site(more='[[location]]\nid = "A-1"\n')
    rows = [{"sample_id": name, "analyte": "Benzene", **SOIL} for name in ("A1", "B-7")]
    said = office.run("import", office.deliverable("a.csv", rows), "--site", "one")
    (held,) = said.document["deliverables"][0]["held_back"]
    assert (held["text"], held["proposal"]) == ("A1", "A-1")
    match = office.run("custody", "match", "--site", "one").document["match"]
    assert match["near_names"] == [{"delivered": "A1", "proposed": "A-1"}]
    assert match["on_neither"] == ["B-7"]


def test_a_location_on_the_plan_settles_a_sample_with_a_number_of_its_own(office: Any) -> None:
    office.plain_site(more='[[location]]\nid = "A-1"\n[[custody]]\nsample = "A-1"\nanalyses = ["VOC"]\n')
    rows = [{"sample_id": "2505-113", "location": "A-1", "analyte": "Benzene", **SOIL}]
    assert office.run("import", office.deliverable("a.csv", rows), "--site", "one").status == 0
    assert counts(office)["delivered"] == 1


def test_a_corrected_record_replaces_the_first(office: Any) -> None:
    office.plain_site()
    first = office.deliverable("one.csv", [{"Sample": "A-1", "Analyses": "VOC, PAH"}])
    second = office.deliverable("two.csv", [{"Sample": "A-1", "Analyses": "VOC"}])
    identity = office.run("custody", "add", first, "--site", "one").document["custody"]["id"]
    assert office.run("custody", "add", second, "--site", "one", "--replaces", "c0").status == 1
    assert office.run("custody", "add", second, "--site", "one", "--replaces", identity).status == 0
    assert counts(office)["asked"] == 1


def test_a_record_known_later_does_not_change_what_was_known(office: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    rows = [{"sample_id": "A-1", "analyte": "Benzene", **SOIL}]
    office.run("import", office.deliverable("a.csv", rows), "--site", "one", "--received", "2025-05-10")
    before = office.run("screen", "--site", "one", "--data-on", "2025-05-20", "--levels-on", "2025-06-01").document
    record = office.deliverable("custody.csv", [{"Sample": "A-1", "Analyses": "VOC, PAH"}])
    office.run("custody", "add", record, "--site", "one", "--received", "2025-06-01")
    again = office.run("screen", "--site", "one", "--data-on", "2025-05-20", "--levels-on", "2025-06-01").document
    assert again == before
    assert before["recommendation"]["status"] == "not_triggered"
    after = office.run("screen", "--site", "one", "--levels-on", "2025-06-01").document
    assert after["recommendation"]["status"] == "undetermined"
    assert office.run("runs", "show", before["run"]).document["stale"] is True


@pytest.mark.parametrize(("rows", "words"), [
    ([{"Sample": "A-1", "Depth": "3"}], "it needs the headings 'sample' and 'analyses'"),
    ([{"Sample": "A-1", "Analyses": "VOC"}, {"Sample": "A-2", "Analyses": ""}], "row 3: no analysis is named"),
    ([{"Sample": "", "Analyses": "VOC"}], "row 2: no sample is named"),
])  # fmt: skip
def test_what_is_no_custody_record_is_refused(office: Any, rows: list[dict[str, str]], words: str) -> None:
    office.plain_site()
    said = office.run("custody", "add", office.deliverable("custody.csv", rows), "--site", "one")
    assert said.status == 1
    assert words in said.error


def test_an_analysis_in_no_list_is_told_and_met_by_its_method(office: Any) -> None:
    office.plain_site()
    said = office.run(
        "custody", "add", office.deliverable("custody.csv", [{"Sample": "A-1", "Analyses": "Zq-17"}]), "--site", "one"
    )
    assert said.status == 3
    assert said.document["custody"]["unlisted"] == ["Zq-17"]
    assert counts(office)["missing"] == 1
    rows = [{"sample_id": "A-1", "analyte": "Benzene", "method": "zq-17 mod", **SOIL}]
    office.run("import", office.deliverable("a.csv", rows), "--site", "one")
    assert counts(office) == {"asked": 1, "delivered": 1, "waiting": 0, "missing": 0, "unasked": 0}


def test_a_row_with_two_faults_is_asked_about_one_after_the_other(office: Any) -> None:
    """A near name and an unknown analyte: neither answer lets the other question slip."""
    office.plain_site(more='[[custody]]\nsample = "EL-7"\nanalyses = ["VOC"]\n')
    rows = [{"sample_id": "EL7", "analyte": "Benzeen", **SOIL}]
    row = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]["held_back"][0]
    assert row["field"] == "analyte"
    said = office.run("held", "accept", row["id"], "--by", "R", "--why", "w", "--as", "Benzene")
    further = said.document["further"][0]
    assert (further["field"], further["proposal"]) == ("sample_id", "EL-7")
    assert office.run("results", "--site", "one").document["results"] == []
    assert counts(office)["waiting"] == 1
    assert office.run("held", "accept", further["id"], "--by", "R", "--why", "w").status == 0
    found = office.run("results", "--site", "one").document["results"]
    assert [(item["sample_id"], item["location"], item["analyte"]) for item in found] == [("EL-7", "EL-7", "Benzene")]
    assert counts(office)["delivered"] == 1


def test_at_10_the_custody_record_proposes_the_date_and_a_person_decides(office: Any) -> None:
    """AT-10, import part: 03/04/2025 has two readings, 36 and 6 days before analysis; the second is proposed."""
    office.plain_site(more='[[custody]]\nsample = "GA-W2"\nanalyses = ["VOC"]\ncollected = 2025-04-03\n')
    rows = [
        {"sample_id": "GA-W2", "medium": "groundwater", "analyte": "Benzene", "result": "<0.40", "unit": "ug/L",
         "sampled_at": "03/04/2025", "received_at": "2025-04-05", "analysed_at": "2025-04-09"}
    ]  # fmt: skip
    row = office.run("import", office.deliverable("a.csv", rows), "--site", "one").document["deliverables"][0]["held_back"][0]
    assert (row["field"], row["proposal"]) == ("sampled_at", "2025-04-03")
    for words in (
        "2025-03-04 (36 days before analysis)",
        "2025-04-03 (6 days before analysis)",
        "custody record says 2025-04-03",
    ):
        assert words in row["reason"]
    assert office.run("results", "--site", "one").document["results"] == []
    assert office.run("held", "accept", row["id"], "--by", "R", "--why", "custody record").status == 0
    assert office.run("results", "--site", "one").document["results"][0]["sampled_at"].startswith("2025-04-03")


def test_a_store_of_an_earlier_version_is_brought_up(office: Any) -> None:
    office.plain_site()
    with opened(office.database) as connection:
        for table in ("custody", "custody_line"):
            connection.execute(f"DROP TABLE {table}")
        connection.execute("ALTER TABLE held DROP COLUMN decision")
        connection.execute("UPDATE about SET schema_version = 1")
    record = office.deliverable("custody.csv", [{"Sample": "A-1", "Analyses": "VOC"}])
    assert office.run("custody", "add", record, "--site", "one").status == 0


def test_every_listed_analyte_of_a_group_is_an_analyte() -> None:
    known = {analyte.name for analyte in Vocabulary.load()}
    for group in groups().values():
        assert group.analytes <= known, group.name
        assert not group.part_of or group.part_of in groups()


@pytest.mark.parametrize(("text", "meant"), [
    ("VOCs by EPA 8260D", ("VOC",)), ("PAH (8270)", ("PAH",)), ("8270E", ("SVOC",)), ("TPH-GRO", ("GRO",)),
    ("BTEX/MTBE", ("BTEX", "Methyl tert-butyl ether")), ("RCRA 8 metals", ("RCRA metals",)), ("something else", ()),
])  # fmt: skip
def test_what_an_asked_analysis_means(text: str, meant: tuple[str, ...]) -> None:
    assert asked_for(text) == meant


def test_a_method_settles_where_an_analyte_is_measured_in_two_analyses() -> None:
    assert len(answered_by("Naphthalene", "")) == 2
    assert answered_by("Naphthalene", "EPA 8270E") == (frozenset({"SVOC", "PAH"}),)
    assert answered_by("Benzene", "anything") == (frozenset({"VOC", "BTEX"}),)


def test_commas_within_a_name_do_not_part_analyses() -> None:
    assert split_analyses("VOC, 1,2-dichloroethane;8260,8270") == ["VOC", "1,2-dichloroethane", "8260", "8270"]


@pytest.mark.parametrize(("name", "known", "near"), [
    ("EL7", ["EL-7", "EL-8"], ["EL-7"]),
    ("el 07", ["EL-7"], ["EL-7"]),
    ("EL-9", ["EL-7", "EL-8"], []),
    ("EL-17", ["EL-7"], []),
    ("GMW-1", ["MW-1", "MW-2"], ["MW-1"]),
    ("EL-7", ["EL-7"], []),
    ("MW-O7", ["MW-07"], ["MW-07"]),
    ("MW-1O", ["MW-10"], ["MW-10"]),
    ("MW-l", ["MW-1", "MW-2"], ["MW-1"]),
    ("B-1-5", ["B-15"], []),
    ("TV-T3-E", ["TV-T3-W"], []),
    ("POND-1", ["P0ND-1"], ["P0ND-1"]),
])  # fmt: skip
def test_near_names_have_the_same_numbers(name: str, known: list[str], near: list[str]) -> None:
    assert near_names(name, known) == near
