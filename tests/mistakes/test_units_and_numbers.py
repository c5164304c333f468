"""Mistakes with units, basis and numbers: caught at the door, or carried exactly."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest


def test_m01_parts_per_billion_are_not_parts_per_million(tell: Any, soil: Any, water: Any) -> None:
    told = tell([soil("Benzene", "312", unit="ppb"), water("Benzene", "3", unit="ppb"), water("Toluene", "3", unit="ppm")])
    kept = {(item["medium"], item["analyte"]): (item["value"], item["unit"]) for item in told.results}
    assert kept == {
        ("soil", "Benzene"): ("0.312", "mg/kg"), ("groundwater", "Benzene"): ("3", "ug/L"), ("groundwater", "Toluene"): ("3000", "ug/L"),
    }  # fmt: skip
    assert told.outcome("S1", "Benzene")["ratio"] == "1.27"


def test_m01_a_unit_that_contradicts_itself_is_held(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "312", unit="ug/kg (ppm)")])
    assert (told.held[2]["text"], told.results, told.status) == ("ug/kg (ppm)", [], "undetermined")
    assert "'ug/kg', 'ppm' are not the same size" in told.held[2]["reason"]


def test_m02_a_table_in_two_units_is_compared_in_each_level_s_own(tell: Any, water: Any) -> None:
    rows = [water("Diesel range organics", "0.61", unit="mg/L"), water("Oil range organics", "440"), water("Benzene", "1.1")]
    told = tell(rows, place="us-wa", levels="us-wa/groundwater-method-a@2001-08-15", more="")
    diesel = told.outcome("W1", "Diesel range organics")
    assert (diesel["value"], diesel["unit"], diesel["level"], diesel["level_unit"]) == ("610", "ug/L", "0.500", "mg/L")
    assert (diesel["outcome"], told.outcome("W1", "Oil range organics")["outcome"]) == ("exceeds", "does_not_exceed")


def test_m02_a_result_without_a_unit_is_held(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.1"), soil("Toluene", "0.1", unit="")])
    assert {row: item["reason"] for row, item in told.held.items()} == {3: "no unit is given"}
    assert (len(told.screen["outcomes"]), told.status) == (1, "undetermined")


def test_m03_wet_results_are_dried_with_their_own_solids_or_stay_open(tell: Any, soil: Any) -> None:
    told = tell(
        [
            soil("Benzene", "0.21", basis="as_received", percent_solids="81"),
            soil("Benzene", "0.21", basis="as_received", sample_id="S2"),
            soil("Benzene", "0.21", basis="", sample_id="S3"),
        ]
    )
    dried = told.outcome("S1", "Benzene")
    assert (dried["outcome"], Decimal(dried["value"]).quantize(Decimal("0.001"))) == ("exceeds", Decimal("0.259"))
    assert "dry weight at 81 % solids" in dried["because"]
    assert told.result("S1", "Benzene")["value"] == "0.21"
    wet, unknown = told.outcome("S2", "Benzene"), told.outcome("S3", "Benzene")
    assert (wet["outcome"], unknown["outcome"]) == ("open", "open")
    assert "as received and no percent solids" in wet["because"]
    assert "the basis (dry or as received) is not stated" in unknown["because"]


def test_m04_limits_are_converted_with_the_result(tell: Any, soil: Any) -> None:
    limits = {"reporting_limit": "162", "quantitation_limit": "162", "detection_limit": "81", "limit_unit": "ug/kg"}
    told = tell([soil("Benzene", "<162", unit="ug/kg", basis="as_received", percent_solids="81", **limits)])
    kept = told.result("S1", "Benzene")
    assert (kept["limit"], kept["reporting_limit"], kept["detection_limit"]) == ("0.162", "0.162", "0.081")
    dried = told.outcome("S1", "Benzene")
    assert (dried["limit"], dried["reporting_limit"], dried["outcome"]) == ("0.2", "0.2", "does_not_exceed")


def test_m04_a_limit_in_its_own_unit_keeps_its_size(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "ND", unit="ug/kg", reporting_limit="0.162", limit_unit="mg/kg")])
    assert (told.result("S1", "Benzene")["limit"], told.outcome("S1", "Benzene")["limit"]) == ("0.162", "0.162")


def test_m05_the_dilution_is_shown_and_never_multiplied(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.2", dilution="50"), soil("Toluene", "<0.25", dilution="50", reporting_limit="0.25")])
    benzene, toluene = told.result("S1", "Benzene"), told.result("S1", "Toluene")
    assert (benzene["value"], benzene["dilution"]) == ("0.2", "50")
    assert "limits of diluted analyses are taken as delivered, with the dilution in them" in told.imported["assumptions"]
    assert (toluene["limit"], toluene["reporting_limit"], toluene["dilution"]) == ("0.25", "0.25", "50")
    assert told.outcome("S1", "Benzene")["outcome"] == "does_not_exceed"


def test_m06_nothing_is_rounded_before_it_is_compared(tell: Any, water: Any) -> None:
    rows = [water("Arsenic", "10.4"), water("Benzene", "5.0004"), water("Benzene", "5.00", sample_id="W2")]
    told = tell(rows, place="us", levels="us/drinking-water@2006-01-23", more="")
    assert (told.outcome("W1", "Arsenic")["outcome"], told.outcome("W1", "Arsenic")["level"]) == ("exceeds", "0.010")
    assert told.outcome("W1", "Benzene")["outcome"] == "exceeds"
    assert told.outcome("W2", "Benzene")["outcome"] == "does_not_exceed"


def test_m07_equality_is_exact_and_delivered_figures_stay(tell: Any, soil: Any) -> None:
    texts = {"S1": ("0.246", "mg/kg"), "S2": ("0.24600", "mg/kg"), "S3": ("246", "ug/kg"), "S4": ("0.2460000000001", "mg/kg")}
    told = tell([soil("Benzene", text, unit=unit, sample_id=sample) for sample, (text, unit) in texts.items()])
    outcomes = {item["sample_id"]: item["outcome"] for item in told.screen["outcomes"]}
    assert outcomes == {"S1": "does_not_exceed", "S2": "does_not_exceed", "S3": "does_not_exceed", "S4": "exceeds"}
    assert {item["sample_id"]: item["source"]["text"] for item in told.results} == {
        name: text for name, (text, _) in texts.items()
    }
    assert told.result("S2", "Benzene")["value"] == "0.24600"
    (reason,) = told.screen["recommendation"]["reasons"]
    assert "Benzene 0.2460000000001 mg/kg" in reason["text"]


def test_m08_equal_to_the_level_follows_the_sign_of_each_table(office: Any, water: Any) -> None:
    office.plain_site(place="us-md", levels='us-md/petroleum-triggers", "us/drinking-water@2006-01-23')
    office.run("import", office.deliverable("lab.csv", [water("Benzene", "5")]), "--site", "one")
    answer = office.run("screen", "--site", "one").document
    found = {item["table"]: (item["comparison"], item["outcome"]) for item in answer["outcomes"] if item["analyte"] == "Benzene"}
    assert found == {"us-md/petroleum-triggers": ("at_or_above", "exceeds"), "us/drinking-water": ("above", "does_not_exceed")}


@pytest.mark.parametrize(("other", "value"), [("0,5", "1.000"), ("2.5", "1000")])
def test_m09_the_file_s_other_numbers_decide_what_the_comma_is(tell: Any, soil: Any, other: str, value: str) -> None:
    told = tell([soil("Benzene", "1,000"), soil("Toluene", other)])
    assert told.result("S1", "Benzene")["value"] == value
    said = any("decimal comma, as '0,5' allows no other reading" in text for text in told.imported["assumptions"])
    assert said is (other == "0,5")


def test_m09_an_amount_that_does_not_fit_the_file_s_style_is_held(tell: Any, soil: Any) -> None:
    told = tell([soil("Toluene", "1,5"), soil("Ethylbenzene", "1.5")])
    assert [(row, item["text"]) for row, item in told.held.items()] == [(2, "1,5")]
    assert "decimal comma" in told.held[2]["reason"] and "--set decimal=," in told.held[2]["reason"]
    assert [(item["analyte"], item["value"]) for item in told.results] == [("Ethylbenzene", "1.5")]


def test_m09_where_nothing_settles_the_mark_the_file_is_refused_with_the_question(office: Any) -> None:
    office.plain_site()
    path = office.folder / "lab.csv"
    path.write_text("sample_id;medium;analyte;result;unit;basis\nS1;soil;Benzene;1.000;mg/kg;dry\n", encoding="utf-8")
    said = office.run("import", path, "--site", "one")
    assert (said.status, said.document) == (1, None)
    assert "'1.000' may have a decimal point or a mark of thousands" in said.error
    assert "say --set decimal=. or --set decimal=," in said.error
    assert office.run("import", path, "--site", "one", "--set", "decimal=,").status == 0
    assert [item["value"] for item in office.run("results", "--site", "one").document["results"]] == ["1000"]


def test_m10_a_less_than_sign_is_a_non_detect_with_its_limit(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "<0.3"), soil("Toluene", "<0.005"), soil("Ethylbenzene", "<"), soil("Naphthalene", "")])
    benzene, toluene = told.result("S1", "Benzene"), told.result("S1", "Toluene")
    assert (benzene["detected"], benzene["value"], benzene["limit"]) == (False, None, "0.3")
    assert (toluene["detected"], toluene["value"], toluene["limit"]) == (False, None, "0.005")
    outcomes = {item["analyte"]: item["outcome"] for item in told.screen["outcomes"]}
    assert outcomes == {"Benzene": "open", "Toluene": "does_not_exceed"}
    assert told.held[5]["reason"] == "the result is blank: not detected, or not analysed?"
    assert (told.screen["counts"]["exceeds"], told.status) == (0, "undetermined")


def test_m10_a_bare_sign_is_held_unless_a_limit_stands_beside_it(tell: Any, soil: Any) -> None:
    told = tell([soil("Ethylbenzene", "<"), soil("Toluene", "<", reporting_limit="0.005"), soil("Benzene", "<", sample_id="S2")])
    assert (told.held[2]["text"], told.held[2]["proposal"]) == ("<", "ND")
    assert "without a number and no limit is given" in told.held[2]["reason"]
    assert told.outcome("S1", "Toluene")["limit"] == "0.005"
    office = told.office
    assert office.run("held", "accept", told.held[2]["id"], "--by", "R", "--why", "no limit to be had").status == 0
    assert office.run("held", "accept", told.held[4]["id"], "--by", "R", "--why", "asked", "--as", "<0.004").status == 0
    answer = {item["analyte"]: item["outcome"] for item in office.run("screen", "--site", "one").document["outcomes"]}
    assert answer == {"Toluene": "does_not_exceed", "Ethylbenzene": "open", "Benzene": "does_not_exceed"}


def test_m11_an_unknown_unit_of_depth_is_held(tell: Any, soil: Any) -> None:
    told = tell(
        [soil("Benzene", "0.1", depth_top="3", depth_unit="fathoms"), soil("Benzene", "0.1", depth_top="30 cm", sample_id="S2")]
    )
    assert (told.held[2]["field"], told.held[2]["proposal"]) == ("depth_unit", "ft | m | in")
    assert told.held[2]["reason"] == "depth unit 'fathoms' is not listed"
    assert (told.result("S2", "Benzene")["depth_top"], told.result("S2", "Benzene")["depth_unit"]) == ("30", "cm")


NAMED_DEPTHS = {
    "B-3 (4-6 ft)": ("4", "6", "ft"),
    "SB1-4.5": ("4.5", None, ""),
    "TP-2 @ 7 ft": ("7", None, "ft"),
    "EL-7": (None, None, ""),
}


def test_m11_a_depth_in_a_name_is_offered_and_not_used(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.1", sample_id=name) for name in NAMED_DEPTHS])
    assert {told.result(name, "Benzene")["depth_top"] for name in NAMED_DEPTHS} == {None}
    (note,) = [text for text in told.imported["assumptions"] if "depths may stand in sample names" in text]
    assert "B-3 (4-6 ft): 4 to 6 ft, SB1-4.5: 4.5 in no unit, TP-2 @ 7 ft: 7 ft;" in note
    assert "--set depth=in_sample_name" in note


def test_m11_asked_for_it_the_depth_in_the_name_is_taken(tell: Any, soil: Any) -> None:
    more = soil("Benzene", "0.1", sample_id="B-9 (1-2 ft)", depth_top="8", depth_unit="m")
    told = tell([*(soil("Benzene", "0.1", sample_id=name) for name in NAMED_DEPTHS), more], "--set", "depth=in_sample_name")
    kept = {item["sample_id"]: (item["depth_top"], item["depth_bottom"], item["depth_unit"]) for item in told.results}
    assert kept == {**NAMED_DEPTHS, "B-9 (1-2 ft)": ("1", "2", "ft")}


def test_m11_depths_keep_their_unit_and_without_one_decide_nothing(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.1", depth_top="3", depth_unit="m"), soil("Benzene", "0.1", depth_top="3", sample_id="S2")])
    metres, bare = told.result("S1", "Benzene"), told.result("S2", "Benzene")
    assert (metres["depth_top"], metres["depth_unit"], bare["depth_top"], bare["depth_unit"]) == ("3", "m", "3", "")
    assert "depths are given without a unit; they are shown as delivered and decide nothing" in told.imported["assumptions"]


def test_m11_depths_that_are_no_plain_number_or_part_of_a_name_are_not_assumed(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.1", depth_top="10'4\"", depth_unit="ft"), soil("Benzene", "0.1", sample_id="S2 @ 3 1/2")])
    assert told.held[2]["reason"] == "depth: '10'4\"' is no plain number"
    named = told.result("S2 @ 3 1/2", "Benzene")
    assert (named["depth_top"], named["depth_unit"]) == (None, "")


def test_m15_which_limit_stands_for_the_non_detect_is_shown(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "ND", reporting_limit="0.005", detection_limit="0.001"), soil("Toluene", "ND", detection_limit="0.001"),
        soil("Ethylbenzene", "<0.002", reporting_limit="0.005", detection_limit="0.001"),
    ]  # fmt: skip
    told = tell(rows)
    kept = {item["analyte"]: (item["limit"], item["limit_from"]) for item in told.results}
    assert kept == {
        "Benzene": ("0.005", "reporting limit"), "Toluene": ("0.001", "detection limit"), "Ethylbenzene": ("0.002", "result text"),
    }  # fmt: skip


def test_m16_a_trace_value_keeps_its_number_and_flag(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.3 J", reporting_limit="0.5", detection_limit="0.1")])
    kept, outcome = told.result("S1", "Benzene"), told.outcome("S1", "Benzene")
    assert (kept["detected"], kept["value"], kept["lab_qualifiers"]) == (True, "0.3", "J")
    assert (outcome["outcome"], outcome["qualifiers"]) == ("exceeds", "J")
    assert "estimated" in outcome["because"]


def test_m18_half_the_limit_is_nowhere_put_for_a_non_detect(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "<0.4"), soil("m,p-Xylenes", "<2"), soil("o-Xylene", "<1")])
    assert {item["value"] for item in told.results} == {None}
    total = told.outcome("S1", "Total xylenes")
    assert (total["lower"], total["upper"]) == ("0", "3")


def test_m14_a_bare_nd_takes_the_limit_beside_it_or_stays_open(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "ND", reporting_limit="0.005"), soil("Toluene", "ND")])
    benzene, toluene = told.outcome("S1", "Benzene"), told.outcome("S1", "Toluene")
    assert (benzene["detected"], benzene["limit"], benzene["outcome"]) == (False, "0.005", "does_not_exceed")
    assert told.result("S1", "Benzene")["limit_from"] == "reporting limit"
    assert (toluene["detected"], toluene["limit"], toluene["outcome"]) == (False, None, "open")
    assert any("non-detects come without any limit" in text for text in told.imported["assumptions"])
    assert told.status == "undetermined"


def test_m17_the_limit_that_stands_with_the_row_is_used(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "ND", reporting_limit="0.005"),
        soil("Benzene", "ND", reporting_limit="0.30", sample_id="S2", dilution="60"),
    ]
    told = tell(rows)
    assert [told.outcome(name, "Benzene")["limit"] for name in ("S1", "S2")] == ["0.005", "0.30"]
    assert [told.outcome(name, "Benzene")["outcome"] for name in ("S1", "S2")] == ["does_not_exceed", "open"]


def test_m09_a_comma_read_as_thousands_is_said(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "1,000")])
    assert [item["value"] for item in told.results] == ["1000"]
    assert "comma read as a mark of thousands, as in '1,000'" in told.imported["assumptions"]
