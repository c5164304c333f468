"""The demo of closure: three kinds of gap, closed one by one, then a finding; clocks and papers beside it. All invented."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

DEMO = Path(__file__).resolve().parents[2] / "demo" / "closing"
FIRST, PIPING, DIESEL, FINER, DEEPER = (
    "1-first-report.csv", "2-third-piping-sample.csv", "3-diesel-analyses.csv", "4-finer-limit.csv", "5-below-the-sump.csv",
)  # fmt: skip


def _import(office: Any, file: str, *more: str) -> str:
    said = office.run("import", DEMO / file, "--site", "hollin", *more)
    assert said.status == 0, said.error
    return str(said.document["deliverables"][0]["id"])


def _advice(office: Any) -> tuple[str, list[tuple[str, str]], list[str]]:
    advice = office.run("screen", "--site", "hollin").document["recommendation"]
    return advice["status"], [(item["kind"], item["text"]) for item in advice["open_items"]], advice["actions"]


@pytest.fixture
def hollin(office: Any) -> Any:
    """The demo site in a store of its own."""
    assert office.site((DEMO / "site.toml").read_text(encoding="utf-8")).status == 0
    return office


def test_from_undetermined_to_not_triggered_to_triggered(hollin: Any) -> None:
    first = _import(hollin, FIRST)
    status, items, acts = _advice(hollin)
    assert (status, [kind for kind, _ in items]) == ("undetermined", ["open", "gap", "gap", "gap", "gap"])
    told = " | ".join(text for _, text in items)
    for words in (
        "1,2-Dibromoethane <0.0042",
        "P1: 1 of 3 soil samples missing",
        "HC-P1-C is a planned location",
        "PAH is asked for",
        "DRO is asked for",
    ):
        assert words in told
    assert acts == [
        "ask the laboratory for a limit of at most 0.000982 mg/kg for 1,2-Dibromoethane in HC-T1-S",
        "take and analyse the planned HC-P1-C",
        "have HC-T2 analysed for PAH, or sample again where that can no longer be done",
        "have HC-T2 analysed for DRO, or sample again where that can no longer be done",
    ]  # fmt: skip
    _import(hollin, PIPING)
    status, items, acts = _advice(hollin)
    assert (status, len(items), len(acts)) == ("undetermined", 3, 3)
    _import(hollin, DIESEL)
    status, items, acts = _advice(hollin)
    assert (status, [kind for kind, _ in items], len(acts)) == ("undetermined", ["open"], 1)
    _import(hollin, FINER, "--replaces", first, "--replaces-only-contents")
    assert _advice(hollin) == ("not_triggered", [], [])
    assert hollin.run("coverage", "--site", "hollin").document["complete"] is True
    _import(hollin, DEEPER)
    status, _, _ = _advice(hollin)
    assert status == "triggered"
    runs = hollin.run("runs", "list").document["runs"]
    assert [run["status"] for run in runs] == ["undetermined", "undetermined", "undetermined", "not_triggered", "triggered"]
    for run in runs:
        assert hollin.run("runs", "reproduce", run["run"]).document["identical"] is True


def test_clocks_and_papers_of_the_demo(hollin: Any) -> None:
    _import(hollin, FIRST)
    found = hollin.run("deadlines", "--site", "hollin", "--today", "2025-06-20").document
    notice = next(
        one for one in found["deadlines"] if one["what"] == "notice of intent to close" and one["citation"] == "40 CFR 280.71(a)"
    )
    assert (notice["due"], notice["status"]) == ("2025-04-05", "met")
    papers = hollin.run("papers", "--site", "hollin").document
    assert [one["text"] for one in papers["balances"]] == [
        "product: 214 gal out, 210 accounted for by disposal papers, 4 less",
        "excavated soil: 95 cubic yards out, 95 accounted for by backfill, heaps and hauling",
    ]  # fmt: skip
    assert any(one["passes"] and "R-0417" in one["text"] for one in papers["checks"])
    assert "photographs of tanks, pit and places of samples" in papers["missing"]
    assert {one["result"] for one in papers["atmosphere"]} == {"within"}
