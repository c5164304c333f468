"""Which levels of the version before may be used on, straight from the rows; figures made up."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from screening.errors import Refused
from screening.levels.choose import choose
from screening.levels.phase_in import elect, phase_in_of
from screening.levels.rules import PhaseIn
from tests.levels.conftest import Make

HEAD = "analyte,cas,medium,level,unit,fraction,layer\n"
LAYER = '[conditions.layer]\nfrom = "sample"\nvalues = ["upper", "lower"]\ntitle = "depth"\n'
VERSIONS = '[versions."2010-01-01"]\neffective = "made up"\nuntil = 2019-12-31\n[versions."2020-01-01"]\neffective = "made up"\n'
TENFOLD = PhaseIn("made up", "made up", "memory", None, Decimal(10))


def _elected(make: Make, old: str, new: str, rule: PhaseIn = TENFOLD) -> tuple[list[str], list[str]]:
    """The printed levels of the old and of the new version that decide."""
    made = make({"2010-01-01": HEAD + old, "2020-01-01": HEAD + new}, LAYER, VERSIONS)
    table = made.table("xx/made-up")
    chosen = [choose(table, made.version("xx/made-up", effective), {}) for effective in ("2010-01-01", "2020-01-01")]
    kept, at_once = elect(rule, *chosen)
    return [one.row.printed for one in kept], [one.row.printed for one in at_once]


@pytest.mark.parametrize(
    ("new", "fell"),
    [
        ("10.1", False),
        ("10", True),
        ("9.9", True),
        ("0.01", True),
        ("100", False),
        ("1000", False),
        ("NL", False),
        ("TBD", False),
    ],
)
def test_a_level_lowered_tenfold_counts_at_once(make: Make, new: str, fell: bool) -> None:
    kept, at_once = _elected(make, "Benzene,,soil,100,mg/kg,,\n", f"Benzene,,soil,{new},mg/kg,,\n")
    assert (kept, at_once) == (([], [new]) if fell else (["100"], []))


def test_without_such_a_bound_every_level_is_used_on(make: Make) -> None:
    rule = PhaseIn("made up", "made up", "memory")
    assert _elected(make, "Benzene,,soil,100,mg/kg,,\n", "Benzene,,soil,1,mg/kg,,\n", rule) == (["100"], [])


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Benzene,,soil,5,mg/kg,,\n", "Toluene,,soil,6,mg/kg,,\n"),
        ("Benzene,,soil,5,mg/kg,,\n", "Benzene,,groundwater,6,ug/L,,\n"),
        ("Benzene,,soil,5,mg/kg,total,\n", "Benzene,,soil,6,mg/kg,dissolved,\n"),
        ("Benzene,,soil,5,mg/kg,,upper\n", "Benzene,,soil,6,mg/kg,,lower\n"),
        ("Benzene,,soil,5,mg/kg,,\n", "Benzene,,soil,6,mg/kg,,lower\n"),
    ],
    ids=["analyte", "medium", "fraction", "condition", "condition added"],
)
def test_a_row_without_one_before_counts_beside_what_is_used_on(make: Make, old: str, new: str) -> None:
    assert _elected(make, old, new) == (["5"], ["6"])


def test_of_no_level_there_is_nothing_to_use_on(make: Make) -> None:
    assert _elected(make, "Benzene,,soil,NL,mg/kg,,\n", "Benzene,,soil,6,mg/kg,,\n") == ([], ["6"])
    assert _elected(make, "Benzene,,soil,TBD,mg/kg,,\n", "Benzene,,soil,6,mg/kg,,\n") == (["TBD"], [])


RULE = '[phase_in]\ntext = "made up"\ncitation = "made up"\ntranscription = "memory"\n'
ROWS = HEAD + "Benzene,,soil,5,mg/kg,,\n"


def _rule(make: Make, more: str, effective: str, on: date) -> PhaseIn:
    made = make({"2010-01-01": ROWS, "2020-01-01": ROWS}, LAYER + more, VERSIONS)
    return phase_in_of(made.table("xx/made-up"), made.version("xx/made-up", effective), on)


def test_the_last_version_is_phased_in_unless_others_are_named(make: Make) -> None:
    on = date(2020, 2, 1)
    assert _rule(make, RULE, "2020-01-01", on).text == "made up"
    assert _rule(make, RULE + 'versions = ["2010-01-01"]\n', "2010-01-01", on).text == "made up"
    for more, effective in ((RULE, "2010-01-01"), (RULE + 'versions = ["2010-01-01"]\n', "2020-01-01"), ("", "2020-01-01")):
        with pytest.raises(Refused, match="no rule lets the version before be used on"):
            _rule(make, more, effective, on)


def test_its_last_day_still_counts(make: Make) -> None:
    more = RULE + "until = 2020-06-30\n"
    assert _rule(make, more, "2020-01-01", date(2020, 6, 30)).until == date(2020, 6, 30)
    with pytest.raises(Refused, match="until 2020-06-30 only"):
        _rule(make, more, "2020-01-01", date(2020, 7, 1))
