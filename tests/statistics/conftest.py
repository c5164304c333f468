"""Published worked examples: data, printed answers, and what other libraries compute from the same data."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from screening.screen.statistics.observed import Observed
from tests.conftest import Office

FILE = Path(__file__).with_name("examples.json")
LISTED = {one["id"]: one for one in json.loads(FILE.read_text(encoding="utf-8"))}


@dataclass(frozen=True)
class Example:
    """One example; ``source`` names the publication, ``known_from`` whether its figures were read or recalled."""

    id: str
    source: str
    known_from: str
    data: Mapping[str, Any]
    printed: Mapping[str, Any]
    by_hand: Mapping[str, Any]
    elsewhere: Mapping[str, Mapping[str, Any]]
    tolerance: Mapping[str, Any]

    @property
    def values(self) -> list[float]:
        """The values of an example with one sample."""
        return list(self.data["values"])

    @property
    def observed(self) -> Observed:
        """The values with their marks of non-detects."""
        return Observed.of(self.data["values"], self.data.get("censored", ()))

    def allowed(self, quantity: str) -> dict[str, float]:
        """The tolerance of the printed rounding, as `pytest.approx` takes it."""
        found = self.tolerance.get("per_quantity", {}).get(quantity, self.tolerance)
        kept = {key: found[key] for key in ("abs", "rel") if key in found}
        return kept or {"rel": found["cross_library_rel"]}

    def holds(self, found: Mapping[str, Any]) -> None:
        """Every printed and hand-worked answer that is computed here is met; nothing is computed that is not known there."""
        known = {**self.printed, **self.by_hand}
        assert set(found) <= set(known), sorted(set(found) - set(known))
        for quantity, number in found.items():
            assert number == pytest.approx(known[quantity], **self.allowed(quantity)), (self.id, quantity)

    def agrees(self, found: Mapping[str, Any], rel: float = 1e-6) -> None:
        """Every library that computed a quantity agrees; each quantity was computed by at least one."""
        for quantity, number in found.items():
            answers = [answers[quantity] for answers in self.elsewhere.values() if quantity in answers]
            assert answers, (self.id, quantity, "no other library computed it")
            for answer in answers:
                assert number == pytest.approx(answer, rel=rel), (self.id, quantity)


@pytest.fixture
def example() -> Callable[[str], Example]:
    """An example by its name."""
    return lambda name: Example(**LISTED[name])


@pytest.fixture
def office(office: Office) -> Office:
    """Nothing here hangs on the review of quality."""
    office.reviewed = False
    return office
