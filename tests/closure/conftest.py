"""What the tests of closure share: the shipped rules, sites from a few keys, samples without a laboratory."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from screening.closure.coverage import Coverage, cover
from screening.closure.findings import Requirement
from screening.closure.library import Library
from screening.closure.samples import Sampled
from screening.site.site_file import SiteFile

STANDARDS = Path(__file__).resolve().parents[2] / "standards"


@pytest.fixture(scope="session")
def library() -> Library:
    """The rule files that are shipped."""
    return Library(STANDARDS)


@pytest.fixture(scope="session")
def site_of() -> Callable[..., SiteFile]:
    """A site from its parts: ``site_of(place="us-in", tank=[{...}], ...)``."""

    def make(place: str = "us-oh", time_zone: str | None = None, **parts: Any) -> SiteFile:
        head = {"id": "one", "name": "One", "place": place, **({"time_zone": time_zone} if time_zone else {})}
        return SiteFile.read({"site": head, **parts})

    return make


@pytest.fixture(scope="session")
def soil() -> Callable[..., Sampled]:
    """A soil sample at a location, analysed for benzene unless told otherwise."""

    def make(location: str, depth: str | None = None, *analytes: str, sample: str = "", medium: str = "soil") -> Sampled:
        rows = {(name, "") for name in analytes or ("Benzene",)}
        return Sampled(location, sample or location, medium, Decimal(depth) if depth else None, rows)

    return make


@pytest.fixture(scope="session")
def covered(library: Library) -> Callable[..., Coverage]:
    """The coverage of a site by samples, under rules by name or those of its place."""

    def make(site: SiteFile, samples: list[Sampled], *rules: str) -> Coverage:
        return cover(site, samples, library, library.taken("sampling", site, rules or None))

    return make


@pytest.fixture(scope="session")
def asked(covered: Callable[..., Coverage]) -> Callable[..., dict[str, Requirement]]:
    """What deciding rows ask of a site without samples, by row id (the last component where several have the row)."""

    def make(site: SiteFile, *rules: str, samples: list[Sampled] | None = None) -> dict[str, Requirement]:
        found = covered(site, samples or [], *rules).requirements
        return {one.row: one for one in found if one.decides}

    return make
