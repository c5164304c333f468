"""Which rows apply: stated, unknown, and hanging on the sample or its results."""

from __future__ import annotations

from datetime import date

import pytest

from screening.errors import Refused
from screening.levels.choose import Chosen, choose
from screening.levels.versions import Standards
from tests.levels.conftest import Make

SOIL_CLASS = '[conditions.soil_class]\nfrom = "site"\nvalues = ["1", "2"]\ntitle = "soil class"\n'
DEPTH = '[conditions.depth]\nfrom = "sample"\nvalues = ["upper", "lower"]\ntitle = "depth"\n'
HEAD = "analyte,cas,medium,level,unit,soil_class,comparison\n"


def _chosen(standards: Standards, **conditions: str) -> list[Chosen]:
    return choose(standards.table("xx/made-up"), standards.version("xx/made-up", "2020-01-01"), conditions)


def test_a_stated_class_picks_its_row_and_says_so(make: Make) -> None:
    (chosen,) = _chosen(make(HEAD + "Benzene,,soil,1,mg/kg,1,\nBenzene,,soil,2,mg/kg,2,\n", SOIL_CLASS), soil_class="2")
    assert (chosen.row.printed, chosen.because, chosen.assumed, chosen.also) == ("2", "for soil class 2", None, ())


def test_an_unknown_class_takes_the_strictest_row_and_keeps_the_others_in_sight(make: Make) -> None:
    (chosen,) = _chosen(make(HEAD + "Benzene,,soil,2,mg/kg,2,\nBenzene,,soil,1,mg/kg,1,\n", SOIL_CLASS))
    assert chosen.row.printed == "1" and [row.printed for row in chosen.also] == ["2"]
    assert chosen.assumed == "xx/made-up: soil class not stated - strictest by default"


def test_strictness_is_judged_in_one_unit(make: Make) -> None:
    (chosen,) = _chosen(make(HEAD + "Benzene,,soil,2,mg/kg,2,\nBenzene,,soil,900,ug/kg,1,\n", SOIL_CLASS))
    assert chosen.row.printed == "900"


def test_of_equal_levels_at_or_above_is_stricter(make: Make) -> None:
    (chosen,) = _chosen(make(HEAD + "Benzene,,soil,2,mg/kg,1,\nBenzene,,soil,2.0,mg/kg,2,at_or_above\n", SOIL_CLASS))
    assert chosen.row.comparison == "at_or_above"


def test_no_level_in_one_class_does_not_hide_the_number_of_another(make: Make) -> None:
    (chosen,) = _chosen(make(HEAD + "Benzene,,soil,NL,mg/kg,1,\nBenzene,,soil,2,mg/kg,2,\n", SOIL_CLASS))
    assert chosen.row.printed == "2"


def test_a_level_that_was_not_read_stays_beside_the_number(make: Make) -> None:
    (chosen,) = _chosen(make(HEAD + "Benzene,,soil,2,mg/kg,1,\nBenzene,,soil,TBD,mg/kg,2,\n", SOIL_CLASS))
    assert chosen.row.printed == "2" and [row.kind for row in chosen.also] == ["unavailable"]


def test_where_the_table_says_open_an_unknown_class_keeps_its_rows_apart(make: Make) -> None:
    both = _chosen(make(HEAD + "Benzene,,soil,1,mg/kg,1,\nBenzene,,soil,2,mg/kg,2,\n", SOIL_CLASS + 'when_unknown = "open"\n'))
    assert [(one.row.printed, dict(one.depends_on)) for one in both] == [("1", {"soil_class": "1"}), ("2", {"soil_class": "2"})]


def test_rows_that_hang_on_the_sample_stay_side_by_side_unless_stated_for_the_site(make: Make) -> None:
    table = make("analyte,cas,medium,level,unit,depth\nBenzene,,soil,1,mg/kg,upper\nBenzene,,soil,2,mg/kg,lower\n", DEPTH)
    assert [dict(one.depends_on) for one in _chosen(table)] == [{"depth": "upper"}, {"depth": "lower"}]
    (stated,) = _chosen(table, depth="lower")
    assert (stated.row.printed, dict(stated.depends_on)) == ("2", {})


def test_an_unknown_value_is_refused_with_the_values_there_are(make: Make) -> None:
    with pytest.raises(Refused, match="soil_class=9: xx/made-up knows 1, 2"):
        _chosen(make(HEAD + "Benzene,,soil,1,mg/kg,1,\n", SOIL_CLASS), soil_class="9")


