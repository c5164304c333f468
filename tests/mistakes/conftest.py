"""What the tests of known mistakes share: one deliverable in, and everything the tool says about it out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import Any

import pytest

from tests.conftest import Office

Row = dict[str, object]
CLASS_1 = '[conditions]\nsoil_class = "1"\n'


class Told:
    """What import, results and screen say of one deliverable; the latter two are run when first looked at."""

    def __init__(self, office: Any, imported: dict[str, Any]) -> None:
        self.office = office
        self.imported = imported

    @cached_property
    def results(self) -> list[dict[str, Any]]:
        """All stored results, the not chosen and the quality control too."""
        found: list[dict[str, Any]] = self.office.stored()
        return found

    @cached_property
    def screen(self) -> dict[str, Any]:
        """The screen with the site's tables."""
        return dict(self.office.run("screen", "--site", "one").document)

    @property
    def held(self) -> dict[int, dict[str, Any]]:
        """The rows held back, by their row in the file."""
        return {item["row"]: item for item in self.imported["held_back"]}

    @property
    def status(self) -> str:
        """The recommendation."""
        return str(self.screen["recommendation"]["status"])

    def result(self, sample: str, analyte: str, **more: object) -> dict[str, Any]:
        """The single stored result of a sample and an analyte."""
        return _one(self.results, {"sample_id": sample, "analyte": analyte, **more})

    def outcome(self, sample: str, analyte: str, **more: object) -> dict[str, Any]:
        """The single outcome of a sample and an analyte."""
        return _one(self.screen["outcomes"], {"sample_id": sample, "analyte": analyte, **more})


def _one(items: Iterable[dict[str, Any]], wanted: Mapping[str, object]) -> dict[str, Any]:
    found = [item for item in items if all(item[key] == value for key, value in wanted.items())]
    assert len(found) == 1, (wanted, found)
    return found[0]


@pytest.fixture
def soil() -> Callable[..., Row]:
    """One soil result in dry weight: ``soil("Benzene", "0.1", unit="ug/kg")``."""

    def row(analyte: str, result: str, **more: object) -> Row:
        return {
            "sample_id": "S1", "medium": "soil", "unit": "mg/kg", "basis": "dry", "analyte": analyte, "result": result, **more,
        }  # fmt: skip

    return row


@pytest.fixture
def water() -> Callable[..., Row]:
    """One groundwater result."""

    def row(analyte: str, result: str, **more: object) -> Row:
        return {"sample_id": "W1", "medium": "groundwater", "unit": "ug/L", "analyte": analyte, "result": result, **more}

    return row


@pytest.fixture
def tell(office: Any) -> Callable[..., Told]:
    """A site, one deliverable (rows, or the text of a csv) imported."""

    def run(
        delivered: str | list[Row],
        *words: str,
        place: str = "us-oh",
        levels: str = "us-oh/closure@2017-01-01",
        more: str = CLASS_1,
    ) -> Told:
        assert office.plain_site(place=place, levels=levels, more=more).status == 0
        if isinstance(delivered, str):
            path = office.folder / "lab.csv"
            path.write_text(delivered, encoding="utf-8")
        else:
            path = office.deliverable("lab.csv", delivered)
        said = office.run("import", path, "--site", "one", *words)
        assert said.status in (0, 3), said.error
        (imported,) = said.document["deliverables"]
        counts = imported["rows"]
        assert counts["read"] == sum(counts[kind] for kind in ("results", "quality_control", "held_back", "ignored"))
        assert counts["held_back"] == len(imported["held_back"])
        return Told(office, imported)

    return run


@pytest.fixture
def office(office: Office) -> Office:
    """Nothing here hangs on the review of quality."""
    office.reviewed = False
    return office
