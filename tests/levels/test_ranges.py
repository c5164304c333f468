"""A range of a measured condition: what lies in it and what touches it, held against every quarter from 0 to 3."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

import pytest

from screening.levels.facts import Range
from screening.levels.shape import BrokenTable
from tests.levels.conftest import Make

ENDS = [None, Decimal(1), Decimal(2)]
STEPS = [Decimal(at) / 4 for at in range(13)]


def _inside(span: Range, amount: Decimal) -> bool:
    """In words: not below or at an end that does not belong to it, not above or at the other."""
    low = span.low is None or (amount >= span.low if span.low_included else amount > span.low)
    high = span.high is None or (amount <= span.high if span.high_included else amount < span.high)
    return low and high


@pytest.mark.parametrize(("low", "high"), list(product(ENDS, ENDS)))
@pytest.mark.parametrize(("low_included", "high_included"), list(product([False, True], [False, True])))
def test_what_it_holds_and_touches(low: Decimal | None, high: Decimal | None, low_included: bool, high_included: bool) -> None:
    span = Range(low, low_included, high, high_included)
    held = [amount for amount in STEPS if _inside(span, amount)]
    assert [amount for amount in STEPS if span.holds(amount)] == held
    assert span.empty is (not held)
    if held:
        for one, other in product(STEPS, STEPS):
            if one <= other:
                assert span.touches(one, other) is any(one <= amount <= other for amount in held), (span, one, other)


@pytest.mark.parametrize(("field", "unit"), [("depth", "yd"), ("width", "ft")])
def test_only_a_depth_in_feet_or_metres_is_measured(make: Make, field: str, unit: str) -> None:
    facts = f'[conditions.x]\nfrom = "sample"\nvalues = ["a"]\ntitle = "x"\nfield = "{field}"\nunit = "{unit}"\n[conditions.x.ranges.a]\nabove = "1"\n'
    with pytest.raises(BrokenTable, match="in ft or m"):
        make("analyte,cas,medium,level,unit\n", facts).table("xx/made-up")


def test_a_wording_says_nothing_unknown(make: Make) -> None:
    facts = (
        '[conditions.x]\nfrom = "results"\nvalues = ["detected", "not_detected"]\ntitle = "x"\nanalyte = "Lead"\n'
        '[conditions.x.wordings.own]\nsource = "made up"\nshare_under = "0.2"\n'
    )
    with pytest.raises(BrokenTable, match="unknown key 'share_under'"):
        make("analyte,cas,medium,level,unit\n", facts).table("xx/made-up")


def test_the_ends_are_read_as_written(make: Make) -> None:
    facts = (
        '[conditions.x]\nfrom = "results"\nvalues = ["a", "b", "c"]\ntitle = "x"\nanalyte = "Lead"\nunit = "mg/L"\n'
        '[conditions.x.ranges.a]\nbelow = "1"\n[conditions.x.ranges.b]\nfrom = "1"\nto = "2"\n[conditions.x.ranges.c]\nabove = "2"\n'
    )
    ranges = make("analyte,cas,medium,level,unit\n", facts).table("xx/made-up").conditions["x"].ranges
    assert ranges == {
        "a": Range(None, False, Decimal(1000), False), "b": Range(Decimal(1000), True, Decimal(2000), True),
        "c": Range(Decimal(2000), False, None, False),
    }  # fmt: skip
