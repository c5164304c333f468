"""`import --screen`: the answer that `screen` gives afterwards, or the rows alone and why there is none."""

from typing import Any

from tests.conftest import Office


def test_the_answer_is_that_of_screen(office: Office, soil: Any) -> None:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    said = office.run("import", office.deliverable("a.csv", [soil("S-1", "99")]), "--site", "one", "--screen")
    assert said.status == 3
    assert [one["rows"]["results"] for one in said.document["deliverables"]] == [1]
    assert said.document["screen"] == office.run("screen", "--site", "one").document
    assert said.document["screen"]["recommendation"]["status"] == "triggered"
    assert "CORRECTIVE ACTION IS INDICATED" in said.error


def test_where_it_cannot_be_screened_the_rows_are_in(office: Office, soil: Any) -> None:
    office.site('[site]\nid = "one"\nname = "one"\nplace = "us-oh"\n')
    said = office.run("import", office.deliverable("a.csv", [soil("S-1", "99")]), "--site", "one", "--screen")
    assert said.status == 3 and "screen" not in said.document
    assert said.document["not_screened"] == office.run("screen", "--site", "one").error.removeprefix("screening: ").strip()
    assert "not screened: " in said.error
    assert len(office.stored()) == 1


def test_a_file_refused_leaves_the_site_unscreened(office: Office, soil: Any) -> None:
    office.plain_site()
    rubbish = office.folder / "b.csv"
    rubbish.write_text("nothing\n", encoding="utf-8")
    said = office.run("import", office.deliverable("a.csv", [soil("S-1", "99")]), rubbish, "--site", "one", "--screen")
    assert said.status == 1 and set(said.document) == {"deliverables"}
    assert office.run("runs", "list").document["runs"] == []


def test_nothing_stored_cannot_be_screened(office: Office, soil: Any) -> None:
    office.plain_site()
    file = office.deliverable("a.csv", [soil("S-1", "99")])
    assert office.run("import", file, "--site", "one", "--preview", "--screen").status == 2
