"""Several levels that apply at once or may apply: the strictest governs, the others stand beside it with their own outcome."""

from __future__ import annotations

from typing import Any

import pytest

HEAD = "analyte,cas,medium,level,unit,pathway,comparison,citation,source\n"
TOGETHER = '[conditions.pathway]\nfrom = "site"\nvalues = ["contact", "leaching", "vapour"]\ntitle = "pathway"\napart = true\ntogether = true\n'
ROWS = (
    "Benzene,71-43-2,soil,5,mg/kg,contact,above,made up,made up\nBenzene,71-43-2,soil,2,mg/kg,leaching,above,made up,made up\n"
    "Benzene,71-43-2,soil,2,mg/kg,vapour,at_or_above,made up,made up\n"
)


def _benzene(rule: Any, *results: str) -> None:
    rule.results({"analyte": "Benzene", "result": result} for result in results)


def test_the_strictest_pathway_governs_and_the_others_stand_beside_it(rule: Any) -> None:
    rule.table(HEAD + ROWS, TOGETHER)
    _benzene(rule, "1.9", "2", "3", "6")
    document = rule.screen()
    assert [one["outcome"] for one in document["outcomes"]] == ["does_not_exceed", "exceeds", "exceeds", "exceeds"]
    beside = document["outcomes"][2]["beside"]
    assert [(one["conditions"]["pathway"], one["outcome"], one["governs"]) for one in beside] == [
        ("vapour", "exceeds", True), ("leaching", "exceeds", False), ("contact", "does_not_exceed", False),
    ]  # fmt: skip
    assert "pathway vapour governs of 3 that apply" in document["outcomes"][0]["because"]
    assert not any("not stated" in text for text in document["assumptions"])


def test_a_person_may_state_which_pathways_apply(rule: Any) -> None:
    rule.table(HEAD + ROWS, TOGETHER)
    _benzene(rule, "3", "6")
    only = rule.screen("--condition", "pathway=contact")["outcomes"]
    assert [(one["level"], one["outcome"], one["beside"]) for one in only] == [("5", "does_not_exceed", []), ("5", "exceeds", [])]
    two = rule.screen("--condition", "pathway=contact, leaching")["outcomes"]
    assert [(one["level"], one["outcome"], len(one["beside"])) for one in two] == [("2", "exceeds", 2), ("2", "exceeds", 2)]
    said = rule.office.run("screen", "--site", "one", "--condition", "pathway=contact,drinking")
    assert said.status == 1 and "contact, leaching, vapour, or several of them parted by commas" in said.error


def test_a_pathway_that_was_not_read_clears_nothing_but_the_others_may_exceed(rule: Any) -> None:
    rule.table(
        HEAD
        + "Benzene,71-43-2,soil,5,mg/kg,contact,above,made up,made up\nBenzene,71-43-2,soil,TBD,mg/kg,leaching,above,made up,made up\n",
        TOGETHER,
    )
    _benzene(rule, "3", "6", "<0.1")
    found = rule.screen()["outcomes"]
    assert [one["outcome"] for one in found] == ["open", "exceeds", "open"]
    assert "level not available" in found[0]["because"]


def test_an_unknown_class_shows_what_the_other_classes_would_say(office: Any) -> None:
    """AT-05: benzene 0.91 mg/kg lies above class 1 (0.246) and class 2 (0.437), not above class 3 (1.63)."""
    office.plain_site()
    row = {"sample_id": "CE-4", "medium": "soil", "basis": "dry", "analyte": "Benzene", "result": "0.91", "unit": "mg/kg"}
    assert office.run("import", office.deliverable("s.csv", [row]), "--site", "one").status == 0
    (found,) = office.run("screen", "--site", "one").document["outcomes"]
    assert [(one["level"], one["outcome"], one["governs"]) for one in found["beside"]] == [
        ("0.246", "exceeds", True), ("0.437", "exceeds", False), ("1.63", "does_not_exceed", False),
    ]  # fmt: skip


def test_a_sign_may_hang_on_the_class(rule: Any) -> None:
    """As in Connecticut, RCSA 22a-133k-3(a): a GA area passes at equality, a GB area does not; figures made up."""
    rule.table(
        "analyte,cas,medium,level,unit,area,comparison,citation,source\n"
        "Benzene,71-43-2,groundwater,1,ug/L,GA,above,made up,made up\nBenzene,71-43-2,groundwater,1,ug/L,GB,at_or_above,made up,made up\n",
        '[conditions.area]\nfrom = "site"\nvalues = ["GA", "GB"]\ntitle = "area"\n',
    )
    rule.results([{"medium": "groundwater", "unit": "ug/L", "analyte": "Benzene", "result": "1.0"}])
    assert rule.outcomes("--condition", "area=GA") == {("S-1", "Benzene"): "does_not_exceed"}
    assert rule.outcomes("--condition", "area=GB") == {("S-1", "Benzene"): "exceeds"}


@pytest.mark.parametrize("printed", ["see 5.2", "TBD"])
def test_a_pathway_whose_level_is_no_number_clears_nothing(rule: Any, printed: str) -> None:
    """A level in words may be lower than the number beside it; 'no level' is not."""
    rows = f"Benzene,71-43-2,soil,5,mg/kg,contact,above,made up,made up\nBenzene,71-43-2,soil,{printed},mg/kg,leaching,above,made up,made up\n"
    rule.table(HEAD + rows, TOGETHER + '[words]\n"see 5.2" = "words"\n"none" = "no_level"\n')
    _benzene(rule, "3", "6")
    assert rule.outcomes() == {("S-1", "Benzene"): "open", ("S-2", "Benzene"): "exceeds"}


def test_a_pathway_without_a_level_leaves_the_others_as_they_are(rule: Any) -> None:
    rows = "Benzene,71-43-2,soil,5,mg/kg,contact,above,made up,made up\nBenzene,71-43-2,soil,NL,mg/kg,leaching,above,made up,made up\n"
    rule.table(HEAD + rows, TOGETHER)
    _benzene(rule, "3", "6")
    assert rule.outcomes() == {("S-1", "Benzene"): "does_not_exceed", ("S-2", "Benzene"): "exceeds"}


@pytest.mark.parametrize(("printed", "outcome"), [("see 5.2", "open"), ("TBD", "open"), ("NL", "does_not_exceed")])
def test_an_unknown_class_may_be_one_whose_level_is_no_number(rule: Any, printed: str, outcome: str) -> None:
    rule.table(
        "analyte,cas,medium,level,unit,area,citation,source\nBenzene,71-43-2,soil,5,mg/kg,A,made up,made up\n"
        f"Benzene,71-43-2,soil,{printed},mg/kg,B,made up,made up\n",
        '[conditions.area]\nfrom = "site"\nvalues = ["A", "B"]\ntitle = "area"\n[words]\n"see 5.2" = "words"\n',
    )
    _benzene(rule, "3")
    assert rule.outcomes() == {("S-1", "Benzene"): outcome}
