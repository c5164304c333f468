"""Every check has a passing, a failing, a boundary and a not-checkable case, and each is as its case says."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from screening.decision.review_words import CHECKS
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
