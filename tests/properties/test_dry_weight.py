"""Dry weight: the quotient agrees with exact fractions wherever it is compared."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import example, given
from hypothesis import strategies as st

from screening.quality.dry import dry_amount

AMOUNT = st.decimals("0.000000001", "1000000", allow_nan=False, allow_infinity=False, places=9)
SOLIDS = st.decimals("0.01", "100", allow_nan=False, allow_infinity=False, places=2)
HALF_A_STEP = Fraction(1, 2 * 10**18)


@given(AMOUNT, SOLIDS)
@example(Decimal("0.19926"), Decimal("81.0"))
def test_the_quotient_is_exact_to_the_last_kept_decimal(amount: Decimal, solids: Decimal) -> None:
    dry = dry_amount(amount, solids)
    assert dry is not None
    assert abs(Fraction(dry) - Fraction(amount) * 100 / Fraction(solids)) <= HALF_A_STEP


@given(AMOUNT, SOLIDS, st.integers(-3, 3), st.integers(0, 9))
@example(Decimal("0.246"), Decimal("81.0"), 0, 9)
def test_rounding_never_decides(level: Decimal, solids: Decimal, steps: int, places: int) -> None:
    """Amounts as received that lie at the level in dry weight, and a last digit to either side of it."""
    at_level = (level * solids / 100).quantize(Decimal(1).scaleb(-places - 4))
    amount = at_level + steps * Decimal(1).scaleb(-places - 4)
    dry = dry_amount(amount, solids)
    assert dry is not None
    exact = Fraction(amount) * 100 / Fraction(solids)
    assert (Fraction(dry) > Fraction(level)) == (exact > Fraction(level))
    assert (dry == level) == (exact == Fraction(level))


@given(st.lists(AMOUNT, min_size=2, max_size=2), SOLIDS)
def test_result_and_limit_keep_their_order(amounts: list[Decimal], solids: Decimal) -> None:
    low, high = sorted(amounts)
    dry_low, dry_high = dry_amount(low, solids), dry_amount(high, solids)
    assert dry_low is not None and dry_high is not None
    assert dry_low <= dry_high


def test_nothing_stays_nothing() -> None:
    assert dry_amount(None, Decimal("81.0")) is None
    assert dry_amount(Decimal("0.5"), Decimal(100)) == Decimal("0.5")


def test_the_higher_detection_is_the_higher_in_dry_weight(office: Any) -> None:
    """0.24 dry against 0.21 as received at 81 % solids, which is 0.259 dry."""
    office.plain_site(more='[conditions]\nsoil_class = "1"\n')
    same = {"sample_id": "DR-1", "medium": "soil", "analyte": "Benzene", "unit": "mg/kg"}
    rows = [
        {**same, "result": "0.24", "basis": "dry", "percent_solids": ""},
        {**same, "result": "0.21", "basis": "as received", "percent_solids": "81.0"},
    ]
    assert office.run("import", office.deliverable("both.csv", rows), "--site", "one").status == 0
    answer = office.run("screen", "--site", "one").document
    assert [item["outcome"] for item in answer["outcomes"]] == ["exceeds"]
