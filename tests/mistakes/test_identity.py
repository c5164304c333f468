"""Mistakes with the identity of what was measured: repaired only by a person, kept apart, never merged by likeness."""

from __future__ import annotations

from typing import Any

SPOILED = [
    ("Methylene chloride", "1975-09-02", "looks like a date made by a spreadsheet", "75-09-2"),
    ("Methoxychlor", "2-43-5", "the check digit fails", "72-43-5"),
    ("Benzene", "71-43-3", "the check digit fails", "71-43-2"),
    ("Toluene", "71-43-2", "name and CAS number disagree", "108-88-3 | Benzene"),
]


def test_m20_a_spoiled_cas_number_waits_for_a_person(tell: Any, soil: Any) -> None:
    told = tell([soil(analyte, "0.1", cas=cas) for analyte, cas, _, _ in SPOILED])
    assert (told.results, told.status) == ([], "undetermined")
    for row, (_, cas, reason, proposal) in enumerate(SPOILED, 2):
        assert (told.held[row]["text"], told.held[row]["proposal"]) == (cas, proposal)
        assert reason in told.held[row]["reason"]


def test_m21_lost_hyphens_are_restored_and_said(tell: Any, soil: Any) -> None:
    told = tell([soil("Arsenic", "0.1", cas="744038-2"), soil("Benzene", "0.1", cas="71432")])
    assert {item["analyte"]: item["cas"] for item in told.results} == {"Arsenic": "7440-38-2", "Benzene": "71-43-2"}
    for text in ("hyphens restored: 744038-2 read as 7440-38-2", "hyphens restored: 71432 read as 71-43-2"):
        assert text in told.imported["assumptions"]


def test_m22_spellings_are_one_analyte_and_a_misspelling_is_held(tell: Any, soil: Any) -> None:
    names = ["Benzo(a)pyrene", "Benzo[a]pyrene", "Benzo-a-pyrene", "BENZO (A) PYRENE", "Benzo a pyrene", "Benzo(a)pyrine"]
    told = tell([soil(name, "0.1", sample_id=f"S{number}") for number, name in enumerate(names)])
    assert {item["analyte"] for item in told.results} == {"Benzo[a]pyrene"}
    assert {item["level"] for item in told.screen["outcomes"]} == {"1.2"}
    assert len(told.results) == 5
    assert told.held[7]["reason"] == "analyte 'Benzo(a)pyrine' is not listed"
    assert told.held[7]["proposal"].split(" | ")[0] == "Benzo[a]pyrene"


INITIALS = {
    "1,2-DCA": ("107-06-2", "1,2-Dichloroethane"), "EDC": ("107-06-2", "1,2-Dichloroethane"),
    "DCA": ("75-34-3", "1,1-Dichloroethane"), "DCE": ("156-59-2", "cis-1,2-Dichloroethene"),
    "TCA": ("71-55-6", "1,1,1-Trichloroethane"),
}  # fmt: skip


def test_m23_initials_alone_are_held_and_their_cas_number_settles_them(tell: Any, soil: Any) -> None:
    alone = [soil(initials, "0.1", sample_id="alone") for initials in INITIALS]
    told = tell([*alone, *(soil(initials, "0.1", cas=cas, sample_id=initials) for initials, (cas, _) in INITIALS.items())])
    assert list(told.held) == [2, 3, 4, 5, 6]
    for row, (initials, (cas, analyte)) in enumerate(INITIALS.items(), 2):
        assert told.held[row]["reason"].startswith(f"'{initials}' alone may mean ")
        assert analyte in told.held[row]["proposal"].split(" | ")
        assert told.result(initials, analyte)["cas"] == cas
        assert f"'{initials}' settled by its CAS number {cas}" in told.imported["assumptions"]


