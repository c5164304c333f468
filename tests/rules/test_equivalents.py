"""Toxic equivalents: factors, three ways of counting non-detects, bounds; worked examples of published factors."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,citation,source\n"

WASHINGTON = {
    "Benzo[a]pyrene": "1", "Benzo[a]anthracene": "0.1", "Benzo[b]fluoranthene": "0.1", "Benzo[k]fluoranthene": "0.1",
    "Chrysene": "0.01", "Dibenz[a,h]anthracene": "0.1", "Indeno[1,2,3-cd]pyrene": "0.1",
}  # fmt: skip


def _facts(factors: dict[str, str], nondetects: str) -> str:
    lines = "".join(f'"{name}" = "{factor}"\n' for name, factor in factors.items())
    return (
        f'[[equivalents]]\nname = "Benzo[a]pyrene"\nnondetects = "{nondetects}"\ntext = "made up"\ncitation = "made up"\n'
        f'transcription = "memory"\n[equivalents.factors]\n{lines}'
    )


def _example(reference: Path, name: str) -> Any:
    return json.loads((reference / "stats" / f"{name}.json").read_text(encoding="utf-8"))


def _sum(rule: Any, *words: str) -> list[dict[str, Any]]:
    return [one for one in rule.screen(*words)["outcomes"] if one["analyte"] == "Benzo[a]pyrene equivalents"]


SPELT = {"benz[a]anthracene": "Benzo[a]anthracene"}


def _rows(sample: dict[str, dict[str, Any]], number: str) -> list[dict[str, object]]:
    return [
        {"sample_id": number, "analyte": SPELT.get(name, name), "result": f"{'<' if one['nd'] else ''}{one['value']}"}
        for name, one in sample.items()
    ]


@pytest.mark.parametrize(("way", "amount"), [("zero", "0.115"), ("half", "0.12"), ("full", "0.125")])
def test_the_washington_factors_on_a_worked_sample(rule: Any, reference: Path, way: str, amount: str) -> None:
    """WAC 173-340-900 Table 708-2 (six factors read, that of indeno recalled), sums worked by hand (h02)."""
    example = _example(reference, "h02_cpah_teq_wa")
    assert {SPELT.get(name, name).lower(): Decimal(str(one)) for name, one in example["data"]["factors"]["wa"].items()} == {
        name.lower(): Decimal(one) for name, one in WASHINGTON.items()
    }
    computed = {one["quantity"]: Decimal(str(one["value"])) for one in example["computed"]}
    assert computed[f"wa_S1_{way}"] == Decimal(amount)
    rule.table(HEAD + "Benzo[a]pyrene,50-32-8,soil,0.121,mg/kg,made up,made up\n", _facts(WASHINGTON, way))
    rule.results(_rows(example["data"]["samples"]["S1"], "S-1"))
    (found,) = _sum(rule)
    assert (found["lower"], found["upper"]) == (amount, amount)
    assert found["outcome"] == ("exceeds" if way == "full" else "does_not_exceed")
    assert "non-detects at zero 0.115, at half 0.12, in full 0.125: the outcome hangs on it" in found["because"]


def test_nothing_detected_stays_a_non_detect_with_the_limit_in_full(rule: Any, reference: Path) -> None:
    """h02, sample S2: sum of factors 1.51 times 0.02 = 0.0302; no way of counting makes it a detection."""
    rule.table(HEAD + "Benzo[a]pyrene,50-32-8,soil,0.02,mg/kg,made up,made up\n", _facts(WASHINGTON, "half"))
    rule.results(_rows(_example(reference, "h02_cpah_teq_wa")["data"]["samples"]["S2_all_nd"], "S-2"))
    (found,) = _sum(rule)
    assert (found["detected"], found["lower"], found["upper"], found["outcome"]) == (False, "0", "0.0302", "open")


def test_the_canadian_formula_with_a_coeluting_pair(rule: Any, reference: Path) -> None:
    """Benzo[a]pyrene total potency equivalents, non-detects at half the limit: 0.0793 (h04, formula read, sample own); the pair stands under its first isomer."""
    example = _example(reference, "h04_bap_tpe_formula")
    factors = {name: str(one) for name, one in example["data"]["factors"].items()}
    pair = "benzo[b/j]fluoranthene"
    spelt = {pair: "Benzo[b]fluoranthene", "benzo[g,h,i]perylene": "Benzo[ghi]perylene"}
    rule.table(
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({spelt.get(name, name): factor for name, factor in factors.items()}, "half"),
    )
    rows = _rows(example["data"]["sample"], "S-1")
    rule.results([{**row, "analyte": spelt.get(str(row["analyte"]), row["analyte"])} for row in rows])
    (found,) = _sum(rule)
    assert found["lower"] == found["upper"] == str(example["hand_answer"]["total_half_limit"])


def test_the_finfish_factors_at_the_limit_and_at_half(rule: Any, reference: Path) -> None:
    """PMC6136993 Table VI: 0.0055 in full; the published half counts everything by half, so only the full sum is met (h01)."""
    data = _example(reference, "h01_rpf_finfish")["data"]
    named = {SPELT.get(name, name): one for name, one in data.items()}
    rule.table(
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({name: str(one["rpf"]) for name, one in named.items()}, "full"),
    )
    rule.results(
        {"sample_id": "S-1", "analyte": name, "result": f"<{one['mdl']}" if one["max"] is None else str(one["max"])}
        for name, one in named.items()
    )
    (found,) = _sum(rule)
    assert Decimal(found["upper"]).quantize(Decimal("0.0001")) == Decimal("0.0055")


def test_without_a_rule_for_non_detects_the_bounds_decide(rule: Any) -> None:
    rule.table(
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({"Benzo[a]pyrene": "1", "Chrysene": "0.5"}, "bounds"),
    )
    rule.results(
        [
            {"sample_id": "S-1", "analyte": "Benzo[a]pyrene", "result": "0.09"},
            {"sample_id": "S-1", "analyte": "Chrysene", "result": "<0.04"},
        ]
    )
    (found,) = _sum(rule)
    assert (found["lower"], found["upper"], found["outcome"]) == ("0.09", "0.11", "open")
    (chosen,) = _sum(rule, "--setting", "equivalents_nondetects=zero")
    assert chosen["outcome"] == "does_not_exceed" and "the outcome hangs on it" in chosen["because"]


def test_a_missing_part_clears_nothing_but_the_others_may_exceed(rule: Any) -> None:
    rule.table(
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({"Benzo[a]pyrene": "1", "Chrysene": "0.5"}, "zero"),
    )
    rule.results(
        [
            {"sample_id": "S-1", "analyte": "Chrysene", "result": "0.02"},
            {"sample_id": "S-2", "analyte": "Chrysene", "result": "0.3"},
        ]
    )
    assert [(one["outcome"], one["upper"]) for one in _sum(rule)] == [("open", None), ("exceeds", None)]


def test_a_rejected_part_counts_as_a_problem_not_as_zero(rule: Any) -> None:
    rule.table(
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({"Benzo[a]pyrene": "1", "Chrysene": "0.5"}, "zero"),
    )
    rule.results([
        {"sample_id": "S-1", "analyte": "Benzo[a]pyrene", "result": "0.01"},
        {"sample_id": "S-1", "analyte": "Chrysene", "result": "0.02", "qualifiers": "R"},
    ])  # fmt: skip
    (found,) = _sum(rule)
    assert found["outcome"] == "open" and "rejected" in found["because"]


def test_each_table_weighs_by_its_own_factors(office: Any) -> None:
    """Recalled Method A, Washington: the sum is held against benzo(a)pyrene's level and belongs to that table alone."""
    office.plain_site(levels="us-wa/soil-method-a-recalled@2001-08-15")
    rows = [
        {"sample_id": "S-1", "medium": "soil", "basis": "dry", "unit": "mg/kg", "analyte": name, "result": "0.06"}
        for name in WASHINGTON
    ]
    assert office.run("import", office.deliverable("s.csv", rows), "--site", "one").status == 0
    answer = office.run(
        "screen", "--site", "one", "--levels", "us-wa/soil-method-a-recalled@2001-08-15", "--levels", "us-oh/closure"
    ).document
    sums = [one for one in answer["outcomes"] if one["analyte"] == "Benzo[a]pyrene equivalents"]
    assert [(one["table"], one["value"], one["level"], one["outcome"]) for one in sums] == [
        ("us-wa/soil-method-a-recalled", "0.0906", "0.1", "does_not_exceed")  # 0.06 x 1.51
    ]


