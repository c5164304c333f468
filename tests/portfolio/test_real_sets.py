"""The real deliverables as one portfolio: DuckDB, Spark and `screen` tell the same of every row.

`make spark` runs it; it wants the reference folder.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import duckdb
import pytest

from screening.screen.outcomes import OUTCOMES
from tests.conftest import Office
from tests.portfolio.same import NONE, SMALL, difference, rows_apart, told_by, told_one_by_one
from tests.real.conftest import LAYOUTS
from tests.real.test_gcms_batches import KINDS, NOT_FOUND

MIDDLE = "us-me/middle-check"
ON = ("--levels-on", "2023-06-01")
WATER = ("us/drinking-water", "us-nc/groundwater")
SETS: dict[str, tuple[str, tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "narrow": ("o01_wqx_narrow_rivers_2024", ("narrow_result_2024.csv",), ("--layout", "rivers_narrow"), WATER),
    "organics": ("o02_wqx_renamed_core_organics", ("organics_result_physchem.csv",), ("--layout", "river_organics"), WATER),
    "wells": ("o03_usgs_groundwater_voc_metals", ("samples_voc_metals.csv",), ("--layout", "usgs_groundwater"), WATER),
    "printed": ("o04_harbor_sediment_crosstab", ("metals_pahs.xls",), ("--set", "medium=sediment"), ()),
    "harbor": ("o05_harbor_sediment_long_recast", ("harbor_sediment_metals_pah_long.csv",), ("--layout", "harbor_sediment"), ()),
    "bay": ("o06_bay_sediment_metals_pcbs", ("metals.csv", "pcbs.csv"), ("--layout", "bay_sediment"), ()),
    "taps": ("o07_gcms_voc_batches", ("230821_voc.xlsx",), ("--layout", "gcms_batch"), WATER),
    "october": ("o07_gcms_voc_batches", ("231024_voc.xlsx",), ("--set", "medium=groundwater", *KINDS, *NOT_FOUND), WATER),
    "waters": ("o08_lab_batch_long_recast", ("batch_2018_waters.csv",), ("--layout", "waters_batch"), WATER),
    "workbook": ("o09_wqx_template_workbook", ("wqx_spring_2014.xlsx",), ("--layout", "river_workbook"), WATER),
    "floodplain": ("o12_floodplain_soil_metals", ("meuse_all.csv",), ("--layout", "floodplain_metals"), ("us-wa/soil-method-a-recalled", "us-ma/method-1")),
    "creeks": ("o13_pesticide_sediment_two_header", ("pesticide_sediment.txt",), ("--layout", "pesticide_sediment"), ()),
}  # fmt: skip
"""Sites by the folder of their data, its files, how the tests on real data import them, and tables beside `MIDDLE`."""

pytestmark = pytest.mark.skipif("SCREENING_SPARK" not in os.environ, reason="two minutes; 'make spark' runs it")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, reference: Path) -> Office:
    """All sets in one store."""
    office = Office(tmp_path_factory.mktemp("real"))
    for site, (folder, files, words, levels) in SETS.items():
        named = ", ".join(f'"{table}"' for table in (MIDDLE, *levels))
        text = f'[site]\nid = "{site}"\nname = "{site}"\nplace = "us-me"\n[screening]\nlevels = [{named}]\n'
        assert office.site(text).status == 0
        how = [
            LAYOUTS / f"{word}.toml" if before == "--layout" else word for before, word in zip(("", *words), words, strict=False)
        ]
        for name in files:
            said = office.run("import", reference / "real" / folder / name, "--site", site, *how)
            assert said.status in (0, 3), said.error
    return office


@pytest.fixture(scope="module")
def written(shop: Office) -> Path:
    """The portfolio, with levels in the midst of what was measured, so that every set has results on both sides of them."""
    said = shop.run("portfolio", "write", shop.folder / "first", "--levels", "us/drinking-water")
    assert said.status == 0, said.error
    middle = duckdb.execute(
        "SELECT analyte, any_value(cas), medium, CAST(quantile_disc(upper, 0.5) AS VARCHAR), any_value(unit) "
        f"FROM read_parquet('{shop.folder}/first/value/*.parquet') WHERE upper > 0 GROUP BY analyte, medium"
    ).fetchall()
    fields = ("analyte", "cas", "medium", "level", "unit", "comparison")
    rows = [dict(zip(fields, (*row, "above"), strict=True)) for row in middle]
    added = shop.run("levels", "add", shop.deliverable("middle.csv", rows), "--table", MIDDLE, "--version", "2000-01-01")
    assert added.status == 0, added.error
    said = shop.run("portfolio", "write", shop.folder / "written")
    assert said.status == 0 and said.document["sites"] == len(SETS), said.error
    return shop.folder / "written"


def test_the_real_sets_by_spark_as_by_duckdb_and_as_screen_says(shop: Office, written: Path) -> None:
    pytest.importorskip("pyspark")
    if not shutil.which("java"):
        pytest.skip("Apache Spark needs Java")
    by = {name: shop.folder / name for name in ("duckdb", "spark")}
    said = shop.run("portfolio", "screen", written, "--to", by["duckdb"], *ON)
    assert said.document and not said.document["refused"], said.error
    assert all(said.document["counts"][name] for name in OUTCOMES)
    answers = {site: shop.run("screen", "--site", site, *ON).document for site in SETS}
    assert difference(told_one_by_one(answers), told_by(by["duckdb"])) == NONE
    assert said.document["counts"] == {name: sum(answer["counts"][name] for answer in answers.values()) for name in OUTCOMES}
    words = ("--engine", "spark", "--master", "local[1]", *SMALL, "--to", by["spark"])
    again = shop.run("portfolio", "screen", written, *words, *ON)
    assert {**again.document, "engine": "", "files": ""} == {**said.document, "engine": "", "files": ""}
    assert rows_apart(by["duckdb"], by["spark"]) == (0, 0)