def test_m23_edb_stands_for_dibromoethane_unless_its_context_contradicts(tell: Any, soil: Any) -> None:
    rows = [
        soil("EDB", "<0.0005"), soil("EDB", "<0.0005", method="8011", sample_id="S2"), soil("EDB", "<5", method="6010D", sample_id="S3"),
        soil("EDB", "<5", method="6010D", cas="106-93-4", sample_id="S4"), soil("EDB", "<5", cas="107-06-2", sample_id="S5"),
        soil("EDB", "0.3", sample_id="S6", method="8260D"),
        soil("1,2-Dibromoethane", "<0.0005", sample_id="S6", method="8260D"),
    ]  # fmt: skip
    told = tell(rows)
    assert {item["sample_id"] for item in told.results if item["analyte"] == "1,2-Dibromoethane"} == {"S1", "S2", "S4", "S6"}
    assert {row: item["reason"] for row, item in told.held.items()} == {
        4: "initials alone, and the method '6010D' (Metals) does not measure 1,2-Dibromoethane",
        6: "name and CAS number disagree: 'EDB' is 1,2-Dibromoethane, CAS 107-06-2 is 1,2-Dichloroethane; 1,2-Dibromoethane has 106-93-4",
        7: "initials alone, and '1,2-Dibromoethane' stands in the same run with another result",
    }
    assert told.held[4]["proposal"] == told.held[7]["proposal"] == "1,2-Dibromoethane"
    said = told.office.run("held", "accept", told.held[7]["id"], "--by", "R", "--why", "laboratory asked")
    assert said.status == 0, said.error


def test_m24_a_missing_total_is_made_from_its_parts_with_bounds(tell: Any, soil: Any) -> None:
    parts = {"S1": ("30", "20"), "S2": ("<0.010", "<0.005"), "S3": ("40", "<3"), "S4": (None, "1")}
    rows = [
        soil(analyte, text, sample_id=sample)
        for sample, texts in parts.items()
        for analyte, text in zip(("m,p-Xylenes", "o-Xylene"), texts, strict=True)
        if text is not None
    ]
    told = tell(rows)
    found = {
        item["sample_id"]: (item["outcome"], item["lower"], item["upper"], item["level"])
        for item in told.screen["outcomes"]
        if item["analyte"] == "Total xylenes"
    }
    assert found["S1"] == ("exceeds", "50", "50", "42.7")
    assert found["S2"] == ("does_not_exceed", "0", "0.015", "42.7")
    assert found["S3"] == ("open", "40", "43", "42.7")
    assert found["S4"][0] == "open"
    assert "not all parts of the sum are reported" in told.outcome("S4", "Total xylenes")["because"]


def test_m25_a_printed_total_is_not_added_to_its_parts(tell: Any, soil: Any) -> None:
    told = tell([soil("m,p-Xylenes", "22"), soil("o-Xylene", "<1.0"), soil("Total xylenes", "22.5")])
    (only,) = told.screen["outcomes"]
    assert (only["analyte"], only["value"], only["outcome"]) == ("Total xylenes", "22.5", "does_not_exceed")
    assert {item["analyte"] for item in told.results} == {"m,p-Xylene", "o-Xylene", "Total xylenes"}


def test_m25_a_total_below_its_own_parts_clears_nothing(tell: Any, soil: Any) -> None:
    told = tell([soil("m,p-Xylenes", "40"), soil("o-Xylene", "20"), soil("Total xylenes", "30")])
    (only,) = told.screen["outcomes"]
    assert (only["analyte"], only["outcome"]) == ("Total xylenes", "open")
    assert "the parts reported add up to more than the total reported" in only["because"]
    assert told.status == "undetermined"


def test_m25_parts_a_rounding_above_their_total_change_nothing_far_from_the_level(tell: Any, soil: Any) -> None:
    told = tell([soil("m,p-Xylenes", "4.14"), soil("o-Xylene", "1.04"), soil("Total xylenes", "5.1")])
    (only,) = told.screen["outcomes"]
    assert only["outcome"] == "does_not_exceed"


