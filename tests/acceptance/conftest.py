"""What the acceptance scenarios share: rows in the field names of the normal form, and one way to find an outcome."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest

Row = dict[str, object]
Rows = Callable[..., list[Row]]
Find = Callable[..., dict[str, Any]]


@pytest.fixture(scope="session")
def rows_of() -> Rows:
    """One row an analyte: ``rows_of({"Benzene": "0.031"}, sample_id="AL-T1-E", medium="soil", …)``."""

    def make(results: Mapping[str, str], **same: object) -> list[Row]:
        return [{**same, "analyte": analyte, "result": result} for analyte, result in results.items()]

    return make


@pytest.fixture(scope="session")
def find() -> Find:
    """The single outcome of a sample and an analyte in the answer of a screen."""

    def one(answer: Mapping[str, Any], sample: str, analyte: str, **more: str) -> dict[str, Any]:
        wanted = {"sample_id": sample, "analyte": analyte, **more}
        found = [item for item in answer["outcomes"] if all(item[key] == value for key, value in wanted.items())]
        assert len(found) == 1, (wanted, [(item["sample_id"], item["analyte"]) for item in answer["outcomes"]])
        return found[0]

    return one


@pytest.fixture(scope="session")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Path]:
    """An xlsx with one sheet of the given cells."""

    def write(name: str, cells: list[list[object]], title: str = "Results") -> Path:
        book = openpyxl.Workbook()
        page = book.active
        assert page is not None
        page.title = title
        for row in cells:
            page.append(row)
        path = tmp_path_factory.mktemp("workbook") / name
        book.save(path)
        return path

    return write
