"""Every check has a passing, a failing, a boundary and a not-checkable case, and each is as its case says."""

from __future__ import annotations

import io
from collections import Counter
from typing import Any

import pytest
from rich.console import Console

from screening.decision.review_words import CHECKS
from screening.outputs.review_text import show_review
from screening.quality.criteria import criteria_of
from screening.quality.editions import Edition
from tests.quality.cases import CASES, CUSTODY, KINDS, Case


@pytest.fixture(scope="module")
def reviews(desk: Any) -> dict[str, dict[str, Any]]:
    """The review of each deliverable of the cases, all of them made once."""
    office, made = desk, {}
    for file in dict.fromkeys(case.file for case in CASES):
        office.plain_site(file)
        rows = [row for case in CASES if case.file == file for row in case.rows]
        assert office.run("import", office.deliverable(f"{file}.csv", rows), "--site", file).status == 0
        if file == "custody":
            record = [{"Sample ID": sample, "Date collected": day, "Analyses": "VOC"} for sample, day in CUSTODY]
            assert office.run("custody", "add", office.deliverable("record.csv", record), "--site", file).status == 0
        made[file] = office.run("review", "--site", file).document
    return made


@pytest.mark.parametrize("case", CASES, ids=[f"{case.check}-{case.kind}" for case in CASES])
def test_a_case(reviews: dict[str, dict[str, Any]], case: Case) -> None:
    grid = {row["sample_id"]: row["checks"] for row in reviews[case.file]["grid"]}
    assert grid[case.sample][case.check] == case.state


def test_every_check_has_each_kind_of_case_once(reviews: dict[str, dict[str, Any]]) -> None:
    """The checks are those that the review made, so a new one without its four cases fails here."""
    made = set(reviews["main"]["grid"][0]["checks"])
    counted = Counter((case.check, case.kind) for case in CASES)
    assert counted == Counter({(check, kind): 1 for check in made for kind in KINDS})
    assert len(made) >= 24


def test_passing_failing_and_not_checkable_cases_differ() -> None:
    """A passing case is fine, a failing one found, a not-checkable one neither."""
    for case in CASES:
        wanted = {"passing": case.state == "ok", "not_checkable": case.state == "not_checked"}
        assert wanted.get(case.kind, case.state not in ("not_checked", "partly")), case
        assert case.kind != "failing" or case.state != "ok", case


def test_every_check_has_a_name_in_words(reviews: dict[str, dict[str, Any]]) -> None:
    assert set(reviews["main"]["grid"][0]["checks"]) == set(CHECKS)


@pytest.fixture(scope="module")
def text(reviews: dict[str, dict[str, Any]]) -> str:
    """The review of the main deliverable as people read it on a terminal of 100 columns."""
    out = Console(width=100, file=io.StringIO())
    show_review(out, reviews["main"])
    return str(out.file.getvalue())  # type: ignore[attr-defined]


def test_the_provenance_of_every_criterion_reaches_json_and_terminal(
    reviews: dict[str, dict[str, Any]], text: str, edition: Edition, desk: Any
) -> None:
    document = reviews["main"]
    assert {item["transcription"] for item in document["findings"]} == {"read", "secondhand", "memory"}
    assert all(item["citation"] for item in document["findings"])
    for words in ("criterion (read)", "criterion (second-hand)", "criterion (recalled)", "4 read, 26 recalled"):
        assert words in text, words
    held = {item["check"]: sum(item["criteria"].values()) for item in document["checked"]}
    assert {check for check, count in held.items() if not count} == {"zero_or_negative"}, "common practice, as the text says"
    listed = desk.run("review", "criteria").document["criteria"]
    assert len(listed) == sum(len(rows) for rows in edition.files.values()) and all(item["transcription"] for item in listed)
    reached = {id(rule) for check in CHECKS for rule in criteria_of(edition, check)}
    rest = {rule["rule"] for rows in edition.files.values() for rule in rows if id(rule) not in reached}
    assert rest == {"near_level_times"}, "every other row belongs to a check; this one to the screen"


def test_the_text_is_grouped_worst_first(reviews: dict[str, dict[str, Any]], text: str) -> None:
    document, lines = reviews["main"], text.splitlines()
    heads = [line[0] for line in lines if line[:2] in {f"{mark} " for mark in "RU?-+ei"} and "finding" in line]
    worth = "RU?-+ei"
    assert len(heads) > 8 and heads == sorted(heads, key=worth.index)
    start = next(at for at, line in enumerate(lines) if line.split()[:3] == ["sample", "1", "2"])
    marks = [line.split()[1:] for line in lines[start + 1 : start + 40]]
    best = [min((worth.index(mark) for mark in row if mark in worth), default=len(worth)) for row in marks]
    assert best == sorted(best) and best[0] < best[-1], "the worst samples stand first"
    assert max(map(len, lines)) <= 100
    assert all(CHECKS[item["check"]] in text for item in document["not_checkable"])


def test_the_paragraph_reads_as_a_report(reviews: dict[str, dict[str, Any]]) -> None:
    said = reviews["main"]["summary"]
    counts = reviews["main"]["counts"]
    assert said.startswith(f"{counts['results']} results of {counts['samples']} samples were reviewed against the edition")
    assert "Checked: " in said and "No result was corrected by a blank." in said and " rest on criteria " in said
    assert "_" not in said and " ." not in said and ".." not in said and "screening " not in said
    assert said.count("(") == said.count(")")
