"""AT-17: detected and not listed is no pass; a site level that a person enters moves exactly one row."""

from __future__ import annotations

from typing import Any

import pytest

NO_LEVEL = {("NU-1", "Isopropylbenzene"), ("NU-1", "p-Isopropyltoluene"), ("NU-1", "n-Hexane"), ("NU-W", "TPH C6-C12")}
SITE_TABLE = "us-oh/site-nu"


@pytest.fixture(scope="module")
def begun(desk: Any, rows_of: Any) -> Any:
    """Soil with three unlisted compounds, and a water whose range the set names without a level."""
    desk.plain_site(levels="us-oh/closure@2017-01-01", more='[conditions]\nsoil_class = "1"\n')
    soil = {
        "Isopropylbenzene": "2.4", "4-Isopropyltoluene": "1.1", "n-Hexane": "0.8", "Benzene": "0.05", "TPH C6-C12": "40",
    }  # fmt: skip
    rows = [
        *rows_of(soil, sample_id="NU-1", medium="soil", unit="mg/kg", basis="dry"),
        *rows_of({"TPH C6-C12": "0.9"}, sample_id="NU-W", medium="groundwater", unit="mg/L"),
    ]
    assert desk.run("import", desk.deliverable("nu.csv", rows), "--site", "one").status == 0
    return desk


@pytest.fixture
def nu(office: Any, begun: Any) -> Any:
    """The same as a test's own."""
    return office.takes(begun)


def test_four_detected_results_have_no_level(nu: Any, find: Any) -> None:
    answer = nu.run("screen", "--site", "one").document
    unlisted = {(item["sample_id"], item["analyte"]) for item in answer["outcomes"] if item["outcome"] == "no_level"}
    assert unlisted == NO_LEVEL
    assert answer["counts"] == {"exceeds": 0, "open": 0, "no_level": 4, "does_not_exceed": 2}
    assert "the table says: NL (no level)" in find(answer, "NU-W", "TPH C6-C12")["because"]
    assert "no level is listed" in find(answer, "NU-1", "Isopropylbenzene")["because"]
    assert any("4 detected results have no level in this set" in note for note in answer["recommendation"]["notes"])


def test_a_site_level_moves_one_row_and_names_its_author(nu: Any, find: Any) -> None:
    before = nu.run("screen", "--site", "one").document
    level = {"analyte": "Isopropylbenzene", "cas": "98-82-8", "medium": "soil", "level": "5.0", "unit": "mg/kg"}
    said = nu.run(
        "levels", "add", nu.deliverable("site-level.csv", [level]), "--table", SITE_TABLE, "--version", "2025-01-01",
        "--by", "A. Reyes", "--why", "risk memo of March (invented)",
    )  # fmt: skip
    assert said.status == 0, said.error
    after = nu.run("screen", "--site", "one", "--levels", "us-oh/closure@2017-01-01", "--levels", SITE_TABLE).document
    moved = find(after, "NU-1", "Isopropylbenzene", table=SITE_TABLE)
    assert (moved["outcome"], moved["level"], moved["value"]) == ("does_not_exceed", "5.0", "2.4")
    told = str([item for item in after["levels"] if item["table"] == SITE_TABLE]) + moved["citation"]
    assert "A. Reyes" in told and "risk memo of March (invented)" in told
    unlisted = {(item["sample_id"], item["analyte"]) for item in after["outcomes"] if item["outcome"] == "no_level"}
    assert unlisted == NO_LEVEL - {("NU-1", "Isopropylbenzene")}
    assert any("3 detected results have no level in this set" in note for note in after["recommendation"]["notes"])
    changes = nu.run("compare", before["run"], after["run"]).document["changes"]
    assert {(change["sample_id"], change["analyte"]) for change in changes} == {("NU-1", "Isopropylbenzene")}
    assert {change["cause"] for change in changes if change["after"]} == {"level"}


def test_every_difference_that_a_new_table_makes_has_the_cause_level(nu: Any) -> None:
    level = {"analyte": "Isopropylbenzene", "cas": "98-82-8", "medium": "soil", "level": "5.0", "unit": "mg/kg"}
    nu.run(
        "levels", "add", nu.deliverable("site-level.csv", [level]), "--table", SITE_TABLE, "--version", "2025-01-01",
        "--by", "A. Reyes", "--why", "risk memo of March (invented)",
    )  # fmt: skip
    one = nu.run("screen", "--site", "one").document["run"]
    two = nu.run("screen", "--site", "one", "--levels", "us-oh/closure@2017-01-01", "--levels", SITE_TABLE).document["run"]
    assert {change["cause"] for change in nu.run("compare", one, two).document["changes"]} == {"level"}
