"""Small level tables written as text, and the tables that come with the tool."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from screening.levels.versions import Standards, standards_folder

FACTS = """\
title = "A table made up for tests"
issuing_body = "nobody"
citation = "none: made up"
media = ["soil", "groundwater"]
stage = "closure"
comparison = "above"
comparison_status = "assumed: made up"
"""

VERSION = '[versions."2020-01-01"]\neffective = "made up"\n'

Make = Callable[..., Standards]


@pytest.fixture
def make() -> Make:
    """Standards that hold one table, 'xx/made-up', from the text of its facts and its versions."""

    def build(rows: str | Mapping[str, str], more: str = "", versions: str = VERSION) -> Standards:
        texts = {"2020-01-01": rows} if isinstance(rows, str) else dict(rows)
        return Standards([], {"xx/made-up": (FACTS + more + versions, texts)})

    return build


@pytest.fixture
def folder(tmp_path: Path) -> Callable[..., Path]:
    """A folder of places with one table, 'xx/made-up', written to disk."""

    def write(rows: str | Mapping[str, str], more: str = "", versions: str = VERSION) -> Path:
        table = tmp_path / "xx" / "made-up"
        table.mkdir(parents=True)
        (table / "table.toml").write_text(FACTS + more + versions, encoding="utf-8")
        texts = {"2020-01-01": rows} if isinstance(rows, str) else rows
        for effective, text in texts.items():
            (table / f"{effective}.csv").write_text(text, encoding="utf-8")
        return tmp_path

    return write


@pytest.fixture(scope="session")
def standards() -> Standards:
    """The tables that come with the tool."""
    return Standards([standards_folder()])
