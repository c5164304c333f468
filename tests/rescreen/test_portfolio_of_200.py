"""Two hundred made-up sites rescreened: every flip, level move and count worked out again by an oracle of its own."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests.rescreen.oracle import Expected, expected
from tests.rescreen.portfolio import NEW, OLD

Key = tuple[str, str, str]


@pytest.fixture(scope="session")
def oracle(store: Any) -> dict[Key, Expected]:
    return expected(store.portfolio)


@pytest.fixture(scope="session")
def changes(store: Any) -> dict[Key, dict[str, Any]]:
    found = {
        (one["site"], change["sample_id"], change["analyte"]): change
        for one in store.document["sites"]
        for change in one["changes"]
    }
    assert len(found) == sum(len(one["changes"]) for one in store.document["sites"])
    return found


def test_every_site_is_answered(store: Any) -> None:
    assert sorted(one["site"] for one in store.document["sites"]) == sorted(store.portfolio.classes)
    assert store.document["without_run"] == [{"site": "carrier", "reason": "no run yet; 'screening screen' makes the first"}]
    assert store.document["refused"] == [] and store.status == 3


def test_every_flip_is_the_oracles(oracle: dict[Key, Expected], changes: dict[Key, dict[str, Any]]) -> None:
    flips = {key: one.kinds for key, one in oracle.items() if one.kinds}
    assert {key: frozenset([one["flip"], *one["also"]]) for key, one in changes.items() if one["flip"]} == flips
    kinds = {kind for found in flips.values() for kind in found}
    assert kinds == {
        "newly_exceeds", "newly_open", "no_longer_exceeds", "level_vanished", "newly_decided", "level_appeared",
    }, "the portfolio has a flip of every kind"  # fmt: skip


def test_every_outcome_on_both_sides(store: Any, oracle: dict[Key, Expected], changes: dict[Key, dict[str, Any]]) -> None:
    for key, one in changes.items():
        assert (one["before"]["outcome"], one["after"]["outcome"]) == (oracle[key].before, oracle[key].after), key
    for side in ("before", "after"):
        counted: Counter[str] = Counter()
        for site in store.document["sites"]:
            counted.update(site[side]["counts"])
        assert +counted == Counter(getattr(one, side) for one in oracle.values())


def test_every_move_of_a_level(oracle: dict[Key, Expected], changes: dict[Key, dict[str, Any]]) -> None:
    moved = {key: one for key, one in oracle.items() if one.direction}
    assert {key: one["direction"] for key, one in changes.items() if one["direction"]} == {
        key: one.direction for key, one in moved.items()
    }
    for key, one in moved.items():
        assert one.factor is not None
        shown = changes[key]["factor"]
        assert abs(Fraction(shown) - one.factor) <= Fraction(1, 2) * Fraction(10) ** (Decimal(int(one.factor)).adjusted() - 2), (
            key
        )
        assert changes[key]["tenfold"] == (one.factor >= 10)
    factors = {changes[key]["factor"]: changes[key]["tenfold"] for key in moved}
    assert factors["9.99"] is False and factors["10"] is True and factors["28.6"] is True


def test_levels_and_days_stand_as_printed(oracle: dict[Key, Expected], changes: dict[Key, dict[str, Any]]) -> None:
    for key, one in changes.items():
        for side, level, day in (("before", oracle[key].old, OLD), ("after", oracle[key].new, NEW)):
            assert one[side]["version"] == day
            assert one[side]["level"] == (level.figure.replace(",", "") if level else None)
            assert one[side]["level_unit"] == (level.unit if level else None)


def test_all_changes_are_laid_to_the_level(changes: dict[Key, dict[str, Any]]) -> None:
    assert {(one["cause"], tuple(one["causes"])) for one in changes.values()} == {("level", ("level",))}


def test_the_worst_stands_first(store: Any, oracle: dict[Key, Expected]) -> None:
    for found in store.document["flips"].values():
        ratios = [Decimal(one["after"]["ratio"] or 0) for one in found]
        assert ratios == sorted(ratios, reverse=True)
    flipped = {key[0] for key, one in oracle.items() if one.kinds}
    sites = [one["site"] for one in store.document["sites"]]
    worse = {site for site in sites if any(key[0] == site and "newly_exceeds" in one.kinds for key, one in oracle.items())}
    assert set(sites[: len(worse)]) == worse and set(sites[: len(flipped)]) >= worse
    assert store.document["counts"]["sites_flipped"] == len(flipped)


def test_a_site_whose_table_stood_still_keeps_its_run(store: Any) -> None:
    for one in store.document["sites"]:
        assert (one["run"] == one["before_run"]) == one["site"].startswith("still")


def test_the_portfolio_counts_sites_on_each_version(store: Any, oracle: dict[Key, Expected]) -> None:
    versions = {(one["table"], one["side"], one["version"]): one for one in store.document["portfolio"]["versions"]}
    exceeding = {side: {key[0] for key, one in oracle.items() if getattr(one, side) == "exceeds"} for side in ("before", "after")}
    for side, day in (("before", OLD), ("after", NEW)):
        one = versions["xx/moved", side, day]
        assert one["sites"] == sum(site.startswith("moved") for site in store.portfolio.classes)
        assert one["sites_exceeding"] == len({site for site in exceeding[side] if site.startswith("moved")})
    assert len(store.document["portfolio"]["rows"]) == len(store.portfolio.classes)


@pytest.mark.parametrize("at", [0, 1, -1])
def test_runs_of_the_portfolio_are_made_again_alike(store: Any, at: int) -> None:
    """A run of the rescreen, the worst; one of the before-runs; and one of the twins that were named after another site."""
    one = store.document["sites"][at]
    run = one["run"] if at == 0 else one["before_run"]
    assert store.office.run("runs", "reproduce", run).document["identical"] is True


def test_the_runs_of_a_rescreen_are_marked(store: Any) -> None:
    listed = {one["run"]: one for one in store.office.run("runs", "list").document["runs"]}
    for one in store.document["sites"]:
        moved = one["site"].startswith("moved")
        assert (listed[one["run"]]["made_by"], listed[one["run"]]["last"]) == (("rescreen", False) if moved else ("screen", True))
        assert listed[one["run"]]["rescreened_on"] == [NEW] and listed[one["before_run"]]["last"] is True
