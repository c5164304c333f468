"""What changed between two versions of a table."""

from __future__ import annotations

import pytest

from screening.levels.compare import Change, compare
from tests.levels.conftest import Make

HEAD = "analyte,cas,medium,level,unit,comparison\n"
SPANS = '[versions."2020-01-01"]\neffective = "x"\nuntil = 2020-12-31\n[versions."2021-01-01"]\neffective = "x"\n'


def _changes(make: Make, before: str, after: str) -> list[Change]:
    standards = make({"2020-01-01": HEAD + before, "2021-01-01": HEAD + after}, versions=SPANS)
    return compare(standards.version("xx/made-up", "2020-01-01"), standards.version("xx/made-up", "2021-01-01"))


@pytest.mark.parametrize(
    ("before", "after", "what", "factor", "tenfold"),
    [
        ("1", "0.035", "stricter", "28.6", True),
        ("400", "40", "stricter", "10", True),
        ("400", "40.01", "stricter", "10", False),
        ("13", "420", "looser", "32.3", True),
        ("1", "0.45", "stricter", "2.22", False),
        ("1,000", "600", "stricter", "1.67", False),
    ],
)
def test_stricter_and_looser_by_a_factor(make: Make, before: str, after: str, what: str, factor: str, tenfold: bool) -> None:
    (change,) = _changes(make, f'Benzene,,groundwater,"{before}",ug/L,\n', f'Benzene,,groundwater,"{after}",ug/L,\n')
    assert (change.what, change.factor, change.tenfold) == (what, factor, tenfold)
    assert (change.before, change.after) == (f"{before} ug/L", f"{after} ug/L")


def test_the_same_level_in_another_unit_or_name_is_no_change(make: Make) -> None:
    assert _changes(make, "MTBE,,groundwater,0.020,mg/L,\n", "Methyl tert-butyl ether,1634-04-4,groundwater,20,ug/L,\n") == []


def test_added_removed_sign_and_words(make: Make) -> None:
    changes = _changes(
        make,
        "Benzene,,groundwater,5,ug/L,\nToluene,,groundwater,5,ug/L,\nStyrene,,groundwater,NL,ug/L,\n",
        "Benzene,,groundwater,5,ug/L,at_or_above\nLead,,groundwater,5,ug/L,\nStyrene,,groundwater,4,ug/L,\n",
    )
    assert [(one.analyte, one.what, one.before, one.after) for one in changes] == [
        ("Benzene", "sign", "5 ug/L", "5 ug/L (at or above)"),
        ("Lead", "added", None, "5 ug/L"),
        ("Styrene", "changed", "NL", "4 ug/L"),
        ("Toluene", "removed", "5 ug/L", None),
    ]
