"""Each form of result text from the cell to the outcome: against a level of 0.246 mg/kg (soil, class 1, dry)."""

from __future__ import annotations

from typing import Any

import pytest

# delivered text, extra fields -> class of the row, detected, value or limit, outcome
FORMS: list[tuple[str, dict[str, str], tuple[str, bool | None, str | None, str | None]]] = [
    ("<0.20", {}, ("results", False, "0.20", "does_not_exceed")),
    ("<0.246", {}, ("results", False, "0.246", "does_not_exceed")),
    ("< 0.5 U", {}, ("results", False, "0.5", "open")),
    ("ND", {}, ("results", False, None, "open")),
    ("ND", {"reporting_limit": "0.005"}, ("results", False, "0.005", "does_not_exceed")),
    ("ND(0.5)", {}, ("results", False, "0.5", "open")),
    ("ND @ 0.05", {}, ("results", False, "0.05", "does_not_exceed")),
    ("0.05 U", {}, ("results", False, "0.05", "does_not_exceed")),
    ("0.5 U", {}, ("results", False, "0.5", "open")),
    ("1.2 J", {}, ("results", True, "1.2", "exceeds")),
    ("1,200", {}, ("results", True, "1200", "exceeds")),
    ("1 000", {}, ("results", True, "1000", "exceeds")),
    ("1,5", {}, ("held_back", None, None, None)),
    ("3.4E+03", {}, ("results", True, "3400", "exceeds")),
    ("2.46 x 10^-1", {}, ("results", True, "0.246", "does_not_exceed")),
    (">2000", {}, ("results", True, "2000", "exceeds")),
    (">0.1", {}, ("results", True, "0.1", "open")),
    ("~5", {}, ("results", True, "5", "exceeds")),
    ("Trace", {}, ("results", True, None, "open")),
    ("NA", {}, ("ignored", None, None, None)),
    ("NS", {}, ("ignored", None, None, None)),
    ("--", {}, ("ignored", None, None, None)),
    ("", {}, ("held_back", None, None, None)),
    ("0", {}, ("results", False, None, "open")),
    ("0", {"reporting_limit": "0.005"}, ("results", False, "0.005", "does_not_exceed")),
    ("-0.02", {}, ("held_back", None, None, None)),
    ("-0.02", {"reporting_limit": "0.005"}, ("results", False, "0.005", "does_not_exceed")),
    ("1.2.3", {}, ("held_back", None, None, None)),
    ("0.5/0.7", {}, ("held_back", None, None, None)),
    ("five", {}, ("held_back", None, None, None)),
]


@pytest.fixture
def told(office: Any) -> dict[str, tuple[str, bool | None, str | None, str | None]]:
    """What became of each form, by sample."""
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    same = {"medium": "soil", "analyte": "Benzene", "unit": "mg/kg", "basis": "dry", "reporting_limit": ""}
    rows = [{**same, "sample_id": f"S{at}", "result": text, **more} for at, (text, more, _) in enumerate(FORMS)]
    said = office.run("import", office.deliverable("forms.csv", rows), "--site", "one", "--set", "decimal=.")
    held = {item["row"] for item in said.document["deliverables"][0]["held_back"]}
    outcomes = {item["sample_id"]: item for item in office.run("screen", "--site", "one").document["outcomes"]}
    found: dict[str, tuple[str, bool | None, str | None, str | None]] = {}
    for at in range(len(FORMS)):
        item = outcomes.get(f"S{at}")
        if item is None:
            found[f"S{at}"] = ("held_back" if at + 2 in held else "ignored", None, None, None)
        else:
            amount = item["value"] if item["detected"] else item["limit"]
            found[f"S{at}"] = ("results", item["detected"], amount, item["outcome"])
    return found


def test_every_form_has_its_outcome(told: dict[str, Any]) -> None:
    assert {(at, FORMS[at][0]): told[f"S{at}"] for at in range(len(FORMS))} == {
        (at, text): wanted for at, (text, _, wanted) in enumerate(FORMS)
    }


def test_a_decimal_comma_beside_decimal_points_is_held(office: Any) -> None:
    office.plain_site()
    same = {"medium": "soil", "analyte": "Benzene", "unit": "mg/kg", "basis": "dry"}
    rows = [{**same, "sample_id": f"S{at}", "result": text} for at, text in enumerate(["1,5", "0.05"])]
    said = office.run("import", office.deliverable("marks.csv", rows), "--site", "one")
    assert said.status == 3
    document = said.document["deliverables"][0]
    assert [item["text"] for item in document["held_back"]] == ["1,5"]
    assert any("'1,5'" in note and "'0.05'" in note for note in document["assumptions"])


def test_marks_that_may_be_either_are_a_question_where_semicolons_part_the_cells(office: Any) -> None:
    office.plain_site()
    file = office.folder / "marks.csv"
    file.write_text(
        "sample_id;medium;analyte;unit;basis;result\nS1;soil;Benzene;ug/kg;dry;1.900\nS2;soil;Benzene;ug/kg;dry;246\n", "utf-8"
    )
    said = office.run("import", file, "--site", "one")
    assert said.status == 1
    assert "'1.900'" in said.error
    assert "--set decimal=" in said.error
