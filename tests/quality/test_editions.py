"""Review editions: chosen like a level table, refused where broken, part of the run, kept with it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from screening.errors import Refused
from screening.quality.editions import DEFAULT, FILES, Edition, read_edition

STANDARDS = Path(__file__).resolve().parents[2] / "standards"
ROW = {
    "sample_id": "W",
    "medium": "groundwater",
    "analyte": "Benzene",
    "result": "<0.4",
    "unit": "ug/L",
    "sampled_at": "2025-05-01",
    "analysed_at": "2025-05-16",
}


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A copy of the shipped edition, to be changed."""
    return Path(shutil.copytree(STANDARDS / "review" / DEFAULT, tmp_path / "house-rules"))


def change(file: Path, old: str, new: str) -> None:
    file = file if file.suffix == ".toml" else file.parent / "criteria" / file.name
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_every_criterion_says_where_it_was_seen(edition: Edition) -> None:
    rows = [rule for file in FILES for rule in edition.files[file]]
    assert len(rows) > 80
    for rule in rows:
        assert rule.basis.citation and rule.basis.transcription in ("read", "secondhand", "memory")
        assert bool(rule["source"]) or rule.basis.transcription == "memory", rule.cells


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        ("holding_times.csv", "collection > analysis 14 d", "14 days", "'14 days' is no stage"),
        ("holding_times.csv", "BTEX,", "BTX,", "group 'BTX' is not listed; nearest are"),
        ("blanks.csv", "within_times,5", "within_times,five", "column 'times' is 'five'"),
        ("recoveries.csv", "biased_low", "low", "column 'detected' is 'low'; write one of none, note, estimated"),
        ("duplicates.csv", "secondhand", "heard", "column 'transcription' is 'heard'"),
        ("solids.csv", "below,", "under,", "column '"),
        ("rules.csv", "grossly_late,2", "grossly_late,", "rule 'grossly_late' has no number"),
        ("rules.csv", "near_level_times,", "nearness,", "rule 'near_level_times' is there 0 times"),
        ("surrogates.csv", "Toluene-d8", "Toluene-d9", "analyte 'Toluene-d9' is not listed"),
        ("edition.toml", "status =", "state =", "key '"),
        ("edition.toml", "version = 20", 'version = "x" # 20', "version must be a date"),
        ("temperature.csv", "EPA Region 9 SOP 901 rev. 1 (2006)", "", "column 'citation' is empty"),
    ],
)
def test_a_broken_edition_is_refused_by_place(own: Path, file: str, old: str, new: str, words: str) -> None:
    change(own / file, old, new)
    with pytest.raises(Refused) as refusal:
        read_edition(str(own), STANDARDS)
    told = str(refusal.value)
    assert words in told and file in told and "house-rules" in told and "\n" not in told


def test_a_missing_file_and_an_unknown_name(own: Path) -> None:
    (own / "criteria" / "solids.csv").unlink()
    with pytest.raises(Refused, match=r"solids\.csv: is missing"):
        read_edition(str(own), STANDARDS)
    with pytest.raises(Refused, match="did you mean published-criteria"):
        read_edition("published-criterias", STANDARDS)


def test_an_edition_of_the_house_decides_and_is_kept(office: Any, own: Path) -> None:
    office.plain_site()
    assert office.run("import", office.deliverable("w.csv", [ROW]), "--site", "one").status == 0
    shipped = office.run("screen", "--site", "one").document
    change(own / "holding_times.csv", "collection > analysis 14 d", "collection > analysis 21 d")
    change(own / "holding_times.csv", "BTEX,,water,,collection > analysis 14 d", "BTEX,,water,,collection > analysis 21 d")
    house = office.run("screen", "--site", "one", "--setting", f"review={own}").document
    assert (shipped["outcomes"][0]["outcome"], house["outcomes"][0]["outcome"]) == ("open", "does_not_exceed")
    assert house["run"] != shipped["run"] and house["review"]["edition"] == "house-rules"
    assert office.run("compare", shipped["run"], house["run"]).document["changes"][0]["cause"] == "setting"
    shutil.rmtree(own)
    assert office.run("runs", "reproduce", house["run"]).document["identical"] is True, "the text is kept with the run"
    assert office.run("screen", "--site", "one", "--setting", f"review={own}").status == 1


def test_the_site_file_names_the_edition(office: Any, own: Path) -> None:
    change(own / "holding_times.csv", "BTEX,,water,,collection > analysis 14 d", "BTEX,,water,,collection > analysis 7 d")
    office.site(f'[site]\nid = "one"\nname = "one"\nplace = "us-oh"\n[screening]\nlevels = ["us-oh/closure"]\nreview = "{own}"\n')
    assert office.run("import", office.deliverable("w.csv", [ROW]), "--site", "one").status == 0
    (outcome,) = office.run("screen", "--site", "one").document["outcomes"]
    assert outcome["review_qualifiers"] == "rejected", "15 days are more than twice 7"
    (result,) = office.run("results", "--site", "one").document["results"]
    assert result["review_qualifiers"] == "rejected" and "grossly late" in result["review_reasons"]
    assert office.run("review", "--site", "one", "--edition", DEFAULT).document["edition"]["edition"] == DEFAULT


def test_without_a_review_every_screen_says_so(office: Any) -> None:
    office.plain_site()
    assert office.run("import", office.deliverable("w.csv", [ROW]), "--site", "one").status == 0
    answer = office.run("screen", "--site", "one", "--setting", "review=none").document
    assert answer["outcomes"][0]["outcome"] == "does_not_exceed"
    assert any("no quality review was made" in text for text in answer["warnings"])
    assert office.run("runs", "reproduce", answer["run"]).document["identical"] is True
    document = office.run("review", "--site", "one", "--edition", "none").document
    assert document["findings"] == [] and "were not reviewed" in document["summary"]


def test_words_that_make_no_sense(office: Any) -> None:
    office.plain_site()
    assert office.run("review").status == 2
    assert office.run("review", "--site", "two").status == 1
    assert office.run("screen", "--site", "one", "--setting", "duplicate_rule=lower").status == 1
    said = office.run(
        "review",
        "override",
        "--site",
        "one",
        "--sample",
        "X",
        "--analyte",
        "Benzene",
        "--as",
        "usable",
        "--by",
        "A",
        "--why",
        "b",
    )
    assert said.status == 1 and "no result of Benzene in sample 'X'" in said.error
    listed = office.run("review", "editions").document["editions"]
    assert [item["edition"] for item in listed] == [DEFAULT]
