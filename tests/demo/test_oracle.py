"""The demo's files, its expected answer and the list in its README belong together."""

import json
import re
import runpy
import tomllib
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).resolve().parent
DEMO = HERE.parents[1] / "demo"


@pytest.fixture(scope="module")
def oracle() -> dict[str, Any]:
    return runpy.run_path(str(HERE / "oracle.py"))


def test_expected_answer_is_what_the_files_give(oracle: dict[str, Any]) -> None:
    assert (DEMO / "expected.json").read_text(encoding="utf-8") == oracle["as_json"](oracle["expected"]())


def test_every_row_is_accounted_for() -> None:
    for rows in json.loads((DEMO / "expected.json").read_text(encoding="utf-8"))["rows"].values():
        parts = rows["results"] + rows["quality_control"] + rows["held_back"] + rows["ignored"]
        assert rows["read"] == parts == sum(rows["by_kind"].values())


def test_every_field_sample_is_a_location_of_the_site(oracle: dict[str, Any]) -> None:
    site = tomllib.loads((DEMO / "site.toml").read_text(encoding="utf-8"))
    places = {location["id"] for location in site["location"]}
    components = {part["id"] for kind in ("tank", "piping", "dispenser") for part in site[kind]}
    assert {location["component"] for location in site["location"]} == components | {"pit", "sidewall"}
    rows = oracle["lab_one"](DEMO) + oracle["lab_two"](DEMO)
    assert {row["sample"] for row in rows if row["kind"] in ("field", "field sample")} == places


def test_readme_names_the_right_rows(oracle: dict[str, Any]) -> None:
    by_place = {(row["file"], row["row"]): row for row in oracle["lab_one"](DEMO) + oracle["lab_two"](DEMO)}
    files = {"csv": oracle["ONE"], "xlsx": oracle["TWO"]}
    told = re.findall(r"`(csv|xlsx):(\d+)` (\S+): ([^=]+?) = `([^`]*)`", (DEMO / "README.md").read_text(encoding="utf-8"))
    assert len(told) > 30
    for kind, number, sample, name, text in told:
        row = by_place[files[kind], int(number)]
        delivered = f"{row['text']} {row['flag']}".strip() if kind == "xlsx" else row["text"]
        assert (row["sample"], row["name"], delivered) == (sample, name, text)


def test_the_tool_gives_the_expected_answer(tmp_path: Path) -> None:
    from screening.decision.demo import run_demo

    answer = run_demo(tmp_path).answer
    told = json.loads((DEMO / "expected.json").read_text(encoding="utf-8"))
    for outcome, count in answer["counts"].items():
        assert count == told["counts"][outcome] == len(told[outcome])
        wanted = {(item["sample"], item["cas"]) for item in told[outcome] if item["cas"]}
        found = {(item["sample_id"], item["cas"]) for item in answer["outcomes"] if item["outcome"] == outcome and item["cas"]}
        sums = {(item["sample_id"], "1330-20-7") for item in answer["outcomes"] if item["parts"] and item["outcome"] == outcome}
        assert wanted == found | sums