def test_m26_total_chromium_neither_exceeds_the_hexavalent_level_nor_hides_it(tell: Any, soil: Any) -> None:
    rows = [
        soil("Chromium", "41"), soil("Chromium", "0.3", sample_id="S2"), soil("Chromium III", "41", sample_id="S3"),
        soil("Chromium VI", "0.4", sample_id="S4"),
    ]  # fmt: skip
    residential = '[conditions]\npathway = "residential"\n'
    told = tell(rows, levels="us-co/oil-gas-915-1@2021-01-15", place="us-co", more=residential)
    found = {item["sample_id"]: item for item in told.screen["outcomes"] if item["analyte"] == "Hexavalent chromium"}
    assert {sample: item["outcome"] for sample, item in found.items()} == {
        "S1": "open", "S2": "does_not_exceed", "S4": "exceeds",
    }  # fmt: skip
    assert {item["level"] for item in found.values()} == {"0.3"}
    assert "only the total is reported" in found["S1"]["because"]


def test_m27_total_and_dissolved_are_two_results(tell: Any, water: Any) -> None:
    rows = [
        water("Lead, dissolved", "3"), water("Lead, total", "20"), water("Lead", "20", sample_id="W2"),
        water("Lead", "3", fraction="dissolved", sample_id="W2"),
    ]  # fmt: skip
    told = tell(rows, place="us", levels="us/drinking-water@2006-01-23", more="")
    kept = {(item["sample_id"], item["fraction"]): (item["value"], item["chosen"]) for item in told.results}
    assert kept == {
        ("W1", "dissolved"): ("3", True), ("W1", "total"): ("20", True), ("W2", "dissolved"): ("3", True), ("W2", ""): ("20", True),
    }  # fmt: skip
    assert all(item["fraction"] in ("dissolved", "total", "") for item in told.screen["outcomes"])
    assert len(told.screen["outcomes"]) == 4


def test_m28_free_and_total_cyanide_and_the_species_of_mercury_are_kept_apart(tell: Any, water: Any) -> None:
    rows = [water("Cyanide, free", "1"), water("Cyanide, total", "9"), water("Mercury", "0.1"), water("Methylmercury", "0.01")]
    told = tell(rows, place="us", levels="us/drinking-water@2006-01-23", more="")
    kept = {(item["analyte"], item["fraction"]): item["value"] for item in told.results}
    assert kept == {
        ("Free cyanide", ""): "1", ("Cyanide", "total"): "9", ("Mercury", ""): "0.1", ("Methylmercury", ""): "0.01",
    }  # fmt: skip
    assert {item["analyte"] for item in told.screen["outcomes"] if item["outcome"] == "no_level"} == {"Cyanide", "Methylmercury"}
    assert (told.outcome("W1", "Free cyanide")["level"], told.outcome("W1", "Mercury")["level"]) == ("0.2", "0.002")


def test_m28_organic_lead_is_no_lead(tell: Any, water: Any) -> None:
    told = tell([water("Lead, organic", "1")], place="us", levels="us/drinking-water@2006-01-23", more="")
    assert (told.held[2]["reason"], told.results) == ("analyte 'Lead, organic' is not listed", [])


def test_m29_petroleum_ranges_with_other_ends_are_other_analytes(tell: Any, soil: Any) -> None:
    names = ["TPH C6-C12", "TPH C6-C10", "TPH C10-C20", "TPH C10-C28", "Gasoline range organics (C4-C20)", "TPH"]
    told = tell([soil(name, "1500") for name in names])
    assert told.held[6]["reason"] == "carbon range C4-C20 of 'Gasoline range organics (C4-C20)' is not listed"
    outcomes = {item["analyte"]: item["outcome"] for item in told.screen["outcomes"]}
    assert outcomes == {
        "TPH C6-C12": "exceeds", "TPH C6-C10": "no_level", "TPH C10-C20": "does_not_exceed", "TPH C10-C28": "no_level",
        "Total petroleum hydrocarbons": "no_level",
    }  # fmt: skip