@pytest.mark.parametrize(
    ("way", "more", "outcome"),
    [
        ("zero", {}, "exceeds"),
        ("zero", {"sample_kind": "method_blank"}, "open"),
        ("half", {"sample_kind": "method_blank"}, "open"),
        ("full", {"sample_kind": "method_blank"}, "open"),
    ],
)
def test_a_detection_in_a_blank_is_no_non_detect(rule: Any, way: str, more: dict[str, str], outcome: str) -> None:
    """0.08 and 0.5 x 0.06 add up to 0.11; with chrysene in the blank as well the sum lies between 0.08 and 0.11."""
    rule.table(
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({"Benzo[a]pyrene": "1", "Chrysene": "0.5"}, way),
    )
    chrysene = {"analyte": "Chrysene", "result": "0.06", "reporting_limit": "0.01"}
    rule.results(
        [{"sample_id": "S-1", "analyte": "Benzo[a]pyrene", "result": "0.08"}, {"sample_id": "S-1", **chrysene},
         {"sample_id": "B", **chrysene, "result": "0.05" if more else "<0.05", "sample_kind": "method_blank", **more}],
        reviewed=True,
    )  # fmt: skip
    assert [one["outcome"] for one in _sum(rule)] == [outcome]


@pytest.mark.parametrize(("limit", "outcome"), [("0.05", "open"), ("0.04", "does_not_exceed"), ("", "open")])
def test_a_trace_is_no_non_detect(cases: Any, limit: str, outcome: str) -> None:
    """A trace of chrysene lies between 0 and its quantitation limit; at zero it does not count as nothing."""
    told = cases(
        lambda limit, outcome: [
            {"sample_id": "S-1", "analyte": "Benzo[a]pyrene", "result": "0.08"},
            {"sample_id": "S-1", "analyte": "Chrysene", "result": "Trace", "quantitation_limit": limit},
        ],
        HEAD + "Benzo[a]pyrene,50-32-8,soil,0.1,mg/kg,made up,made up\n",
        _facts({"Benzo[a]pyrene": "1", "Chrysene": "0.5"}, "zero"),
    )
    assert [one["outcome"] for one in told if one["analyte"] == "Benzo[a]pyrene equivalents"] == [outcome]
