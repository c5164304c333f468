"""Each check with a passing, a failing, a boundary and a not-checkable case. All data are invented; figures of the criteria
are those of the shipped edition and named in each test."""

from __future__ import annotations

from typing import Any

from screening.decision.review_words import NONE_HELD

WATER = {"medium": "groundwater", "unit": "ug/L", "method": "8260", "batch": "B1", "sample_kind": "field"}
SOIL = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "sample_kind": "field"}
Rows = list[dict[str, object]]


def field(sample: str, analyte: str = "Benzene", result: str = "9", **more: object) -> dict[str, object]:
    return {"sample_id": sample, "analyte": analyte, "result": result, **more}


def test_holding_time(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Benzene in water: 14 days (county plans, second-hand); more than twice is grossly late (recalled)."""
    taken = {"sampled_at": "2025-05-01"}
    document = reviewed(
        [
            field("GOOD", result="<1", **taken, analysed_at="2025-05-10"),
            field("EDGE", result="<1", **taken, analysed_at="2025-05-15"),
            field("LATE", result="<1", **taken, analysed_at="2025-05-16"),
            field("LATE", "Toluene", "3", **taken, analysed_at="2025-05-16"),
            field("GROSS", result="<1", **taken, analysed_at="2025-05-30"),
            field("GROSS", "Toluene", "3", **taken, analysed_at="2025-05-30"),
            field("NONE", result="<1"),
        ],
        **WATER,
    )
    assert by_sample(document, "holding_time") == {"LATE": ("biased_low", "estimated"), "GROSS": ("biased_low", "rejected")}
    assert states(document, "holding_time") == {
        "GOOD": "ok", "EDGE": "ok", "LATE": "open", "GROSS": "rejected", "NONE": "not_checked",
    }  # fmt: skip
    assert {item["transcription"] for item in document["findings"] if item["check"] == "holding_time"} == {"memory"}
    assert document["findings"][0]["qualifier"] == "rejected", "worst first"


def test_a_limit_in_hours_without_a_time_of_day_is_said(reviewed: Any, states: Any) -> None:
    """Hexavalent chromium in water: 24 hours (recalled)."""
    taken = {"analyte": "Hexavalent chromium", "result": "<1"}
    document = reviewed(
        [
            field("TIMES", **taken, sampled_at="2025-05-01 10:00", analysed_at="2025-05-02 10:00"),
            field("OVER", **taken, sampled_at="2025-05-01 10:00", analysed_at="2025-05-02 10:01"),
            field("DAYS", **taken, sampled_at="2025-05-01", analysed_at="2025-05-02"),
        ],
        **(WATER | {"method": "7196"}),
    )
    assert states(document, "holding_time") == {"TIMES": "ok", "OVER": "open", "DAYS": "not_checked"}
    texts = [item["text"] for item in document["not_checkable"] if item["check"] == "holding_time"]
    assert texts == ["a limit is in hours and the deliverables hold no time of day for it"]


def test_dates_out_of_order_are_asked_about(reviewed: Any, by_sample: Any) -> None:
    """Extracted before it was collected; analysed before collected is held at import already."""
    dates = {"sampled_at": "2025-05-03", "prepared_at": "2025-05-02", "analysed_at": "2025-05-06"}
    document = reviewed([field("BACK", "Pyrene", **dates)], **(WATER | {"method": "8270"}))
    assert by_sample(document, "holding_time") == {"BACK": ("note",)}


def test_a_late_flag_without_dates(reviewed: Any, by_sample: Any) -> None:
    document = reviewed([field("FLAG", result="<1", qualifiers="H"), field("FLAG", "Toluene", "3", qualifiers="H")], **WATER)
    assert by_sample(document, "holding_time") == {"FLAG": ("biased_low", "estimated")}
    assert document["counts"]["late_non_detects"] == 1


def test_a_rerun_after_the_holding_time_does_not_win(office: Any) -> None:
    """The timely analysis stands though the late one has the lower limit; both are shown."""
    office.plain_site()
    rows = [
        {**WATER, **field("R", result="<4", sampled_at="2025-05-01", analysed_at="2025-05-09", run_no="1", dilution="10")},
        {**WATER, **field("R", result="<0.4", sampled_at="2025-05-01", analysed_at="2025-05-20", run_no="2", dilution="1")},
    ]
    assert office.run("import", office.deliverable("r.csv", rows), "--site", "one").status == 0
    found = {item["limit"]: item for item in office.run("results", "--site", "one", "--all").document["results"]}
    assert (
        found["4"]["chosen"] is True
        and found["0.4"]["because"] == "not chosen: not detected and late, a timely analysis stands for it"
    )


def test_temperature(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Volatiles in water: above 6 told, above 10 estimated, above 20 non-detects rejected (EPA Region 9 SOP 901, read)."""
    document = reviewed(
        [
            field("COOL", received_temperature="4.2"),
            field("EDGE", received_temperature="6"),
            field("TOLD", received_temperature="6.1"),
            field("TEN", received_temperature="10"),
            field("WARM", received_temperature="10.1 C"),
            field("HOT", result="<1", received_temperature="20.5"),
            field("NONE"),
        ],
        **WATER,
    )
    assert by_sample(document, "temperature") == {
        "TOLD": ("note",),
        "TEN": ("note",),
        "WARM": ("estimated",),
        "HOT": ("rejected",),
    }
    assert states(document, "temperature")["EDGE"] == "ok" and states(document, "temperature")["NONE"] == "not_checked"


def test_preservation(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Volatiles in water not acidified: 8 to 28 days estimated, beyond 28 non-detects rejected (EPA Region 9 SOP 901, read)."""
    said = {"comment": "vials unpreserved on receipt", "sampled_at": "2025-05-01"}
    document = reviewed(
        [
            field("SOON", result="<1", **said, analysed_at="2025-05-08"), field("NINTH", result="<1", **said, analysed_at="2025-05-09"),
            field("EDGE", result="<1", **said, analysed_at="2025-05-29"), field("GROSS", result="<1", **said, analysed_at="2025-05-30"),
            field("FINE", result="<1", comment="preserved with acid"), field("LEAD", "Lead", **said, analysed_at="2025-05-30"),
        ],
        **(WATER | {"method": ""}),
    )  # fmt: skip
    assert by_sample(document, "preservation") == {
        "SOON": ("note",), "NINTH": ("estimated",), "EDGE": ("estimated",), "GROSS": ("rejected",), "LEAD": ("note",),
    }  # fmt: skip
    assert states(document, "preservation")["NINTH"] == "open" and states(document, "preservation")["FINE"] == "ok"


def test_method_blank(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Within 5 times the blank: likely too high; at or below its limit: not detected (US DoD Table A, read)."""
    document = reviewed(
        [
            field("FAR", result="10.1", reporting_limit="1"), field("EDGE", result="10", reporting_limit="1"),
            field("NEAR", result="3", reporting_limit="1"), field("LOW", result="0.9", reporting_limit="1"),
            field("OTHER", result="3", batch="B2"), field("CLEAN", result="<1"),
            field("MB", result="2", sample_kind="method_blank"),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "method_blank") == {
        "EDGE": ("biased_high",), "NEAR": ("biased_high",), "LOW": ("not_detected_at_limit",), "MB": ("note",),
    }  # fmt: skip
    assert states(document, "method_blank") == {
        "FAR": "ok", "EDGE": "biased_high", "NEAR": "biased_high", "LOW": "not_detected_at_limit", "OTHER": "not_checked", "CLEAN": "ok",
    }  # fmt: skip


def test_common_laboratory_solvents_have_ten_times(reviewed: Any, by_sample: Any) -> None:
    """Methylene chloride within 10 times the blank (recalled)."""
    rows = [
        field("A", "Methylene chloride", "20"),
        field("B", "Methylene chloride", "20.1"),
        field("MB", "Methylene chloride", "2", sample_kind="method_blank"),
    ]
    assert by_sample(reviewed(rows, **WATER), "method_blank") == {"A": ("biased_high",), "MB": ("note",)}


def test_blanks_that_travelled(reviewed: Any, by_sample: Any, states: Any) -> None:
    """A trip blank speaks for what came the same day, field and equipment blanks for what was taken the same day."""
    one, two = (
        {"sampled_at": "2025-05-01", "received_at": "2025-05-02"},
        {"sampled_at": "2025-05-03", "received_at": "2025-05-04"},
    )
    document = reviewed(
        [
            field("ONE", result="5", **one), field("TWO", result="5", **two),
            field("TB", result="1", sample_kind="trip_blank", **one),
            field("FB", result="1", sample_kind="field_blank", **two),
            field("EB", result="0.9", sample_kind="equipment_blank", **two),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "trip_blank") == {"ONE": ("biased_high",), "TB": ("note",)}
    assert by_sample(document, "field_blank") == {"TWO": ("biased_high",), "FB": ("note",)}
    assert by_sample(document, "equipment_blank") == {"EB": ("note",)}, "5 is more than 4.5"
    assert states(document, "trip_blank")["TWO"] == "not_checked" and states(document, "equipment_blank")["TWO"] == "ok"


def test_a_blank_opens_an_exceedance_and_passes_below(office: Any) -> None:
    """A detection that a blank touches lies between 0 and its value; the groundwater level of benzene is 5 ug/L."""
    office.plain_site()
    rows = [
        {**WATER, **field("ABOVE", result="8")}, {**WATER, **field("BELOW", result="4")}, {**WATER, **field("FAR", result="11")},
        {**WATER, **field("MB", result="2", sample_kind="method_blank")},
    ]  # fmt: skip
    assert office.run("import", office.deliverable("b.csv", rows), "--site", "one").status == 0
    answer = office.run("screen", "--site", "one").document
    found = {item["sample_id"]: item for item in answer["outcomes"]}
    assert {sample: item["outcome"] for sample, item in found.items()} == {
        "ABOVE": "open",
        "BELOW": "does_not_exceed",
        "FAR": "exceeds",
    }
    assert found["ABOVE"]["value"] == "8" and found["ABOVE"]["because"].startswith("detected in a blank")


def test_lab_control(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Below the limit: too low, non-detects estimated, below 10 % rejected; above: too high, non-detects unmarked (recalled)."""
    limits = {"recovery_low": "70", "recovery_high": "130", "sample_kind": "lab_control", "result": "", "unit": "%"}

    def batch(name: str, percent: str, **more: object) -> Rows:
        control = {"sample_id": f"C{name}", "analyte": "Benzene", **limits, "recovery": percent, "batch": name, **more}
        return [field(f"D{name}", batch=name), field(f"N{name}", result="<1", batch=name), control]

    document = reviewed(
        [
            *batch("good", "100"), *batch("edge", "70"), *batch("top", "130"), *batch("low", "69.9"), *batch("high", "130.1"),
            *batch("floor", "9.9"), *batch("ten", "10"), *batch("bare", "60", recovery_low="", recovery_high=""), field("ALONE", batch="none"),
        ],
        **WATER,
    )  # fmt: skip
    found = {sample: words for sample, words in by_sample(document, "lab_control").items() if not sample.startswith("C")}
    assert found == {
        "Dlow": ("biased_low",), "Nlow": ("estimated",), "Dhigh": ("biased_high",), "Dfloor": ("biased_low",), "Nfloor": ("rejected",),
        "Dten": ("biased_low",), "Nten": ("estimated",),
    }  # fmt: skip
    assert states(document, "lab_control")["ALONE"] == "not_checked"
    assert any(
        "1 of 8 laboratory control sample recoveries comes without both limits" in item["text"]
        for item in document["not_checkable"]
    )


def test_matrix_spike_of_an_organic_speaks_for_its_parent_alone(reviewed: Any, by_sample: Any) -> None:
    """Below 10 %: non-detects rejected (SOP 28.0, read); a native amount above 4 times the spike is not judged (recalled)."""
    spike = {
        "analyte": "Benzene",
        "sample_kind": "matrix_spike",
        "result": "",
        "recovery_low": "70",
        "recovery_high": "130",
        "spike_amount": "50",
    }
    document = reviewed(
        [
            field("P1", result="<1"), field("P2", result="200"), field("P3", result="200.1"), field("P4", result="3"), field("Q", result="<1"),
            {**spike, "sample_id": "M1", "parent_sample": "P1", "recovery": "9"}, {**spike, "sample_id": "M2", "parent_sample": "P2", "recovery": "60"},
            {**spike, "sample_id": "M3", "parent_sample": "P3", "recovery": "60"}, {**spike, "sample_id": "M4", "parent_sample": "P4", "recovery": "70"},
            {**spike, "sample_id": "M5", "parent_sample": "elsewhere", "recovery": "20"},
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "matrix_spike") == {
        "P1": ("rejected",), "M1": ("note",), "P2": ("biased_low",), "M2": ("note",), "M3": ("note",), "M5": ("note",),
    }  # fmt: skip
    drowned = next(item for item in document["findings"] if item["sample_id"] == "M3")
    assert drowned["reason"] == "spike_drowned" and "native amount 200.1" in drowned["observed"]
    assert any("the spiked sample of M5 is not among the results" in item["text"] for item in document["not_checkable"])


def test_matrix_spike_of_a_metal_speaks_for_its_batch(reviewed: Any, by_sample: Any) -> None:
    """Below 30 % (SOP 28.0, read); 75 to 125 % where the laboratory states no limits (recalled)."""
    spike = {"sample_kind": "matrix_spike", "result": "", "parent_sample": "P1", "spike_amount": "50"}
    names = {"Lead": "29.9", "Zinc": "30", "Copper": "75", "Nickel": "125", "Cadmium": "125.1"}
    document = reviewed(
        [
            *(field(sample, analyte, result) for analyte in names for sample, result in (("P1", "3"), ("Q", "<1"))),
            *({**spike, "sample_id": "M", "analyte": analyte, "recovery": percent} for analyte, percent in names.items()),
        ],
        **(WATER | {"method": "6010"}),
    )  # fmt: skip
    marks = {
        (item["sample_id"], item["analyte"]): item["qualifier"]
        for item in document["findings"]
        if item["check"] == "matrix_spike" and item["qualifier"]
    }
    assert marks == {
        ("P1", "Lead"): "biased_low", ("Q", "Lead"): "rejected", ("P1", "Zinc"): "biased_low", ("Q", "Zinc"): "estimated", ("P1", "Cadmium"): "biased_high",
    }  # fmt: skip


def test_surrogates_speak_for_their_run_and_kind(reviewed: Any, by_sample: Any) -> None:
    """Below the limit estimated, below 10 % rejected, above marks detections alone (SOP 28.0, read); diluted 5 times: not judged."""

    def run(name: str, percent: str, **more: object) -> Rows:
        surrogate = {
            "sample_id": name,
            "analyte": "Toluene-d8",
            "sample_kind": "surrogate",
            "result": "",
            "unit": "%",
            "recovery": percent,
            "recovery_low": "80",
            "recovery_high": "120",
        }
        return [field(name, **more), field(name, "Toluene", "<1", **more), {**surrogate, **more}]

    document = reviewed(
        [
            *run("GOOD", "100"), *run("EDGE", "80"), *run("LOW", "79"), *run("HIGH", "121"), *run("FLOOR", "9"),
            *run("DIL", "40", dilution="5"), field("LOW", "Lead", "3", method="6010"), field("NONE"),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "surrogate") == {
        "LOW": ("biased_low", "estimated", "note"), "HIGH": ("biased_high", "note"), "FLOOR": ("biased_low", "note", "rejected"), "DIL": ("note",),
    }  # fmt: skip
    assert document["grid"][[row["sample_id"] for row in document["grid"]].index("NONE")]["checks"]["surrogate"] == "not_checked"


def test_one_semivolatile_surrogate_is_not_enough(reviewed: Any, by_sample: Any) -> None:
    """Two of one part, acids or bases and neutrals, before results are marked (SOP 28.0, read)."""

    def surrogate(sample: str, name: str, percent: str) -> dict[str, object]:
        return {
            "sample_id": sample,
            "analyte": name,
            "sample_kind": "surrogate",
            "result": "",
            "unit": "%",
            "recovery": percent,
            "recovery_low": "40",
            "recovery_high": "130",
        }

    document = reviewed(
        [
            field("ONE", "Pyrene"), surrogate("ONE", "2-Fluorobiphenyl", "30"), surrogate("ONE", "Nitrobenzene-d5", "80"), surrogate("ONE", "Phenol-d6", "30"),
            field("TWO", "Pyrene"), field("TWO", "Phenol"), surrogate("TWO", "2-Fluorobiphenyl", "30"), surrogate("TWO", "Nitrobenzene-d5", "39"),
        ],
        **(WATER | {"method": "8270"}),
    )  # fmt: skip
    found = by_sample(document, "surrogate")
    assert found["ONE"] == ("note", "note") and found["TWO"] == ("biased_low", "biased_low", "note", "note")
    assert {item["analyte"] for item in document["findings"] if item["qualifier"] and item["check"] == "surrogate"} == {"Pyrene"}


def test_field_duplicate(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Water: 30 % (county plan, second-hand), above five times the limit; else two limits (recalled)."""

    def pair(name: str, one: str, two: str, **more: object) -> Rows:
        return [
            field(name, result=one, **({"reporting_limit": "1"} | more)),
            field(f"{name}D", result=two, sample_kind="field_duplicate", parent_sample=name, **({"reporting_limit": "1"} | more)),
        ]

    document = reviewed(
        [
            *pair("GOOD", "100", "110"), *pair("EDGE", "85", "115"), *pair("APART", "85", "116"), *pair("LOW", "2", "4"), *pair("LOWAPART", "2", "4.1"),
            *pair("HALF", "<1", "3.5"), *pair("BARE", "10", "90", reporting_limit=""), field("LONE", sample_kind="field_duplicate", parent_sample="nobody"),
        ],
        **WATER,
    )  # fmt: skip
    found = by_sample(document, "field_duplicate")
    assert found == dict.fromkeys(("APART", "APARTD", "LOWAPART", "LOWAPARTD", "HALF", "HALFD"), ("estimated",))
    assert states(document, "field_duplicate")["BARE"] == "not_checked"
    texts = [item["text"] for item in document["not_checkable"] if item["check"] == "field_duplicate"]
    assert any("LONE" in text for text in texts) and any("1 field duplicate pair comes without a limit" in text for text in texts)


def test_lab_duplicate(reviewed: Any, by_sample: Any) -> None:
    """30 % (county plan, second-hand); solids below five times the limit: two limits (recalled for metals)."""

    def pair(name: str, one: str, two: str) -> Rows:
        return [
            field(name, result=one, reporting_limit="1"),
            field(name, result=two, reporting_limit="1", sample_kind="lab_duplicate"),
        ]

    document = reviewed(
        [
            *pair("GOOD", "20", "22"),
            *pair("EDGE", "85", "115"),
            *pair("APART", "85", "116"),
            *pair("LOW", "2", "4"),
            field("NONE"),
        ],
        **SOIL,
    )
    assert by_sample(document, "lab_duplicate") == {"APART": ("estimated",)}


def test_pairs_of_spikes_by_amount_and_by_recovery(reviewed: Any, by_sample: Any) -> None:
    """30 % (county plan, second-hand); recoveries stand in where no amounts are delivered, and that is said."""

    def pair(parent: str, analyte: str, first: dict[str, object], second: dict[str, object]) -> Rows:
        same = {"analyte": analyte, "parent_sample": parent, "result": ""}
        return [
            {**same, "sample_id": f"{parent}M", "sample_kind": "matrix_spike", **first},
            {**same, "sample_id": f"{parent}MD", "sample_kind": "matrix_spike_duplicate", **second},
        ]

    document = reviewed(
        [
            field("A"), *pair("A", "Benzene", {"result": "85"}, {"result": "115"}),
            field("B", "Toluene"), *pair("B", "Toluene", {"result": "85"}, {"result": "116"}),
            field("C", "Ethylbenzene"), *pair("C", "Ethylbenzene", {"recovery": "70"}, {"recovery": "110"}),
            field("D", "o-Xylene"), *pair("D", "o-Xylene", {}, {}),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "matrix_spike_duplicate") == {
        "B": ("estimated",),
        "BMD": ("note",),
        "C": ("estimated",),
        "CMD": ("note",),
    }
    criteria = {
        item["sample_id"]: item["criterion"] for item in document["findings"] if item["check"] == "matrix_spike_duplicate"
    }
    assert "by amounts" in criteria["B"] and "by recoveries; comparable only where both were spiked alike" in criteria["C"]
    assert any("1 pair of matrix spikes states neither" in item["text"] for item in document["not_checkable"])


def test_pairs_of_controls(reviewed: Any, by_sample: Any) -> None:
    control = {"analyte": "Benzene", "result": "", "unit": "%"}
    document = reviewed(
        [
            field("A"), {**control, "sample_id": "C", "sample_kind": "lab_control", "recovery": "70"},
            {**control, "sample_id": "CD", "sample_kind": "lab_control_duplicate", "recovery": "110"},
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "lab_control_duplicate") == {"A": ("estimated",), "CD": ("note",)}


def test_over_range(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Flagged over range: a diluted run stands for it, or the result is estimated (recalled)."""
    document = reviewed(
        [
            field("DIL", result="90", qualifiers="E", dilution="1"),
            field("DIL", result="120", dilution="10"),
            field("ALONE", result="90", qualifiers="E"),
        ],
        **WATER,
    )
    assert by_sample(document, "over_range") == {"ALONE": ("estimated",)} and states(document, "over_range")["DIL"] == "ok"


def test_limits(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Detected below the quantitation limit: estimated (SOP 28.0, read); at it: not."""
    both = {"quantitation_limit": "5", "detection_limit": "1"}
    document = reviewed(
        [
            field("GOOD", result="9", **both), field("EDGE", result="5", **both), field("TRACE", result="4.9", **both),
            field("CROSSED", result="9", quantitation_limit="1", detection_limit="2"), field("BARE", result="ND"),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "limits") == {"TRACE": ("estimated",), "CROSSED": ("note",), "BARE": ("note",)}
    assert states(document, "limits")["EDGE"] == "ok"


def test_zero_or_negative(reviewed: Any, by_sample: Any) -> None:
    limit = {"reporting_limit": "1"}
    document = reviewed(
        [
            field("ZERO", result="0", **limit),
            field("MINUS", result="-0.3", **limit),
            field("FLAG", result="0", qualifiers="U", **limit),
            field("SMALL", result="0.001"),
        ],
        **WATER,
    )
    assert by_sample(document, "zero_or_negative") == {"ZERO": ("note",), "MINUS": ("note",)}


def test_percent_solids(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Below 30 % estimated, below 10 % non-detects rejected (recalled)."""
    document = reviewed(
        [
            field("DRY", percent_solids="80"), field("EDGE", percent_solids="30"), field("WET", percent_solids="29.9"), field("TEN", result="<1", percent_solids="10"),
            field("MUD", result="<1", percent_solids="9.9"), field("NONE"), field("OWN", result="2"), field("OWN", "Percent solids", "20", unit="%"),
        ],
        **SOIL,
    )  # fmt: skip
    assert by_sample(document, "percent_solids") == {
        "WET": ("estimated",),
        "TEN": ("estimated",),
        "MUD": ("rejected",),
        "OWN": ("estimated",),
    }
    assert states(document, "percent_solids")["NONE"] == "not_checked" and states(document, "percent_solids")["EDGE"] == "ok"


def test_total_and_dissolved(reviewed: Any, by_sample: Any, states: Any) -> None:
    """30 % where both are above five times the limit, else two limits (SOP 28.0, read)."""

    def pair(name: str, total: str, dissolved: str, limit: str = "1") -> Rows:
        return [
            field(name, "Lead", text, fraction=part, reporting_limit=limit)
            for text, part in ((total, "total"), (dissolved, "dissolved"))
        ]

    document = reviewed(
        [
            *pair("GOOD", "100", "90"), *pair("EDGE", "100", "130"), *pair("OVER", "100", "130.1"), *pair("LOW", "3", "5"), *pair("LOWOVER", "3", "5.1"),
            *pair("HALF", "<1", "3.1"), *pair("BARE", "3", "9", ""), field("NONE", "Lead"),
        ],
        **(WATER | {"method": "6010"}),
    )  # fmt: skip
    assert by_sample(document, "total_and_dissolved") == dict.fromkeys(("OVER", "LOWOVER", "HALF"), ("estimated", "estimated"))
    assert states(document, "total_and_dissolved")["NONE"] == states(document, "total_and_dissolved")["BARE"] == "not_checked"


def test_sums_isomers_and_species(reviewed: Any, by_sample: Any, states: Any) -> None:
    """Within half a unit of each printed figure the parts may miss their sum (common practice, no source)."""

    def xylenes(name: str, total: str, mp: str, o: str) -> Rows:
        return [field(name, analyte, text) for analyte, text in (("Total xylenes", total), ("m,p-Xylene", mp), ("o-Xylene", o))]

    document = reviewed(
        [
            *xylenes("GOOD", "30", "20", "10"), *xylenes("EDGE", "30", "20.5", "10.1"), *xylenes("JUST", "30", "20.5", "10.2"), *xylenes("OVER", "30", "21", "11"), *xylenes("UNDER", "30", "18", "<1"),
            *xylenes("HALF", "20.4", "20", "<1"), field("PART", "Total xylenes"), field("CR", "Chromium", "5"), field("CR", "Hexavalent chromium", "8"),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "sums") == {
        "JUST": ("estimated",),
        "OVER": ("estimated",),
        "UNDER": ("estimated",),
        "CR": ("estimated", "estimated"),
    }
    assert states(document, "sums")["PART"] == "not_checked" and states(document, "sums")["HALF"] == "ok"


def test_batches_and_trip_blanks(reviewed: Any, by_sample: Any, states: Any) -> None:
    """A blank and a control in every batch (common practice); a trip blank a day (SW-846 Chapter One, read)."""
    control = {"sample_id": "C", "analyte": "Benzene", "sample_kind": "lab_control", "result": "", "unit": "%", "recovery": "100"}
    document = reviewed(
        [
            field("GOOD", sampled_at="2025-05-01"), field("MB", result="<1", sample_kind="method_blank"), control, field("BAD", batch="B2", sampled_at="2025-05-02"),
            field("TB", result="<1", sample_kind="trip_blank", sampled_at="2025-05-01"), field("NONE", batch="", sampled_at="2025-05-01"),
        ],
        **WATER,
    )  # fmt: skip
    assert by_sample(document, "batches") == {"BAD": ("note",)} and states(document, "batches")["NONE"] == "not_checked"
    assert (
        by_sample(document, "trip_blank_each_day") == {"BAD": ("note",)}
        and states(document, "trip_blank_each_day")["GOOD"] == "ok"
    )


def test_custody(reviewed: Any) -> None:
    asked = '[[custody]]\nsample = "S1"\nanalyses = ["VOC"]\n[[custody]]\nsample = "S2"\nanalyses = ["VOC"]\n'
    document = reviewed([field("S1")], asked, **WATER)
    (gap,) = [item for item in document["findings"] if item["check"] == "custody"]
    assert gap["observed"] == "sample S2 stands on the custody record and was never delivered (VOC)"


QUALITY = (
    "preservation", "adjusted_limits",
    "holding_time", "temperature", "method_blank", "trip_blank", "field_blank", "equipment_blank", "lab_control", "matrix_spike",
    "matrix_spike_duplicate", "lab_control_duplicate", "surrogate", "percent_solids", "field_duplicate", "lab_duplicate", "over_range",
    "limits", "total_and_dissolved", "sums", "batches", "trip_blank_each_day", "custody",
)  # fmt: skip


def test_without_any_quality_control_each_check_says_so(reviewed: Any) -> None:
    """No false comfort: one bare soil result."""
    document = reviewed([field("BARE", result="0.1")], **SOIL)
    assert {item["check"] for item in document["not_checkable"]} == set(QUALITY)
    assert document["findings"] == [] and document["counts"]["marked"] == {}
    assert {check: state for check, state in document["grid"][0]["checks"].items() if state != "not_checked"} == {
        "zero_or_negative": "ok"
    }
    assert all(
        item["text"].removeprefix(NONE_HELD).split(": screening ")[0] in document["summary"] for item in document["not_checkable"]
    ), "none is hidden"
    assert document["summary"].count("Checked: ") == 1 and "signs of the results of 1 sample." in document["summary"]


def test_the_most_severe_mark_stands_with_all_reasons(office: Any) -> None:
    office.plain_site()
    rows = [{**WATER, **field("X", result="<1", sampled_at="2025-05-01", analysed_at="2025-05-17", received_temperature="21")}]
    assert office.run("import", office.deliverable("x.csv", rows), "--site", "one").status == 0
    (outcome,) = office.run("screen", "--site", "one").document["outcomes"]
    assert (outcome["outcome"], outcome["review_qualifiers"]) == ("open", "rejected")
    assert "warm" in outcome["review_reasons"] and "late" in outcome["review_reasons"]


def test_biased_values_near_the_level_are_named(office: Any) -> None:
    """The groundwater level of benzene is 5 ug/L; 'near' is within 2 times (common practice, no source)."""
    office.plain_site()
    control = {
        "analyte": "Benzene",
        "sample_kind": "lab_control",
        "result": "",
        "unit": "%",
        "recovery_low": "70",
        "recovery_high": "130",
    }
    rows: Rows = [
        {**WATER, **field("PASS", result="2.5")}, {**WATER, **field("SMALL", result="2.4")}, {**WATER, **control, "sample_id": "C1", "recovery": "50"},
        {**WATER, **field("OVER", result="6", batch="B2")}, {**WATER, **control, "sample_id": "C2", "recovery": "150", "batch": "B2"},
    ]  # fmt: skip
    assert office.run("import", office.deliverable("n.csv", rows), "--site", "one").status == 0
    notes = office.run("screen", "--site", "one").document["recommendation"]["notes"]
    assert any(note.startswith("Benzene 2.5 ug/L") and "likely too low" in note for note in notes)
    assert any(note.startswith("Benzene 6 ug/L") and "likely too high" in note for note in notes)
    assert not any("2.4" in note for note in notes)
