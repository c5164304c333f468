"""A portfolio gives each site the outcomes that `screen` gives it, whichever engine runs the query.

`make portfolio-check` holds every screen that the other tests make against that of a portfolio as well.
"""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from screening.portfolio import engines, verdicts
from screening.screen.outcomes import OUTCOMES
from tests.conftest import Office
from tests.portfolio.same import NONE, SMALL, difference, hold_beside, rows_apart, told_by, told_one_by_one

ROOM = Path(verdicts.__file__).resolve().parents[1]
ON = ("--levels-on", "2020-01-01")
"""A day on which all sites' tables were in force."""
METALS = [
    {"sample_id": f"B-{at}", "location": f"L-{at}", "medium": medium, "analyte": analyte, "result": result, "unit": unit, "basis": basis,
     "depth_top": "3", "depth_unit": "ft", "sampled_at": "2025-05-06"}
    for at, (medium, analyte, result, unit, basis) in enumerate(
        [
            ("soil", "Benzene", "0.03", "mg/kg", "dry"), ("soil", "Benzene", "0.0300001", "mg/kg", "dry"),
            ("soil", "Benzo(a)pyrene", "<0.2", "mg/kg", "dry"), ("soil", "Lead", "260", "mg/kg", "as_received"),
            ("groundwater", "Benzene", "0.0051", "mg/L", ""), ("groundwater", "Chromium", "60", "ug/L", ""),
            ("groundwater", "m,p-Xylene", "900", "ug/L", ""), ("groundwater", "o-Xylene", "101", "ug/L", ""),
            ("sediment", "Benzene", "3", "mg/kg", "dry"),
        ]
    )
]  # fmt: skip
"""Invented: at and just above a level, a limit above it, no basis of comparison, species, a sum, a medium without levels."""

PARTS = [
    {"sample_id": "C-1", "medium": "soil", "analyte": analyte, "result": result, "unit": "mg/kg", "basis": "dry"}
    for analyte, result in (("m,p-Xylene", "8"), ("o-Xylene", "<9"), ("Acetone", "1"))
]
"""Invented: parts of a sum under a table that lists the sum alone, and what it does not list."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Office:
    """The demo's store, a second site under tables of another place with equivalents, and a third with parts of a sum."""
    office = Office(tmp_path_factory.mktemp("shop"))
    office.run("demo", office.folder / "demo")
    shutil.copy(office.folder / "demo" / "demo.duckdb", office.database)
    levels = '"us-wa/soil-method-a-recalled", "us-wa/groundwater-method-a-recalled"'
    text = f'[site]\nid = "birch"\nname = "Birch (invented)"\nplace = "us-wa"\n[screening]\nlevels = [{levels}]\n'
    assert office.site(text).status == 0
    assert office.run("import", office.deliverable("birch.csv", METALS), "--site", "birch").status in (0, 3)
    assert office.plain_site("cedar", more='[conditions]\nsoil_class = "1"\n').status == 0
    assert office.run("import", office.deliverable("cedar.csv", PARTS), "--site", "cedar").status in (0, 3)
    return office


@pytest.fixture(scope="module")
def written(shop: Office) -> Path:
    """The sites as a portfolio."""
    said = shop.run("portfolio", "write", shop.folder / "written")
    assert said.status == 0, said.error
    return shop.folder / "written"


@pytest.fixture(scope="module")
def answered(shop: Office, written: Path) -> Any:
    """The portfolio held against the levels of a day by DuckDB, in the folder `by-duckdb`."""
    return shop.run("portfolio", "screen", written, "--to", shop.folder / "by-duckdb", *ON).document


def ids(office: Office) -> list[str]:
    return [one["id"] for one in office.run("site", "list").document["sites"]]


def test_as_screen_says_site_by_site(shop: Office, answered: Any) -> None:
    sites = ids(shop)
    assert len(sites) == 3
    answers = {site: shop.run("screen", "--site", site, *ON).document for site in sites}
    assert difference(told_one_by_one(answers), told_by(shop.folder / "by-duckdb")) == NONE
    assert answered["counts"] == {name: sum(answer["counts"][name] for answer in answers.values()) for name in OUTCOMES}
    assert {name for name in OUTCOMES if answered["counts"][name]} == {*OUTCOMES}
    assert {path.name for path in (shop.folder / "by-duckdb").iterdir()} == {"law", "outcome", "site_count"}, "no scratch is left"


def test_in_portions_of_sites_as_all_at_once(shop: Office, written: Path, answered: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines, "AT_ONCE", 1)
    said = shop.run("portfolio", "screen", written, "--to", shop.folder / "in-portions", *ON).document
    assert difference(told_by(shop.folder / "in-portions"), told_by(shop.folder / "by-duckdb")) == NONE
    assert len(list((shop.folder / "in-portions" / "outcome").iterdir())) == len(ids(shop))
    assert (said["counts"], said["tables"]) == (answered["counts"], answered["tables"])


@pytest.mark.parametrize("rule", ["parent", "mean"])
def test_under_another_rule_of_duplicates(shop: Office, rule: str) -> None:
    words = (
        "screen",
        "--site",
        next(site for site in ids(shop) if site not in ("birch", "cedar")),
        *ON,
        "--setting",
        f"duplicate_rule={rule}",
    )
    hold_beside(shop, words, shop.run(*words).document)


