"""A table of which only a part was read: a substance without a row may have one there, so its level is open, not absent."""

from __future__ import annotations

from typing import Any

HEAD = "analyte,cas,medium,level,unit,citation,source\n"
ROW = HEAD + "Benzene,71-43-2,soil,1,mg/kg,made up,made up\n"
CUT = 'unlisted = "unavailable"\n[[incomplete]]\nscope = "substances after benzene"\ntext = "the copy was cut there"\n'


def test_a_substance_after_the_cut_is_open(rule: Any) -> None:
    rule.table(ROW, CUT)
    rule.results(
        [
            {"analyte": "Toluene", "result": "2"},
            {"analyte": "Toluene", "result": "<0.001"},
            {"analyte": "Benzene", "result": "0.5"},
        ]
    )
    document = rule.screen()
    assert [one["outcome"] for one in document["outcomes"]] == ["open", "open", "does_not_exceed"]
    assert "read only in part (substances after benzene)" in document["outcomes"][0]["because"]
    assert document["recommendation"]["status"] == "undetermined"
    assert any("incomplete: substances after benzene" in text for text in document["warnings"])


def test_where_the_table_was_read_whole_it_has_no_level(rule: Any) -> None:
    rule.table(ROW)
    rule.results([{"analyte": "Toluene", "result": "2"}])
    assert rule.outcomes() == {("S-1", "Toluene"): "no_level"}


def test_the_level_of_another_table_does_not_hide_the_gap(rule: Any) -> None:
    rule.table(ROW, CUT)
    rule.results([{"analyte": "Toluene", "result": "2"}])
    answer = rule.screen("--levels", "us-oh/closure", "--levels", "xx/made-up", "--condition", "soil_class=1")
    assert {(one["table"], one["outcome"]) for one in answer["outcomes"]} == {
        ("us-oh/closure", "does_not_exceed"),
        ("xx/made-up", "open"),
    }


def test_the_groundwater_table_of_illinois_was_cut_after_diethyl_phthalate(office: Any) -> None:
    """35 Ill. Adm. Code 620.410(b): toluene and a substance nobody foresaw are open; benzene was read (5 ug/L)."""
    office.plain_site(levels="us-il/groundwater-class-1@2012-01-01")
    rows = [
        {"sample_id": "W-1", "medium": "groundwater", "analyte": analyte, "result": "1", "unit": "ug/L"}
        for analyte in ("Benzene", "Toluene", "n-Hexane")
    ]
    assert office.run("import", office.deliverable("w.csv", rows), "--site", "one").status == 0
    outcomes = office.run("screen", "--site", "one").document["outcomes"]
    assert {one["analyte"]: one["outcome"] for one in outcomes} == {
        "Benzene": "does_not_exceed",
        "Toluene": "open",
        "n-Hexane": "open",
    }
