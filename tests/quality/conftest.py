"""What the tests on the review share: small invented deliverables, reviewed, and the findings by check and sample."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

from screening.quality.editions import DEFAULT, Edition, read_edition

ROOT = Path(__file__).resolve().parents[2]
Review = Callable[..., dict[str, Any]]


@pytest.fixture(scope="session")
def edition() -> Edition:
    """The shipped edition."""
    return read_edition(DEFAULT, ROOT / "standards")


@pytest.fixture
def reviewed(office: Any) -> Review:
    """Import rows (dicts of fields of the normal form; blanks filled from ``same``) and review them."""

    def make(rows: Iterable[Mapping[str, object]], more: str = "", **same: object) -> dict[str, Any]:
        office.plain_site(more=more)
        filled = [{**same, **row} for row in rows]
        said = office.run("import", office.deliverable("results.csv", filled), "--site", "one")
        assert said.status == 0, said.error or said.document
        return dict(office.run("review", "--site", "one").document)

    return make


@pytest.fixture
def by_sample() -> Callable[..., dict[str, tuple[str, ...]]]:
    """The qualifiers of one check's findings by sample ('note' where nothing is marked), in order."""

    def sort(document: Mapping[str, Any], check: str) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = {}
        for item in document["findings"]:
            if item["check"] == check:
                found.setdefault(item["sample_id"], []).append(item["qualifier"] or "note")
        return {sample: tuple(sorted(words)) for sample, words in found.items()}

    return sort


@pytest.fixture
def states() -> Callable[..., dict[str, str]]:
    """The grid's column of one check."""
    return lambda document, check: {row["sample_id"]: row["checks"][check] for row in document["grid"]}
