"""Over the level by less than a tenth, where the mean of three samples decides: OAR 340-122-0355; figures made up."""

from __future__ import annotations

from typing import Any

HEAD = "analyte,cas,medium,level,unit,citation,source\n"
RULE = '[tolerance]\nover = "0.10"\nsamples = "3"\ntext = "made up"\ncitation = "OAR 340-122-0355"\ntranscription = "read"\n'


def _screen(rule: Any, *samples: tuple[str, str]) -> list[dict[str, Any]]:
    rule.table(HEAD + "TPH,,soil,100,mg/kg,made up,made up\n", RULE)
    rule.results({"analyte": "TPH", "result": result, "location": location} for location, result in samples)
    found: list[dict[str, Any]] = rule.screen()["outcomes"]
    return sorted(found, key=lambda one: str(one["sample_id"]))


def test_at_below_and_far_above(rule: Any) -> None:
    found = _screen(rule, ("A", "99"), ("B", "100"), ("C", "110.01"), ("D", "<120"))
    assert [one["outcome"] for one in found] == ["does_not_exceed", "does_not_exceed", "exceeds", "open"]


def test_slightly_above_waits_for_two_more_samples_and_says_so(rule: Any) -> None:
    found = _screen(rule, ("A", "105"), ("B", "110"))
    assert [one["outcome"] for one in found] == ["open", "open"]
    assert (
        "less than 10 % over 100 mg/kg: the mean of 3 samples of the place decides (OAR 340-122-0355; read)"
        in found[0]["because"]
    )
    assert "exactly 10 % over 100 mg/kg" in found[1]["because"]


def test_the_mean_of_three_of_the_place_decides(rule: Any) -> None:
    found = _screen(
        rule, ("A", "105"), ("A", "98"), ("A", "97"), ("B", "105"), ("B", "99"), ("B", "96.1"), ("C", "105"), ("C", "90")
    )
    outcomes = [one["outcome"] for one in found]
    assert outcomes == ["does_not_exceed"] * 3 + ["exceeds"] + ["does_not_exceed"] * 2 + ["open", "does_not_exceed"]
    assert "mean of 3 samples of the place: S-1 105, S-2 98, S-3 97, not above 100 mg/kg" in found[0]["because"]


def test_a_non_detect_bounds_the_mean(rule: Any) -> None:
    """105 + 95 and a non-detect: the sum must reach 300 for certain, or stay below it for certain."""
    found = _screen(rule, ("A", "105"), ("A", "95"), ("A", "<100"), ("B", "105"), ("B", "95"), ("B", "<101"))
    assert [one["outcome"] for one in found] == [
        "does_not_exceed",
        "does_not_exceed",
        "does_not_exceed",
        "open",
        "does_not_exceed",
        "open",
    ]


def test_samples_without_a_place_are_not_averaged(rule: Any) -> None:
    found = _screen(rule, ("", "105"), ("", "98"), ("", "97"))
    assert found[0]["outcome"] == "open"
