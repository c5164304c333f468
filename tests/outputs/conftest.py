"""The demo's package, made once: contents of its run, and the files of the kinds that are read back here."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from screening.decision.contents import Contents, contents_of
from screening.decision.demo import DAY, run_demo
from screening.outputs import data, document, workbook
from screening.outputs.drawings import Picture
from screening.outputs.pictures.raster import png
from screening.store.database import opened


@pytest.fixture(scope="session")
def contents(tmp_path_factory: Any) -> Contents:
    """What the run of the demo holds."""
    folder: Path = tmp_path_factory.mktemp("demo")
    done = run_demo(folder)
    with opened(folder / "demo.duckdb") as connection:
        return contents_of(connection, done.answer["run"], DAY)


@pytest.fixture(scope="session", autouse=True)
def small_pictures() -> Iterator[None]:
    """Pictures in workbook and document are drawn small, which takes a tenth of the time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Picture, "png", property(lambda one: png(one.svg, 240)))
        yield


@pytest.fixture(scope="session")
def package(contents: Contents) -> Mapping[str, bytes]:
    """The files of workbook, document and data, by name."""
    return {**workbook.files(contents), **document.files(contents), **data.files(contents)}


@pytest.fixture(scope="session")
def book(package: Mapping[str, bytes]) -> Any:
    """The workbook as another library reads it."""
    return openpyxl.load_workbook(io.BytesIO(package["workbook.xlsx"]))