def test_m30_a_recovery_never_becomes_a_concentration(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "0.1"), soil("4-Bromofluorobenzene", "98", unit="%"), soil("Toluene-d8", "98"),
        soil("Toluene", "98", unit="%"), soil("Naphthalene", "98", unit="% rec"),
    ]  # fmt: skip
    told = tell(rows)
    assert (told.imported["rows"]["results"], told.imported["rows"]["quality_control"]) == (1, 2)
    assert {item["analyte"] for item in told.results if item["sample_kind"] == "surrogate"} == {
        "4-Bromofluorobenzene",
        "Toluene-d8",
    }
    assert list(told.held) == [5, 6]
    assert "a percentage is no concentration" in told.held[5]["reason"]
    assert [item["analyte"] for item in told.screen["outcomes"]] == ["Benzene"]


def test_m31_tentative_and_unknown_compounds_stay_on_a_list_of_their_own(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "0.1"), soil("Unknown hydrocarbon", "50"), soil("Unknown alkane (TIC)", "50"), soil("Unknown", "50"),
        soil("Toluene", "500", sample_kind="tentative"),
    ]  # fmt: skip
    told = tell(rows)
    assert (told.imported["rows"]["results"], told.imported["rows"]["quality_control"]) == (1, 4)
    assert sum(item["sample_kind"] == "tentative" for item in told.results) == 4
    assert [item["analyte"] for item in told.screen["outcomes"]] == ["Benzene"]
    assert told.screen["counts"]["exceeds"] == 0


def test_m32_a_leachate_is_not_held_against_a_soil_level(tell: Any, soil: Any) -> None:
    rows = [
        soil("Benzene", "0.2", unit="mg/L"), soil("Benzene", "0.2", unit="mg/L", fraction="leachate", sample_id="S2"),
        soil("Benzene", "0.2", fraction="total", sample_id="S3"),
    ]  # fmt: skip
    told = tell(rows)
    assert told.held[2]["reason"].startswith("an amount per litre in a solid: a leachate test")
    leachate = told.outcome("S2", "Benzene")
    assert (leachate["outcome"], leachate["fraction"]) == ("open", "leachate")
    assert "a leachate result is not compared with a level for the solid" in leachate["because"]
    assert told.outcome("S3", "Benzene")["outcome"] == "does_not_exceed"
    assert told.status == "undetermined"


def test_m32_an_amount_per_mass_in_a_water_is_held(tell: Any, water: Any) -> None:
    told = tell([water("Benzene", "0.2", unit="mg/kg")])
    assert told.held[2]["reason"] == "an amount per mass in a water: wrong unit or medium?"
    assert told.results == []


def test_m33_an_analyte_without_a_level_stays_in_the_table(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "0.1"), soil("Acetone", "5"), soil("2-Butanone", "<0.5")])
    assert told.screen["counts"] == {"exceeds": 0, "open": 0, "no_level": 2, "does_not_exceed": 1}
    acetone = told.outcome("S1", "Acetone")
    assert (acetone["outcome"], acetone["detected"], acetone["value"], acetone["level"]) == ("no_level", True, "5", None)
    assert acetone["because"] == "no level is listed in us-oh/closure"


def test_m71_a_letter_in_no_key_waits_for_the_deliverable_s_own_key(tell: Any, soil: Any) -> None:
    told = tell([soil("Benzene", "5.2 Q"), soil("Toluene", "0.1", qualifiers="X7"), soil("Ethylbenzene", "0.1 J")])
    assert {row: item["text"] for row, item in told.held.items()} == {2: "Q", 3: "X7"}
    assert told.status == "undetermined"
    said = told.office.run("held", "accept", told.held[2]["id"], "--by", "R", "--why", "key on page 2", "--as", "not_detected")
    assert said.status == 0, said.error
    assert (told.result("S1", "Benzene")["detected"], told.result("S1", "Benzene")["limit"]) == (False, "5.2")
