"""The text of a level, as rules print it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.levels.figures import Figure, read_figure, read_number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1,000", "1000"), (".07", "0.07"), ("0.500", "0.500"), ("7.00E-01", "0.700"), ("3E-06", "0.000003"),
        ("2.0 x 10-3", "0.0020"), ("2.0 × 10^-3", "0.0020"), ("0.00000003", "0.00000003"),
    ],
)  # fmt: skip
def test_a_number_is_read_exactly(text: str, number: str) -> None:
    found = read_number(text)
    assert found == Decimal(number)
    assert found is not None and found.as_tuple().digits == Decimal(number).as_tuple().digits


@pytest.mark.parametrize("text", ["1,00", "1,0000", "1.2.3", "", ".", "12a", "1 000", "see note", "0.43*"])
def test_what_is_no_number_is_not_guessed(text: str) -> None:
    assert read_number(text) is None


@pytest.mark.parametrize(("text", "number"), [("1 500", "1500"), ("0,5", "0.5"), ("10 000,25", "10000.25"), ("0,030", "0.030")])
def test_a_decimal_comma_is_read_only_where_the_table_says_so(text: str, number: str) -> None:
    assert read_number(text, "1 234,5") == Decimal(number)
    assert read_number(text) is None


def test_a_decimal_point_is_refused_in_a_table_of_commas() -> None:
    assert read_number("0.5", "1 234,5") is None


@pytest.mark.parametrize(
    ("text", "low", "high"), [("560 to 1,000", "560", "1000"), ("0.02 - 0.05", "0.02", "0.05"), ("6–8.3", "6", "8.3")]
)
def test_a_range_keeps_both_ends(text: str, low: str, high: str) -> None:
    assert read_figure(text, {}) == Figure("range", Decimal(low), Decimal(high))


@pytest.mark.parametrize("text", ["8 to 6", "6 to 6", "some to 6", "6 to some", "some to many"])
def test_a_range_that_runs_backwards_or_lacks_an_end_is_no_range(text: str) -> None:
    assert read_figure(text, {}) is None


def test_words_mean_what_the_table_says() -> None:
    assert read_figure("RES", {"RES": "no_level"}) == Figure("no_level")
    assert read_figure("RES", {}) is None


def test_a_figure_printed_with_a_less_than_sign_is_met_below_it() -> None:
    assert read_figure("<4", {}) == Figure("number", Decimal(4), below=True)
    assert read_figure("<NL", {}) is None


@given(st.integers(0, 10**12), st.integers(0, 6))
def test_any_number_printed_with_thousands_marks_comes_back(digits: int, places: int) -> None:
    number = Decimal(digits).scaleb(-places)
    assert read_number(f"{number:,f}") == number
    assert read_number(f"{number:,f}".replace(",", " ").replace(".", ","), "1 234,5") == number
