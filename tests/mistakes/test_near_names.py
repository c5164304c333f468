"""M34: names that are nearly a known name are asked about, whenever that name became known; all data are invented."""

from __future__ import annotations

from typing import Any

import pytest

PLAN = '[conditions]\nsoil_class = "1"\n[[location]]\nid = "EL-7"\n[[location]]\nid = "EL-8"\n'


def _import(office: Any, name: str, soil: Any, samples: list[str], *words: str, **more: str) -> dict[str, Any]:
    path = office.deliverable(name, [soil("Benzene", "0.1", sample_id=sample, **more) for sample in samples])
    said = office.run("import", path, "--site", "one", *words)
    assert said.status in (0, 3), said.error
    return dict(said.document["deliverables"][0])


def _screen(office: Any, *words: str) -> dict[str, Any]:
    return dict(office.run("screen", "--site", "one", "--levels-on", "2025-06-01", *words).document)


@pytest.mark.parametrize("name", ["EL7", "el-7", "EL 07"])
def test_m34_a_name_near_the_plan_is_held_without_a_custody_record(office: Any, soil: Any, name: str) -> None:
    office.plain_site(more=PLAN)
    done = _import(office, "lab.csv", soil, [name, "EL-8", "BG-1"])
    assert [(item["text"], item["proposal"]) for item in done["held_back"]] == [(name, "EL-7")]
    assert done["held_back"][0]["reason"] == f"sample '{name}' is written almost like 'EL-7' (planned): one name or two?"
    answer = _screen(office)
    assert {item["sample_id"] for item in answer["outcomes"]} == {"EL-8", "BG-1"}
    assert answer["recommendation"]["status"] == "undetermined"


