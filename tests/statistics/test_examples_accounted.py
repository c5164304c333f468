"""Every example of the reference folder is either tested here or named as no statistic of this part."""

from __future__ import annotations

import json
from pathlib import Path

HERE = Path(__file__).parent
TESTED = {one["id"] for one in json.loads((HERE / "examples.json").read_text(encoding="utf-8"))}
ELSEWHERE = {
    "g01_rpd_radon": "relative percent differences of duplicates belong to the review of quality control",
    "g02_rpd_pairs": "as g01",
    "g04_holding_time_totals": "holding times belong to the review of quality control",
    "g06_mdl_7_replicates": "detection limits belong to the laboratory's arithmetic (tests/quality/test_laboratory.py)",
    "g07_mdl_t_table": "as g06",
    "g10_duplicate_rules": "as g01",
    "h01_rpf_finfish": "weighed sums belong to the comparison (tests/rules/test_equivalents.py)",
    "h02_cpah_teq_wa": "as h01",
    "h04_bap_tpe_formula": "as h01",
    "i01_moisture_wet_basis": "moisture belongs to dry weight (tests/properties/test_dry_weight.py)",
    "i02_moisture_dry_basis": "as i01",
    "i04_dry_weight_and_rl": "as i01",
    "i05_methanol_extract_moisture": "as g06",
    "j01_units_water": "units belong to the vocabulary (tests/vocabulary/test_units.py)",
    "j03_units_soil": "as j01",
}


def test_every_example_is_accounted_for(reference: Path) -> None:
    files = {path.stem for path in (reference / "stats").glob("*.json")}
    assert len(files) == 65
    assert TESTED | set(ELSEWHERE) == files and not TESTED & set(ELSEWHERE)


def test_the_figures_are_those_of_the_reference(reference: Path) -> None:
    for one in json.loads((HERE / "examples.json").read_text(encoding="utf-8")):
        theirs = json.loads((reference / "stats" / f"{one['id']}.json").read_text(encoding="utf-8"))
        assert one["source"] == theirs["source"]
        assert one["printed"] == (theirs["published_answer"] or {}) and one["by_hand"] == (theirs["hand_answer"] or {})
        assert one["tolerance"] == theirs["tolerance"]


def test_every_example_is_used_by_a_test() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in HERE.glob("test_*.py") if path.name != Path(__file__).name)
    assert {name for name in TESTED if f'"{name}"' not in text} == set()
