"""The demo's package, made once: contents of its run, and the files of the kinds that are read back here."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from screening.decision.contents import Contents, contents_of
from screening.decision.demo import DAY, run_demo
from screening.outputs import data, document, workbook
from screening.outputs.pictures import raster
from screening.store.database import opened


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: Any) -> tuple[Path, str]:
    """The demo's store and its run."""
    folder: Path = tmp_path_factory.mktemp("demo")
    return folder / "demo.duckdb", run_demo(folder).answer["run"]


@pytest.fixture(scope="session")
def contents(demo_run: tuple[Path, str]) -> Contents:
    """What the run of the demo holds."""
    with opened(demo_run[0]) as connection:
        return contents_of(connection, demo_run[1], DAY)


@pytest.fixture(scope="session", autouse=True)
def small_pictures() -> Iterator[None]:
    """Pictures are drawn small, which takes a tenth of the time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(raster, "PLAN_WIDTH", 240)
        patch.setattr(raster, "PRINT_WIDTH", 240)
        yield


@pytest.fixture(scope="session")
def package(contents: Contents) -> Mapping[str, bytes]:
    """The files of workbook, document and data, by name."""
    return {**workbook.files(contents), **document.files(contents), **data.files(contents)}


@pytest.fixture(scope="session")
def book(package: Mapping[str, bytes]) -> Any:
    """The workbook as another library reads it."""
    return openpyxl.load_workbook(io.BytesIO(package["workbook.xlsx"]))


SAMPLES, ANALYTES = 120, 90


@pytest.fixture(scope="session")
def wide(contents: Contents) -> Contents:
    """A site of 120 samples and 90 analytes, made up from one outcome of the demo: every seventh exceeds."""
    first = next(item for item in contents.answer["outcomes"] if item["analyte"] == "Benzene" and item["outcome"] == "exceeds")
    outcomes = [
        {
            **first, "location": f"B-{sample // 2 + 1}", "sample_id": f"B-{sample // 2 + 1}-{sample % 2 * 5 + 4}", "depth_top": str(sample % 2 * 5 + 4),
            "analyte": f"Analyte number {analyte + 1}", "outcome": "exceeds" if (sample + analyte) % 7 == 0 else "does_not_exceed",
            "duplicate": None,
        }
        for sample in range(SAMPLES)
        for analyte in range(ANALYTES)
    ]  # fmt: skip
    answer = {**contents.answer, "outcomes": outcomes, "outweighed": [], "held_back": []}
    return replace(contents, answer=answer, results=[])
