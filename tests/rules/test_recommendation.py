"""The recommendation joins chemistry, signs, held rows and gaps: each alone, and which goes before which. Names made up."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from screening.closure.findings import Gap
from screening.closure.signs import Seen
from screening.decision.recommend import CAUTION, Recommendation, recommend
from screening.screen.outcomes import Outcome
from screening.site.site_file import parse_site
from screening.store.snapshot import WaitingRow

SITE = '[site]\nid = "one"\nname = "one"\nplace = "us-oh"\n[field]\ngroundwater_met = {water}\nsigns = [{signs}]\n'
PASSED, OPEN, ABOVE, UNLISTED = "does_not_exceed", "open", "exceeds", "no_level"
HELD = WaitingRow("h1", "lab.xlsx", "Soil", 7, "S-1", "Benzene", "no unit is given")


def _outcome(outcome: str, *, medium: str = "soil", detected: bool = True, sample: str = "S-1") -> Outcome:
    return Outcome(
        location="L", sample_id=sample, sample_kind="field", depth_top=None, depth_bottom=None, depth_unit="", sampled_at=None,
        medium=medium, analyte="Benzene", cas="", fraction="", detected=detected, value="2" if detected else None,
        lower="2" if detected else "0", upper="2", limit=None if detected else "2", reporting_limit=None, unit="mg/kg",
        qualifiers="", table="xx/made-up", version="2020-01-01", level=None if outcome == UNLISTED else "1", level_unit="mg/kg",
        level_normal="1", comparison="above", conditions={}, outcome=outcome, because="because so", ratio="2.00", citation="",
        transcription="read", source={},
    )  # fmt: skip


def _advice(*outcomes: Outcome, water: str = "false", signs: str = "", **more: Any) -> Recommendation:
    waiting = more.pop("waiting", ())
    return recommend(parse_site(SITE.format(water=water, signs=signs), "site.toml"), outcomes, waiting, **more)


def _closure(**more: Any) -> Any:
    coverage = SimpleNamespace(out_of_the_ground=more.get("heaps", ()), offered=more.get("offered", ()))
    return SimpleNamespace(coverage=coverage, signs=more.get("signs", ()), gaps=more.get("gaps", ()))


def _kinds(found: Recommendation) -> tuple[str, list[str], list[str]]:
    return found.status, [one.kind for one in found.reasons], [one.kind for one in found.open_items]


@pytest.mark.parametrize("closure", [None, _closure()])
def test_all_compared_and_none_above_is_not_triggered(closure: Any) -> None:
    found = _advice(_outcome(PASSED), _outcome(UNLISTED), closure=closure)
    assert _kinds(found) == ("not_triggered", [], []) and found.caution == CAUTION


@pytest.mark.parametrize("closure", [None, _closure()])
def test_one_above_triggers_whatever_else(closure: Any) -> None:
    found = _advice(_outcome(PASSED), _outcome(ABOVE), _outcome(OPEN), waiting=[HELD], gaps=["asked for"], closure=closure)
    assert _kinds(found) == ("triggered", ["exceedance"], ["open", "held", "gap"])


@pytest.mark.parametrize(
    ("more", "kind"),
    [
        ({"outcomes": [_outcome(PASSED), _outcome(OPEN)]}, "open"),
        ({"waiting": [HELD]}, "held"),
        ({"gaps": ["W-3 was asked for and is not delivered"]}, "gap"),
        ({"outcomes": []}, "gap"),
        ({"outcomes": [_outcome(UNLISTED)]}, "gap"),
        ({"closure": _closure(gaps=[Gap("one sample is missing", "take it")])}, "gap"),
        ({"water": "true"}, "gap"),
    ],
    ids=["open", "held", "asked for", "no results", "no levels", "coverage", "water met"],
)
def test_whatever_is_open_held_or_missing_leaves_it_undetermined(more: dict[str, Any], kind: str) -> None:
    found = _advice(*more.pop("outcomes", [_outcome(PASSED)]), **more)
    assert _kinds(found) == ("undetermined", [kind], [kind])


def test_only_open_outcomes_are_two_things_to_settle() -> None:
    assert _kinds(_advice(_outcome(OPEN)))[1] == ["open", "gap"]


@pytest.mark.parametrize(
    ("medium", "closure", "status"),
    [
        ("groundwater", None, "not_triggered"), ("surface_water", None, "undetermined"),
        ("soil", _closure(), "not_triggered"),  # the rules of the place ask for the water themselves
    ],
)  # fmt: skip
def test_water_met_wants_a_result_of_groundwater(medium: str, closure: Any, status: str) -> None:
    assert _advice(_outcome(PASSED, medium=medium), water="true", closure=closure).status == status


def test_one_result_of_groundwater_among_others_will_do() -> None:
    assert _advice(_outcome(PASSED), _outcome(PASSED, medium="groundwater"), water="true").status == "not_triggered"


@pytest.mark.parametrize(
    ("signs", "triggers"),
    [('"free_product"', True), ('"sheen"', True), ('"odour"', False), ('"odour", "sheen"', True), ("", False)],
)
def test_signs_that_triggered_before_the_rules_of_a_place_were_read(signs: str, triggers: bool) -> None:
    found = _advice(_outcome(PASSED), signs=signs)
    assert _kinds(found) == (("triggered", ["field_sign"], []) if triggers else ("not_triggered", [], []))


def test_afterwards_the_rules_of_the_place_say_what_a_sign_means() -> None:
    gap = Gap("odour wants a sample", "take one")
    seen = [
        Seen("sheen", True, "sheen was seen", None),
        Seen("staining", False, "staining was seen", None),
        Seen("odour", False, "odour wants a sample", gap),
    ]
    found = _advice(_outcome(PASSED), signs='"free_product"', closure=_closure(signs=seen, offered=["a sample less is allowed"]))
    assert [one.text for one in found.reasons] == ["sheen was seen"] and found.status == "triggered"
    assert found.notes == ("staining was seen", "a sample less is allowed")
    assert _advice(_outcome(PASSED), signs='"free_product"', closure=_closure(signs=seen[1:])).status == "not_triggered"


def test_soil_that_was_taken_out_is_named_so() -> None:
    found = _advice(_outcome(ABOVE), _outcome(ABOVE, sample="S-2"), closure=_closure(heaps=["S-2"]))
    assert ["soil taken out" in one.text for one in found.reasons] == [False, True]
    assert "Benzene" in found.reasons[0].text and "2.00 times the level 1 mg/kg of xx/made-up" in found.reasons[0].text


def test_a_held_row_is_named_by_file_sheet_and_row() -> None:
    (found,) = _advice(_outcome(PASSED), waiting=[HELD]).open_items
    assert found.text == "lab.xlsx, sheet 'Soil', row 7: S-1 Benzene is held back: no unit is given"


@pytest.mark.parametrize(
    ("outcomes", "words"),
    [
        ([_outcome(UNLISTED)], "1 detected result has no level"), ([_outcome(UNLISTED)] * 2, "2 detected results have no level"),
        ([_outcome(UNLISTED, detected=False)], ""), ([_outcome(PASSED)], ""),
    ],
)  # fmt: skip
def test_a_detection_without_a_level_is_told(outcomes: list[Outcome], words: str) -> None:
    notes = " ".join(_advice(*outcomes, _outcome(PASSED)).notes)
    assert words in notes and bool(words) is bool(notes)
