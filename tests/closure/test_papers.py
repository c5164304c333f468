"""Papers held and missing, certificates on the day, quantities that reconcile, atmosphere readings that never say 'safe'."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from screening.closure.deadlines import Verdict, clocks
from screening.closure.library import Library
from screening.closure.papers import checks, entries
from screening.closure.quantities import balances
from screening.closure.safety import read_atmosphere

Make = Callable[..., Any]
NO_RUN = Verdict(None, None)


def _entries(library: Library, site: Any, verdict: Verdict = NO_RUN, custody: bool = False) -> list[Any]:
    return entries(site, library, library.taken("papers", site), verdict, custody)


def test_every_entry_is_missing_until_a_paper_of_its_kind_is_there(library: Library, site_of: Make) -> None:
    tank = {"tank": [{"id": "T1"}]}
    assert not any(one.held for one in _entries(library, site_of("us-mo", **tank)))
    held = _entries(library, site_of("us-mo", **tank, paper=[{"kind": "photographs", "number": "42"}]))
    assert {one.item[:20] for one in held if one.held} == {"colour photographs o", "photographs of tanks"}
    assert all(one.papers == ("photographs 42",) for one in held if one.held)


def test_a_narrative_answers_only_what_it_names(library: Library, site_of: Make) -> None:
    paper = [{"kind": "narrative", "answers": ["us-mo/closure/timeline"]}]
    held = [one for one in _entries(library, site_of("us-mo", tank=[{"id": "T1"}], paper=paper)) if one.held]
    assert [one.item for one in held] == ["course of the work in time"]


def test_custody_and_readings_of_the_site_file_count(library: Library, site_of: Make) -> None:
    site = site_of(tank=[{"id": "T1"}], atmosphere=[{"at": "2025-05-06T08:00:00"}])
    held = {one.item for one in _entries(library, site, custody=True) if one.held}
    assert held == {"custody record", "atmosphere readings before lifting, cutting or entry"}


@pytest.mark.parametrize(
    ("status", "applies"), [("triggered", True), ("not_triggered", False), ("undetermined", None), (None, None)]
)
def test_reports_that_hang_on_the_verdict(library: Library, site_of: Make, status: str | None, applies: bool | None) -> None:
    found = _entries(library, site_of("us-pa", tank=[{"id": "T1"}]), Verdict("r", status))
    assert {one.applies for one in found if one.document == "site characterization report"} == {applies}


def test_papers_of_a_tank_left_in_place(library: Library, site_of: Make) -> None:
    for closure, applies in (("in_place", True), ("removed", False)):
        found = _entries(library, site_of("us-md", tank=[{"id": "T1", "closure": closure}]))
        assert {one.applies for one in found if "engineer" in one.item or "leave to close in place" in one.item} == {applies}


@pytest.mark.parametrize(("day", "until", "passes"), [
    ("2025-05-06", "2025-05-06", True), ("2025-05-07", "2025-05-06", False), ("2024-12-31", "2025-05-06", False), ("2025-05-06", None, None),
    (None, "2025-05-06", None),
])  # fmt: skip
def test_the_certificate_is_in_force_on_the_day(site_of: Make, day: str | None, until: str | None, passes: bool | None) -> None:
    paper = {
        "kind": "contractor_certificate",
        "number": "C-1",
        "valid_from": "2025-01-01",
        **({"valid_until": until} if until else {}),
    }
    site = site_of(tank=[{"id": "T1"}], events={"removed": day} if day else {}, paper=[paper])
    assert [one.passes for one in checks(site, [])] == [passes]


@pytest.mark.parametrize(("given", "passes"), [("2025-04-06", True), ("2025-04-07", False), (None, None)])
def test_the_notice_is_thirty_days_before_the_work(
    library: Library, site_of: Make, given: str | None, passes: bool | None
) -> None:
    """40 CFR 280.71(a); the date of the notice itself is enough."""
    site = site_of(
        "us",
        tank=[{"id": "T1"}],
        events={"removed": "2025-05-06"},
        paper=[{"kind": "closure_notice", "date": given}] if given else [],
    )
    made = clocks(site, library.taken("deadlines", site), NO_RUN, dt.date.min)[0]
    assert [one.passes for one in checks(site, made)] == [passes]


def _paper(kind: str, amount: str, unit: str = "gal") -> dict[str, Any]:
    return {"kind": kind, "quantity": amount, "unit": unit}


@pytest.mark.parametrize(("out", "papers", "status"), [
    ("310", [_paper("product_disposal", "300"), _paper("product_disposal", "10.0")], "reconciled"),
    ("310", [_paper("product_disposal", "300")], "differs"), ("310", [_paper("product_disposal", "310", "tons")], "open"),
    ("310", [], "open"),
])  # fmt: skip
def test_gallons_out_are_gallons_disposed_of(site_of: Make, out: str, papers: list[dict[str, Any]], status: str) -> None:
    (one,) = balances(site_of(quantities={"product_removed_gal": out}, paper=papers))
    assert (one.what, one.status) == ("product", status)


@pytest.mark.parametrize(("back", "heap", "hauled", "status"), [
    ("60", "120", None, "reconciled"), ("60", "100", "20", "reconciled"), ("60", "119.9", None, "differs"), (None, None, None, "open"),
])  # fmt: skip
def test_excavated_is_put_back_heaped_or_hauled(
    site_of: Make, back: str | None, heap: str | None, hauled: str | None, status: str
) -> None:
    quantities = {"excavated_cubic_yards": "180", "backfilled_cubic_yards": back, "hauled_cubic_yards": hauled}
    heaps = [{"id": "S1", "volume_cubic_yards": heap}] if heap else []
    found = balances(site_of(quantities={key: value for key, value in quantities.items() if value}, stockpile=heaps))
    assert (found[0].what, found[0].status) == ("excavated soil", status)
    if hauled:
        assert (found[1].what, found[1].status, found[1].out) == ("hauled soil", "open", Decimal(hauled))


@pytest.mark.parametrize(("before", "gas", "oxygen", "results"), [
    ("removal", "10", "20", {"within"}), ("removal", "10.1", "20", {"beyond"}), ("removal", None, "20", {"not_measured"}),
    ("entry", "10", "19.5", {"within"}), ("entry", "10", "19.4", {"within", "beyond"}), ("entry", "0", "23.6", {"within", "beyond"}),
    ("entry", "11", "20.9", {"within", "beyond"}), ("entry", "0", None, {"within", "not_measured"}),
])  # fmt: skip
def test_readings_against_published_limits(
    library: Library, site_of: Make, before: str, gas: str | None, oxygen: str | None, results: set[str]
) -> None:
    """10 % of the lower explosive limit (industry practice of 2021, second hand); 10 %, 19.5 and 23.5 % (29 CFR 1910.146(b), second hand)."""
    reading = {"at": "2025-05-06T08:00:00", "tank": "T1", "before": before, "flammable_percent": gas, "oxygen_percent": oxygen}
    site = site_of("us", tank=[{"id": "T1"}], atmosphere=[{key: value for key, value in reading.items() if value is not None}])
    rows = [row for file in library.taken("safety", site).files for row in file.rows]
    found = read_atmosphere(site, rows)
    assert {one.result for one in found} == results and all(one.transcription != "read" for one in found)


def test_nothing_says_that_it_is_safe(office: Any, capsys: Any) -> None:
    text = '[[tank]]\nid = "T1"\n[[atmosphere]]\nat = 2025-05-06T08:00:00\ntank = "T1"\nbefore = "entry"\nflammable_percent = 0\noxygen_percent = 20.9\n'
    office.plain_site(more=text)
    said = office.run("papers", "--site", "one")
    assert said.status == 3 and "confined-space rule" in said.document["caution"]
    assert all("does not say that it is safe" in one["text"] for one in said.document["atmosphere"])
    told = " ".join(said.error.split()).lower()
    for words in ("safe to enter", "may be entered", "is safe"):
        for at in range(len(told)):
            if told.startswith(words, at):
                assert "not say that" in told[max(0, at - 40) : at] or "nothing here says" in told[max(0, at - 60) : at]
