"""A basis taken as received is as good as stated: with percent solids it is turned into dry weight, without it is open. Figures made up."""

from __future__ import annotations

from typing import Any

import pytest

LEVEL = "analyte,cas,medium,level,unit,citation,source\nBenzene,71-43-2,soil,1,mg/kg,made up,made up\n"


def _benzene(rule: Any, *rows: dict[str, str]) -> None:
    rule.table(LEVEL)
    rule.results({"analyte": "Benzene", "basis": "", **row} for row in rows)


@pytest.mark.parametrize(("result", "outcome"), [("0.9", "open"), ("<0.9", "open"), ("1.1", "exceeds")])
def test_without_percent_solids_it_clears_nothing(cases: Any, result: str, outcome: str) -> None:
    """Dry weight is more, how much more is not known; what exceeds as received exceeds dry."""

    def rows(result: str, outcome: str) -> list[dict[str, str]]:
        return [{"analyte": "Benzene", "basis": "", "result": result}]

    (found,) = cases(rows, LEVEL, words=("--setting", "missing_basis=as_received"))
    assert found["outcome"] == outcome and "as received and no percent solids" in found["because"]
    dry = cases.outcome(rows, LEVEL, words=("--setting", "missing_basis=dry"))
    assert dry == ("exceeds" if outcome == "exceeds" else "does_not_exceed")


@pytest.mark.parametrize(("solids", "outcome"), [("90", "does_not_exceed"), ("89.9", "exceeds")])
def test_with_percent_solids_it_is_converted(cases: Any, solids: str, outcome: str) -> None:
    """0.9 mg/kg as received at 90 % solids is 1 mg/kg dry, which is not above 1."""

    def rows(solids: str, outcome: str) -> list[dict[str, str]]:
        return [{"analyte": "Benzene", "basis": "", "result": "0.9", "percent_solids": solids}]

    assert cases.outcome(rows, LEVEL, words=("--setting", "missing_basis=as_received")) == outcome


def test_percent_solids_of_another_depth_or_day_are_not_taken(rule: Any) -> None:
    """Four jars of one boring under one number: only the jar whose own percent solids are known is converted."""
    jar = {"sample_id": "B-1", "basis": "as_received", "depth_top": "2", "depth_unit": "ft", "sampled_at": "2024-05-01"}
    solids = {**jar, "analyte": "Percent solids", "result": "90", "unit": "%", "basis": ""}
    _benzene(
        rule, {**jar, "result": "0.8"}, solids, {**jar, "result": "0.8", "depth_top": "8"},
        {**jar, "result": "0.8", "sampled_at": "2024-06-01"}, {**jar, "result": "0.8", "location": "B-9"},
    )  # fmt: skip
    found = sorted((one["depth_top"], one["sampled_at"], one["location"], one["outcome"]) for one in rule.screen()["outcomes"])
    assert found == [
        ("2", "2024-05-01", "B-1", "does_not_exceed"),
        ("2", "2024-05-01", "B-9", "open"),
        ("2", "2024-06-01", "B-1", "open"),
        ("8", "2024-05-01", "B-1", "open"),
    ]


def test_a_row_without_its_day_belongs_to_the_only_day_of_its_sample(rule: Any) -> None:
    jar = {"sample_id": "B-1", "basis": "as_received"}
    solids = {**jar, "analyte": "Percent solids", "result": "90", "unit": "%", "basis": "", "sampled_at": "2024-05-01"}
    _benzene(rule, {**jar, "result": "0.8"}, solids)
    assert rule.outcomes() == {("B-1", "Benzene"): "does_not_exceed"}
