"""The laboratory's arithmetic made again: detection limits, limits of one sample, methanol extracts; each with its source."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from screening.errors import Refused
from screening.quality.sample_limits import Handling, MethanolExtract, adjusted_limit
from screening.screen.statistics.detection_limit import factors, from_blanks, from_spikes, may_pool, pooled, student_t_99

Example = Callable[[str], dict[str, Any]]


@pytest.fixture
def example(reference: Path) -> Example:
    """One example, its numbers as decimals."""
    return lambda name: dict(
        json.loads((reference / "stats" / f"{name}.json").read_text(encoding="utf-8"), parse_float=Decimal, parse_int=Decimal)
    )


def near(one: object, two: object, tolerance: object) -> bool:
    return abs(Decimal(str(one)) - Decimal(str(two))) <= Decimal(str(tolerance))


def computed(case: dict[str, Any]) -> dict[str, Any]:
    """What another library computed."""
    return {item["quantity"]: item["value"] for item in case["computed"]}


def test_detection_limits_from_seven_replicates_by_the_command(example: Example, office: Any) -> None:
    """g06, Berthouex and Brown 2002, Example 14.1 (read): 1.0, 1.3 and pooled 0.96 ug/L; scipy and R to nine figures."""
    case = example("g06_mdl_7_replicates")
    files = [
        office.deliverable(f"{number}.csv", [{"analyte": "Lead", "result": str(value), "unit": "ug/L"} for value in values])
        for number, values in enumerate(case["data"]["sets"])
    ]
    said = office.run("laboratory", "detection-limit", *files)
    assert said.status == 0, said.error
    found, published, others = said.document["limits"], case["published_answer"], computed(case)
    for row, name in zip(found, ("mdl_1", "mdl_2", "mdl_pooled"), strict=True):
        tolerance = case["tolerance"]["per_quantity"].get(name, case["tolerance"])["abs"]
        assert near(row["limit"], published[name], tolerance) and near(row["limit"], others[name], "0.00001")
        assert "NR 252.0365" in row["citation"]
    assert near(may_pool(*case["data"]["sets"])[0], others["F"], "1e-8")
    assert [row["n"] for row in found] == [7, 7, 14]
    assert all("3 batches on 3 days" in row["note"] for row in found[:2]), "no batch and no day is stated"


def test_students_t_and_the_factors_of_the_rule(example: Example) -> None:
    """g07, Wis. Admin. Code NR 252.0365 (read): the table of t at 99 %, and the factors 0.69/1.92 and 0.72/1.65."""
    case = example("g07_mdl_t_table")
    published = case["published_answer"]
    for degrees, wanted in zip(case["data"]["df"], published["t99"], strict=True):
        assert near(student_t_99(int(degrees)), wanted, case["tolerance"]["abs"])
    assert near(student_t_99(10**9), published["t99_infinite"], case["tolerance"]["abs"])
    for name, degrees, shares in (
        ("factors_df6_5_and_95_percent", 6, (0.05, 0.95)),
        ("factors_df12_2.5_and_97.5_percent", 12, (0.025, 0.975)),
    ):
        for one, wanted in zip(factors(degrees, *shares), published[name], strict=True):
            assert near(one, wanted, case["tolerance"]["per_quantity"][name]["abs"])
    two_sided = computed(case)["factors_df6_2.5_and_97.5_percent"]
    assert all(near(one, wanted, "1e-6") for one, wanted in zip(factors(6), two_sided, strict=True)), "the 95 % bounds of seven"


def test_what_replicates_cannot_give() -> None:
    """Too few, not found, or two sets whose variances differ beyond 3.05 (recalled); numbers invented."""
    seven = [2.5, 2.7, 2.2, 2.2, 3.1, 2.6, 2.8]
    with pytest.raises(Refused, match="at least 7 replicates"):
        from_spikes(seven[:6])
    with pytest.raises(Refused, match="too low: repeat it"):
        from_spikes([*seven, 0])
    wide = [2.5 + (value - 2.5) * 1.9 for value in seven]
    assert may_pool(seven, wide)[0] == pytest.approx(1.9**2) and not may_pool(seven, wide)[1]
    with pytest.raises(Refused, match="not pooled"):
        pooled(seven, wide)


def test_detection_limits_from_blanks() -> None:
    """40 CFR 136 Appendix B, Revision 2 (recalled): none, some and all with numbers; numbers invented."""
    assert from_blanks([], 7).limit is None
    assert from_blanks([0.2, 0.5], 5).limit == 0.5, "the highest"
    assert from_blanks([-0.2], 6).limit == 0.0
    whole = from_blanks([0.1, 0.2, 0.3, 0.1, 0.2, 0.3, 0.2], 0)
    assert whole.limit == pytest.approx(0.2 + 3.142668 * 0.0816497, rel=1e-6)
    below = from_blanks([-0.1, -0.2, -0.3, -0.1, -0.2, -0.3, -0.2], 0)
    assert below.limit == pytest.approx(3.142668 * 0.0816497, rel=1e-6) and below.mean == pytest.approx(-0.2)
    many = from_blanks([float(number) for number in range(1, 101)], 100)
    assert many.limit == 98.0, "of 200 blanks the 198th in order, the 98th of those with a number"
    with pytest.raises(Refused, match="at least 7 blanks"):
        from_blanks([0.1] * 6, 0)


def test_the_higher_of_replicates_and_blanks_stands(office: Any) -> None:
    """Invented numbers: blanks higher than the spread of the replicates; three batches on three days keep the procedure."""
    rows = [
        {"analyte": "Zinc", "unit": "ug/L", "result": result, "sample_kind": kind, "spike_amount": spike, "batch": at, "analysed_at": f"2025-05-0{at}"}
        for kind, spike, results in (("lab_control", "5", "5.1 4.9 5.0 5.2 4.8 5.0 5.1"), ("method_blank", "", "0.9 1.1 ND 1.0 0.8 1.2 0.7"))
        for at, result in zip((1, 1, 2, 2, 2, 3, 3), results.split(), strict=True)
    ]  # fmt: skip
    (row,) = office.run("laboratory", "detection-limit", office.deliverable("study.csv", rows)).document["limits"]
    assert (row["limit"], row["from"]) == ("1.2", "the higher of replicates and blanks")
    assert row["note"] == "the highest, as some blanks gave no number", (
        "batches, days and spike (2 to 10 times) keep the procedure"
    )
    assert [part["from"] for part in row["parts"]] == ["spiked replicates", "method blanks"]
    assert "recalled" in row["citation"]


def test_blanks_of_a_site_beside_the_limits_delivered(office: Any) -> None:
    """Seven blanks near 0.5 ug/L under results with a detection limit of 0.1; numbers invented."""
    office.plain_site()
    same = {"medium": "groundwater", "unit": "ug/L", "method": "8260", "analyte": "Benzene"}
    rows = [{**same, "sample_id": f"MB{n}", "sample_kind": "method_blank", "batch": n, "result": f"0.{n}"} for n in range(1, 8)]
    rows.append(
        {**same, "sample_id": "W", "sample_kind": "field", "result": "<1", "detection_limit": "0.1", "reporting_limit": "1"}
    )
    assert office.run("import", office.deliverable("b.csv", rows), "--site", "one").status == 0
    (row,) = office.run("laboratory", "detection-limit", "--site", "one").document["limits"]
    assert near(row["limit"], Decimal("0.4") + Decimal("3.142668") * Decimal("0.2160247"), "0.0001")
    assert row["delivered"] == {"low": "0.1", "high": "0.1"} and "lies below what the blanks show" in row["note"]
    assert office.run("laboratory", "detection-limit", "--site", "one", "--analyte", "Toluene").status == 1
    assert office.run("laboratory", "detection-limit").status == 2


def test_the_limit_of_one_sample(example: Example, office: Any) -> None:
    """i04 by hand: 6.25, 0.2306805 above the level of 0.1, and 0.176; the formula is recalled from SW-846 8000D."""
    case = example("i04_dry_weight_and_rl")
    cases, answer, tolerance = case["data"]["cases"], case["hand_answer"], case["tolerance"]["abs"]
    a, b, d = cases["A"], cases["B"], cases["D"]
    assert adjusted_limit(a["base_rl"], Handling(percent_solids=a["percent_solids"])) == answer["A_adjusted_rl"]
    exact = adjusted_limit(
        b["base_rl"], Handling(b["dilution"], b["nominal_g"], b["sample_g"], percent_solids=b["percent_solids"])
    )
    assert near(exact, answer["B_adjusted_rl"], tolerance)
    words = ["--limit", b["base_rl"], "--dilution", b["dilution"], "--nominal-amount", b["nominal_g"], "--amount", b["sample_g"]]
    said = office.run(
        "laboratory", "sample-limit", *words, "--solids", b["percent_solids"], "--level", b["level"], "--unit", "mg/kg"
    )
    assert said.status == 3 and said.document["above_level"] is answer["B_rl_above_level"]
    assert near(said.document["limit"], answer["B_adjusted_rl"], "1e-6") and "proves nothing there" in said.document["text"]
    words = [
        "--limit",
        d["base_rl"],
        "--nominal-amount",
        d["nominal_g"],
        "--amount",
        d["sample_g"],
        "--nominal-volume",
        d["nominal_final_ml"],
    ]
    said = office.run("laboratory", "sample-limit", *words, "--volume", d["final_ml"], "--moisture", 100 - d["percent_solids"])
    assert said.status == 0 and Decimal(said.document["limit"]) == answer["D_adjusted_rl"]


def test_a_limit_at_its_level_is_not_above_it(office: Any) -> None:
    """0.08 at 80 % solids is 0.1 exactly; a trace more is shown to as many figures as it takes."""
    words = ("laboratory", "sample-limit", "--solids", "80", "--level", "0.1", "--limit")
    assert office.run(*words, "0.08").document["above_level"] is False
    above = office.run(*words, "0.0800000001").document
    assert above["above_level"] is True and Decimal(above["limit"]) > Decimal("0.1")


@pytest.mark.parametrize(
    "wrong", [["--solids", "0"], ["--solids", "101"], ["--amount", "0"], ["--solids", "80", "--moisture", "20"], ["--level", "x"]]
)
def test_words_that_make_no_limit(office: Any, wrong: list[str]) -> None:
    assert office.run("laboratory", "sample-limit", "--limit", "1", *wrong).status == 2


def test_methanol_extracts_hold_the_water_of_the_soil(example: Example, office: Any) -> None:
    """i05 by hand: 12 mL of extract, 3000 ug/kg dry, 2500 where the water is left out (rule recalled from SW-846 8000D)."""
    case = example("i05_methanol_extract_moisture")
    data, answer = case["data"], case["hand_answer"]
    extract = MethanolExtract(data["methanol_ml"], data["soil_wet_g"], data["moisture_percent"])
    assert extract.volume_ml == answer["extract_volume_ml"]
    words = ["--methanol", data["methanol_ml"], "--soil", data["soil_wet_g"], "--moisture", data["moisture_percent"]]
    read = ["--reading", data["instrument_ug_per_l"], "--purge", data["purge_ml"], "--aliquot", data["aliquot_ml"]]
    said = office.run("laboratory", "methanol", *words, *read, "--result", answer["ug_per_kg_dry_without_water_correction"])
    assert said.status == 0
    assert Decimal(said.document["ug_per_kg_dry"]) == Decimal(said.document["corrected"]) == answer["ug_per_kg_dry"]
    assert Decimal(said.document["without_water"]) == answer["ug_per_kg_dry_without_water_correction"]
    assert office.run("laboratory", "methanol", *words, "--reading", "40").status == 2


def test_every_example_of_quality_control_dry_weight_and_units_is_tested(reference: Path) -> None:
    """The examples g…, i… and j… of the reference folder: each is named in a test of this folder."""
    text = "".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))
    names = {path.stem for path in (reference / "stats").glob("[gij]*.json")}
    assert len(names) == 12 and {name for name in names if f'"{name}' not in text and f"{name}.json" not in text} == set()
