"""AT-07: a non-detect above the level proves nothing; one at the level does not exceed where the rule says 'above'."""

from __future__ import annotations

import json
from typing import Any

from click.testing import CliRunner

from screening.cli.main import commands

SAMPLES = {"GI-1": ("<0.0050", ""), "GI-2": ("<0.00090", ""), "GI-3": ("0.0011", "J"), "GI-4": ("<0.000982", "")}


def _screened(office: Any) -> dict[str, Any]:
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    rows = [
        {
            "sample_id": sample, "medium": "soil", "analyte": "EDB", "cas": "106-93-4", "result": result, "qualifiers": flag,
            "unit": "mg/kg", "basis": "dry",
        }
        for sample, (result, flag) in SAMPLES.items()
    ]  # fmt: skip
    assert office.run("import", office.deliverable("edb.csv", rows), "--site", "one").status == 0
    return dict(office.run("screen", "--site", "one").document)


def test_four_limits_four_answers(office: Any) -> None:
    answer = _screened(office)
    items = {item["sample_id"]: item for item in answer["outcomes"]}
    assert {sample: item["outcome"] for sample, item in items.items()} == {
        "GI-1": "open", "GI-2": "does_not_exceed", "GI-3": "exceeds", "GI-4": "does_not_exceed",
    }  # fmt: skip
    assert items["GI-1"]["ratio"].startswith("5.09")
    assert "times the level" in items["GI-1"]["because"]
    assert "estimated" in items["GI-3"]["because"] and items["GI-3"]["qualifiers"] == "J"
    assert items["GI-4"]["limit"] == "0.000982" and items["GI-4"]["ratio"] in ("1", "1.00")
    advice = answer["recommendation"]
    assert advice["status"] == "triggered"
    assert [reason["kind"] for reason in advice["reasons"]] == ["exceedance"]
    assert [item["kind"] for item in advice["open_items"]] == ["open"]


def test_no_text_says_nd_or_all_clean(office: Any) -> None:
    answer = _screened(office)
    shown = CliRunner().invoke(commands(), ["--database", str(office.database), "runs", "show", answer["run"]])
    for text in (shown.stdout, json.dumps(answer)):
        assert " ND " not in text and '"ND"' not in text
        assert "all non-detect" not in text and "all clean" not in text.lower()
    assert "<0.0050" in shown.stdout
