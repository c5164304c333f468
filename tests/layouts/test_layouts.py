"""Layouts: saved, found by name, written and read back, previewed; the worked example of README does what it says."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from screening.deliverable.layout import Layout, built_in_layouts, parse_layout, write_layout
from screening.errors import Refused

README = Path(__file__).resolve().parents[2] / "README.md"
ROWS = [
    {"Sample": "B-1", "Compound": "Benzene", "Result": "0.31", "Units": "mg/kg", "Matrix": "Soil", "Basis": "dry"},
    {"Sample": "B-2", "Compound": "Toluene", "Result": "<0.005", "Units": "mg/kg", "Matrix": "Soil", "Basis": "dry"},
]


def test_the_worked_example_of_the_readme(office: Any) -> None:
    example = re.search(r"```toml\n(title = \"Laboratory Example.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert example is not None
    layout = office.folder / "my-lab.toml"
    layout.write_text(example[1], encoding="utf-8")
    file = office.folder / "bericht.csv"
    file.write_text("Probe;Stoff;Wert;Kz.\nB-1;Benzol;0,31;\nB-2;Benzol;0,005;N\n", encoding="utf-8")
    office.plain_site()
    assert office.run("import", file, "--site", "one", "--layout", layout).status == 0
    rows = office.run("results", "--site", "one").document["results"]
    read = [(row["sample_id"], row["analyte"], row["detected"], row["value"], row["limit"], row["basis"]) for row in rows]
    assert read == [("B-1", "Benzene", True, "0.31", None, "dry"), ("B-2", "Benzene", False, None, "0.005", "dry")]


@pytest.mark.parametrize("layout", built_in_layouts(), ids=lambda layout: layout.name)
def test_written_and_read_back_a_layout_is_the_same(layout: Layout) -> None:
    again = parse_layout(write_layout(layout), layout.name, "test")
    assert again == layout


def test_odd_texts_survive_the_writing() -> None:
    layout = Layout(
        "odd", columns={"result": ('Value "shown"\\', "Flag\tof")}, fixed={"unit": "µg/L"}, values={"analyte": {"a.b c": "Benzene"}},
        decimal=",", date_order="dmy", dilution_included=False, blank=("NA", "-"), ignore={"State": {"void": "no result"}},
    )  # fmt: skip
    assert parse_layout(write_layout(layout), "odd", "test") == layout


def test_a_layout_found_by_reading_is_saved_by_name_and_used_again(office: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SCREENING_LAYOUTS", str(office.folder / "mine"))
    office.plain_site()
    first = office.deliverable("first.csv", ROWS)
    said = office.run("import", first, "--site", "one", "--save-layout", "north-lab").document["deliverables"][0]
    assert said["layout"] == "found by reading"
    assert (office.folder / "mine" / "north-lab.toml").is_file()
    second = office.deliverable("second.csv", [{**row, "Sample": row["Sample"] + "0"} for row in ROWS])
    again = office.run("import", second, "--site", "one", "--layout", "north-lab").document["deliverables"][0]
    assert (again["layout"], again["rows"]["results"]) == ("north-lab", 2)


def test_a_preview_shows_the_evidence_and_stores_nothing(office: Any) -> None:
    office.plain_site()
    said = office.run("import", office.deliverable("first.csv", ROWS), "--site", "one", "--preview")
    document = said.document["deliverables"][0]
    assert document["status"] == "preview"
    evidence = {column["field"]: (column["headings"], column["texts"], column["read_percent"]) for column in document["columns"]}
    assert evidence["analyte"] == (["Compound"], 2, "100")
    assert document["preview"][0]["texts"]["result"] == "0.31"
    assert "becomes" in said.error
    assert office.run("results", "--site", "one", "--all").document["results"] == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[columns]\nanalite = 'x'\n", ["[columns] analite", "fields are"]),
        ("[colums]\n", ["'colums'", "known are"]),
        ("[numbers]\ndecimel = ','\n", ["[numbers] decimel", "known are decimal"]),
        ("columns = \n", ["is not a layout"]),
    ],
)
def test_a_broken_layout_is_told_by_its_key(text: str, words: list[str]) -> None:
    with pytest.raises(Refused) as told:
        parse_layout(text, "broken", "broken.toml")
    assert all(word in str(told.value) for word in ["broken.toml", *words])


def test_a_known_file_is_known_however_it_would_be_read(office: Any) -> None:
    office.plain_site()
    rows = [{"Probe": "B-1", "Stoff": "Benzene", "Wert": "0.31"}]
    layout = office.folder / "own.toml"
    layout.write_text(
        '[columns]\nsample_id = "Probe"\nanalyte = "Stoff"\nresult = "Wert"\n[fixed]\nunit = "mg/kg"\nmedium = "soil"\nbasis = "dry"\n',
        encoding="utf-8",
    )
    file = office.deliverable("own.csv", rows)
    first = office.run("import", file, "--site", "one", "--layout", layout).document["deliverables"][0]
    again = office.run("import", file, "--site", "one")
    assert again.status == 0
    document = again.document["deliverables"][0]
    assert (document["id"], document["status"], document["rows"]) == (first["id"], "already_imported", first["rows"])


@pytest.mark.parametrize(("said", "limit"), [("", "0.005"), ("[limits]\ndilution_included = false\n", "0.250")])
def test_a_dilution_enters_the_limits_only_where_the_layout_says_that_it_is_missing(office: Any, said: str, limit: str) -> None:
    office.plain_site()
    layout = office.folder / "own.toml"
    layout.write_text(
        '[columns]\nsample_id = "S"\nanalyte = "A"\nresult = "R"\nreporting_limit = "RL"\ndilution = "D"\n'
        f'[fixed]\nunit = "mg/kg"\nmedium = "soil"\nbasis = "dry"\n{said}',
        encoding="utf-8",
    )
    rows = [
        {"S": "B-1", "A": "Benzene", "R": "ND", "RL": "0.005", "D": "50"},
        {"S": "B-2", "A": "Benzene", "R": "<0.4", "RL": "", "D": "50"},
    ]
    office.run("import", office.deliverable("own.csv", rows), "--site", "one", "--layout", layout)
    found = office.run("results", "--site", "one").document["results"]
    assert [row["limit"] for row in found] == [limit, "0.4"]