@pytest.mark.skipif("SCREENING_SPARK" not in os.environ, reason="a minute of Spark; 'make spark' runs it")
def test_by_spark_as_by_duckdb(shop: Office, written: Path, answered: Any) -> None:
    pytest.importorskip("pyspark")
    if not shutil.which("java"):
        pytest.skip("Apache Spark needs Java")
    words = ("portfolio", "screen", written, "--engine", "spark", "--master", "local[1]", *SMALL, "--to")
    said = shop.run(*words, shop.folder / "by-spark", *ON)
    assert said.document, said.error
    assert {**said.document, "engine": "", "files": ""} == {**answered, "engine": "", "files": ""}
    assert rows_apart(shop.folder / "by-spark", shop.folder / "by-duckdb") == (0, 0)


def test_both_queries_judge_in_the_same_words() -> None:
    judged = re.compile(r"CASE\s+WHEN kind = 'no_level'.*?END AS outcome", re.DOTALL)
    texts = [(ROOM / path).read_text(encoding="utf-8") for path in ("screen/compare.sql", "portfolio/verdicts.sql")]
    one, other = (" ".join(found[0].split()) for text in texts if (found := judged.search(text)))
    assert one == other


@pytest.mark.usefixtures("answered")
def test_every_amount_is_told_or_counted_in_a_sum(written: Path, shop: Office) -> None:
    import duckdb

    lost = duckdb.execute(
        f"SELECT analyte FROM read_parquet('{written}/value/*.parquet') AS v "
        f"ANTI JOIN read_parquet('{shop.folder}/by-duckdb/outcome/*.parquet') AS o ON o.value_no = v.value_no "
        f"ANTI JOIN read_parquet('{written}/pair/*.parquet') AS p ON p.mean_no = v.value_no"  # a mean stands only where the rule says
    ).fetchall()
    assert {name for (name,) in lost} <= {"m,p-Xylene", "o-Xylene"}


def test_what_is_refused(shop: Office, written: Path) -> None:
    folder = shop.folder
    assert "is there already" in shop.run("portfolio", "write", written).error
    assert "is in test.duckdb as well" in shop.run("portfolio", "write", folder / "two", "--store", shop.database).error.replace(
        f"{folder}/", ""
    )
    assert "is unknown" in shop.run("portfolio", "write", folder / "two", "--site", "nowhere").error
    assert "is no portfolio" in shop.run("portfolio", "screen", folder, "--to", folder / "three").error
    assert "has this table" in shop.run("portfolio", "screen", written, "--to", folder / "three", "--levels", "us-ak/x").error
    said = shop.run("portfolio", "screen", written, "--to", folder / "three", "--levels-on", "1950-01-01").document
    assert {one["site"] for one in said["refused"]} == {*ids(shop)}
    assert not (folder / "two").exists()
    assert not [path for path in folder.iterdir() if path.name.startswith(".")]


def test_a_site_that_is_not_answered_whole_is_named_and_wants_eyes(office: Office) -> None:
    """As `screen` leaves them undetermined: a sample asked for and not delivered, a row held back, nothing compared at all."""
    clean = {"medium": "soil", "analyte": "Benzene", "result": "0.1", "unit": "mg/kg", "basis": "dry"}
    rows = {
        "whole": [clean], "lacking": [clean], "waiting": [clean, {**clean, "analyte": "Bensene"}],
        "bare": [{**clean, "analyte": "Acetone"}], "empty": [],
    }  # fmt: skip
    more = '[conditions]\nsoil_class = "1"\n'
    for site, results in rows.items():
        assert office.plain_site(site, levels="us-oh/closure@2017-01-01", more=more).status == 0
        if results:
            path = office.deliverable(f"{site}.csv", [{"sample_id": f"{site}-{at}", **one} for at, one in enumerate(results)])
            assert office.run("import", path, "--site", site).status in (0, 3)
    asked = office.deliverable("asked.csv", [{"Sample": f"lacking-{at}", "Analyses": "Benzene"} for at in (0, 7)])
    assert office.run("custody", "add", asked, "--site", "lacking").status in (0, 3)
    written = office.folder / "written"
    office.run("portfolio", "write", written)
    said = office.run("portfolio", "screen", written, "--to", office.folder / "all")
    named = {words: said.document[f"sites_with_{words}"] for words in ("rows_held_back", "samples_missing", "nothing_compared")}
    assert named == {"rows_held_back": ["waiting"], "samples_missing": ["lacking"], "nothing_compared": ["bare", "empty"]}
    assert said.status == 3 and "not clean, with samples missing: lacking" in said.error
    undetermined = {
        site for site in rows if office.run("screen", "--site", site).document["recommendation"]["status"] == "undetermined"
    }
    assert undetermined == {"lacking", "waiting", "bare", "empty"}
    assert office.run("portfolio", "write", office.folder / "one", "--site", "whole").status == 0
    assert office.run("portfolio", "screen", office.folder / "one", "--to", office.folder / "of-one").status == 0