def test_m34_a_letter_o_for_a_nought_and_an_earlier_deliverable(office: Any, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    assert _import(office, "a.csv", soil, ["MW-10", "MW-11"])["held_back"] == []
    (held,) = _import(office, "b.csv", soil, ["MW-1O", "MW-12", "MW-11"], "--adds", method="later")["held_back"]
    assert (held["text"], held["proposal"]) == ("MW-1O", "MW-10")
    assert "(delivered before)" in held["reason"]


def test_m34_two_spellings_in_one_file(office: Any, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    (held,) = _import(office, "a.csv", soil, ["TP-1E", "TP-2E", "TP1E"])["held_back"]
    assert (held["text"], held["proposal"]) == ("TP1E", "TP-1E")
    assert "(in this file)" in held["reason"]


def test_m34_a_person_may_say_that_two_names_are_two(office: Any, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    (held,) = _import(office, "a.csv", soil, ["TP-1E", "TP1E"])["held_back"]
    assert office.run("held", "accept", held["id"], "--by", "R", "--why", "two pits", "--as", "TP1E").status == 0
    assert {item["sample_id"] for item in _screen(office)["outcomes"]} == {"TP-1E", "TP1E"}
    assert _import(office, "b.csv", soil, ["TP1E", "TP-1E"], "--adds", method="later")["held_back"] == []


def test_m34_a_revision_may_correct_the_name_that_it_replaces(office: Any, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    first = _import(office, "a.csv", soil, ["TP1E"])["id"]
    assert _import(office, "b.csv", soil, ["TP-1E"], "--replaces", first)["held_back"] == []


@pytest.fixture
def early(office: Any, soil: Any) -> Any:
    """EL7 and EL-8 taken over on 10 May; the custody record that names EL-7 and EL-8 came on 1 June."""
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    path = office.deliverable("lab.csv", [soil("Benzene", "0.1", sample_id=name) for name in ("EL7", "EL-8")])
    said = office.run("import", path, "--site", "one", "--received", "2025-05-10")
    assert said.document["deliverables"][0]["held_back"] == []
    before = _screen(office)
    assert before["recommendation"]["status"] == "not_triggered"
    record = office.deliverable("record.csv", [{"Sample": name, "Analyses": "VOC"} for name in ("EL-7", "EL-8")])
    assert office.run("custody", "add", record, "--site", "one", "--received", "2025-06-01").status == 0
    return before


def _listed(office: Any, *words: str) -> list[str]:
    """The samples of the results that `results` lists."""
    return [item["sample_id"] for item in office.run("results", "--site", "one", *words).document["results"]]


def test_m34_a_near_name_taken_before_the_record_came_waits_and_is_not_screened(office: Any, early: Any) -> None:
    answer = _screen(office)
    assert {item["sample_id"] for item in answer["outcomes"]} == {"EL-8"}
    (row,) = answer["held_back"]
    assert (row["sample_id"], row["file"], row["row"]) == ("EL7", "lab.csv", 2)
    assert "it may be EL-7 (taken over before that was known)" in row["reason"]
    assert answer["recommendation"]["status"] == "undetermined"
    (held,) = office.run("held", "list", "--site", "one").document["held"]
    assert (held["id"], held["text"], held["proposal"]) == (row["id"], "EL7", "EL-7")
    assert _listed(office) == ["EL-8"] and _listed(office, "--all") == ["EL-8"]
    assert _listed(office, "--data-on", "2025-05-20") == ["EL-8", "EL7"]
    match = office.run("custody", "match", "--site", "one").document["match"]
    assert match["counts"] == {"asked": 2, "delivered": 1, "waiting": 1, "missing": 0, "unasked": 0}
    assert match["near_names"] == [{"delivered": "EL7", "proposed": "EL-7"}]


def test_m34_accepted_it_counts_under_its_right_name_and_older_runs_stay(office: Any, early: Any) -> None:
    (held,) = office.run("held", "list", "--site", "one").document["held"]
    waiting = _screen(office)
    said = office.run("held", "accept", held["id"], "--by", "R", "--why", "field notes", "--all-like-it")
    assert said.status == 0, said.error
    assert office.run("held", "list", "--site", "one").document["held"] == []
    answer = _screen(office)
    assert {item["sample_id"] for item in answer["outcomes"]} == {"EL-7", "EL-8"}
    assert answer["recommendation"]["status"] == "not_triggered"
    assert _listed(office) == ["EL-7", "EL-8"]
    for run in (early, waiting, answer):
        assert office.run("runs", "reproduce", run["run"]).document["identical"] is True
    again = _screen(office, "--data-on", "2025-05-20")
    assert {item["sample_id"] for item in again["outcomes"]} == {"EL7", "EL-8"}


def test_m34_rejected_it_stays_out(office: Any, early: Any) -> None:
    (held,) = office.run("held", "list", "--site", "one").document["held"]
    assert office.run("held", "reject", held["id"], "--by", "R", "--why", "another site's").status == 0
    answer = _screen(office)
    assert ({item["sample_id"] for item in answer["outcomes"]}, answer["held_back"]) == ({"EL-8"}, [])
    assert answer["recommendation"]["status"] == "undetermined"


def test_m34_a_plan_that_comes_later_asks_too(office: Any, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    _import(office, "lab.csv", soil, ["EL7", "EL-8"])
    office.plain_site(more=PLAN)
    answer = _screen(office)
    assert {item["sample_id"] for item in answer["outcomes"]} == {"EL-8"}
    assert "'EL7' is written almost like 'EL-7' (planned)" in answer["held_back"][0]["reason"]


def test_m34_a_duplicate_is_known_by_its_parent(office: Any, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    rows = [soil("Benzene", "0.1", sample_id="TP-22-W"),
            soil("Benzene", "0.2", sample_id="TP-22-WD", sample_kind="field_duplicate", parent_sample="TP-22-W")]  # fmt: skip
    office.run("import", office.deliverable("lab.csv", rows), "--site", "one")
    record = office.deliverable("record.csv", [{"Sample": "TP-22-W", "Analyses": "VOC"}])
    office.run("custody", "add", record, "--site", "one")
    assert _screen(office)["held_back"] == []
    again = [{**row, "method": "later"} for row in rows]
    said = office.run("import", office.deliverable("again.csv", again), "--site", "one", "--adds")
    assert said.document["deliverables"][0]["held_back"] == []