def test_conditions_of_other_tables_are_none_of_this_tables_business(make: Make) -> None:
    assert len(_chosen(make(HEAD + "Benzene,,soil,1,mg/kg,1,\n", SOIL_CLASS), land_use="residential")) == 1


def test_benzene_decides_the_gasoline_row_and_cannot_be_stated(standards: Standards) -> None:
    name = "us-wa/groundwater-method-a"
    table, version = standards.table(name), standards.in_force(name, date(2019, 6, 1))
    gasoline = [one for one in choose(table, version, {}) if one.row.analyte == "Gasoline range organics"]
    assert [(one.row.printed, dict(one.depends_on)) for one in gasoline] == [
        ("800", {"benzene": "detected"}),
        ("1,000", {"benzene": "not_detected"}),
    ]
    with pytest.raises(Refused, match="decided by each sample's results; leave it out"):
        choose(table, version, {"benzene": "not_detected"})


def test_two_unknown_conditions_are_both_named(standards: Standards) -> None:
    name = "us-co/petroleum-tier-1"
    chosen = choose(standards.table(name), standards.version(name, "2020-04-13"), {})
    benzene = next(one for one in chosen if (one.row.analyte, one.row.medium) == ("Benzene", "soil"))
    assert benzene.row.printed == "0.26" and "soil depth not stated" in (benzene.assumed or "")


AREA = '[conditions.area]\nfrom = "site"\nvalues = ["A", "B"]\ntitle = "area"\ntogether = true\n'
BOTH = "analyte,cas,medium,level,unit,soil_class,area\n"


def test_values_of_a_condition_neither_lie_apart_nor_apply_together_unless_the_table_says_so(make: Make) -> None:
    conditions = make(BOTH + "Benzene,,soil,1,mg/kg,1,A\n", SOIL_CLASS + AREA).table("xx/made-up").conditions
    said = [(one.key, one.when_unknown, one.apart, one.together) for one in conditions.values()]
    assert said == [("soil_class", "strictest", False, False), ("area", "strictest", False, True)]


def test_a_row_applies_only_where_all_its_conditions_do(make: Make) -> None:
    rows = "".join(
        f"Benzene,,soil,{level},mg/kg,{of},{area}\n" for level, of, area in [(1, 1, "A"), (2, 1, "B"), (3, 2, "A"), (4, 2, "B")]
    )
    table = make(BOTH + rows, SOIL_CLASS + AREA)
    (chosen,) = _chosen(table, soil_class="2", area="B")
    assert (chosen.row.printed, chosen.also) == ("4", ())
    (chosen,) = _chosen(table, soil_class="2")
    assert (chosen.row.printed, [row.printed for row in chosen.also]) == ("3", ["4"])
    (chosen,) = _chosen(table, area="A, B", soil_class="1")
    assert (chosen.row.printed, [row.printed for row in chosen.also]) == ("1", ["2"])


def test_the_reason_says_what_was_stated_what_was_not_and_what_governs(make: Make) -> None:
    rows = "".join(
        f"Benzene,,soil,{level},mg/kg,{of},{area}\n" for level, of, area in [(1, 1, "A"), (2, 1, "B"), (3, 2, "A"), (4, 2, "B")]
    )
    table = make(BOTH + rows, SOIL_CLASS + AREA)
    assert [one.because for one in _chosen(table, soil_class="2", area="B")] == ["for soil class 2, area B"]
    assert [one.because for one in _chosen(table, soil_class="2")] == ["for soil class 2; area A governs of 2 that apply"]
    assert [one.because for one in _chosen(table, area="B")] == ["for area B; soil class not stated: strictest row"]
    assert [one.because for one in _chosen(table)] == ["soil class not stated: strictest row; area A governs of 2 that apply"]


def test_a_single_row_governs_nothing(make: Make) -> None:
    (chosen,) = _chosen(make("analyte,cas,medium,level,unit,area\nBenzene,,soil,1,mg/kg,A\n", AREA))
    assert (chosen.because, chosen.assumed) == ("", None)


def test_a_level_not_read_or_in_words_stands_before_no_level(make: Make) -> None:
    for printed in ("TBD", "see 5.2"):
        rows = f"Benzene,,soil,NL,mg/kg,1,\nBenzene,,soil,{printed},mg/kg,2,\n"
        (chosen,) = _chosen(make(HEAD + rows, SOIL_CLASS + '[words]\n"see 5.2" = "words"\n'))
        assert chosen.row.printed == printed and [row.printed for row in chosen.also] == ["NL"]
