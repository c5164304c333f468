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


SUM = HEAD + "Total xylenes,,soil,10,mg/kg,made up,made up\n"
XYLENES = [{"sample_id": "S-1", "analyte": name, "result": "2"} for name in ("m,p-Xylene", "o-Xylene")]


def test_a_part_whose_own_row_was_not_read_is_open_though_the_sum_passes(rule: Any) -> None:
    rule.table(SUM, 'unavailable = ["o-Xylene"]\n')
    rule.results(XYLENES)
    assert rule.outcomes() == {("S-1", "Total xylenes"): "does_not_exceed", ("S-1", "o-Xylene"): "open"}


def test_a_part_is_told_with_the_sum_of_the_table_that_was_cut(rule: Any) -> None:
    rule.table(SUM, CUT)
    rule.results(XYLENES)
    assert rule.outcomes() == {("S-1", "Total xylenes"): "does_not_exceed"}


def test_the_sum_of_another_table_says_nothing_of_the_rows_that_were_cut(rule: Any) -> None:
    rule.table(ROW, CUT)
    rule.table(SUM, name="other")
    rule.results(XYLENES)
    found = rule.screen("--levels", "xx/made-up", "--levels", "xx/other")["outcomes"]
    assert sorted((one["analyte"], one["table"], one["outcome"]) for one in found) == [
        ("Total xylenes", "xx/made-up", "open"), ("Total xylenes", "xx/other", "does_not_exceed"),
        ("m,p-Xylene", "xx/made-up", "open"), ("o-Xylene", "xx/made-up", "open"),
    ]  # fmt: skip


def test_the_sum_of_another_medium_says_nothing_either(rule: Any) -> None:
    rule.table(HEAD + "Total xylenes,,groundwater,10,ug/L,made up,made up\n", CUT)
    rule.results(XYLENES)
    assert set(rule.outcomes().values()) == {"open"}
