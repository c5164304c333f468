"""What the tests of runs share: a table made up for them, with two versions and a condition of the site."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Office

FACTS = """\
title = "A table made up for tests"
issuing_body = "nobody"
citation = "none: made up"
media = ["soil", "groundwater"]
stage = "closure"
comparison = "above"
comparison_status = "made up"
basis = "dry"
[conditions.soil_class]
from = "site"
values = ["1", "2"]
title = "soil class"
[versions."2020-01-01"]
effective = "made up"
[versions."2025-07-01"]
effective = "made up"
"""
HEAD = "analyte,cas,medium,level,unit,soil_class,citation,transcription\n"
OLD = """\
Benzene,,soil,0.246,mg/kg,,made up,read
Naphthalene,,soil,5,mg/kg,1,made up,read
Naphthalene,,soil,10,mg/kg,2,made up,read
Benzene,,groundwater,5,ug/L,,made up,read
"""
NEW = OLD.replace("0.246", "0.150")

AddLevels = Callable[[Office, Mapping[str, str]], None]


@pytest.fixture(scope="session")
def add_levels() -> AddLevels:
    """Adds versions of the table 'xx/made-up' to a store: ``add_levels(office, {"2020-01-01": rows})``."""

    def add(office: Office, versions: Mapping[str, str]) -> None:
        folder: Path = office.folder / "xx" / "made-up"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "table.toml").write_text(FACTS, encoding="utf-8")
        for day, rows in versions.items():
            (folder / f"{day}.csv").write_text(HEAD + rows, encoding="utf-8")
            said = office.run("levels", "add", folder / f"{day}.csv", "--by", "Nobody", "--why", "a test")
            assert said.status == 0, said.error

    return add


@pytest.fixture(scope="session")
def soil() -> Callable[..., dict[str, Any]]:
    """A soil result: ``soil("S-1", "0.2")``."""

    def row(sample: str, result: str, analyte: str = "Benzene", **more: str) -> dict[str, Any]:
        return {"sample_id": sample, "location": sample, "medium": "soil", "analyte": analyte, "result": result, "unit": "mg/kg",
                "basis": "dry", **more}  # fmt: skip

    return row
