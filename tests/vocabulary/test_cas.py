"""CAS numbers. The rule is the Chemical Abstracts Service's own; the numbers are published ones, from memory."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.vocabulary import cas

PUBLISHED = ("7732-18-5", "71-43-2", "75-09-2", "72-43-5", "7440-38-2", "107-06-2", "1330-20-7", "50-32-8")


@pytest.mark.parametrize("number", PUBLISHED)
def test_published_numbers_pass(number: str) -> None:
    assert cas.valid(number)


def test_worked_example_of_the_rule() -> None:
    # Water, 7732-18-5: 8*1 + 1*2 + 2*3 + 3*4 + 7*5 + 7*6 = 105, and 105 modulo 10 is 5.
    assert cas.check_digit("773218") == 5


@pytest.mark.parametrize("text", ["71-43-3", "2-43-5", "71432", "1975-09-02", "", "71-43-2 ", "071-43-2", "٧١-٤٣-٢"])
def test_anything_else_fails(text: str) -> None:
    assert not cas.valid(text)


@pytest.mark.parametrize(("spoiled", "number"), [("7440382", "7440-38-2"), ("744038-2", "7440-38-2"), ("000071-43-2", "71-43-2")])
def test_hyphens_come_back(spoiled: str, number: str) -> None:
    assert cas.hyphenate(spoiled) == number


def test_a_text_with_letters_is_left_alone() -> None:
    assert cas.hyphenate("PCBCL6_") == "PCBCL6_"


@pytest.mark.parametrize(
    "eaten",
    [
        "1975-09-02",
        "1975-09-02 00:00:00",
        "1975-09-02T00:00:00",
        "9/2/1975",
        "2/9/1975",
        "02.09.1975",
        "2-Sep-75",
        "27639",  # the same day as a spreadsheet's day number
        "75-9-2",
    ],
)
def test_a_number_read_as_a_date_is_found_again(eaten: str) -> None:
    assert "75-09-2" in cas.repairs(eaten)


def test_a_four_digit_first_part_read_as_a_year() -> None:
    assert cas.repairs("1634-04-04") == ["1634-04-4"]


@pytest.mark.parametrize(("short", "number"), [("2-43-5", "72-43-5"), ("71-43-", "71-43-2"), ("71-43", "71-43-2")])
def test_one_lost_digit_is_found_again(short: str, number: str) -> None:
    assert number in cas.repairs(short)


def test_the_complaint_shows_the_sum() -> None:
    assert cas.complaint("2-43-5") == "the check digit fails (17 gives 7, not 5)"


@given(st.integers(min_value=1000, max_value=999_999_999))
def test_one_digit_in_ten_passes(before: int) -> None:
    passing = [n for n in range(10) if cas.valid(cas.hyphenate(f"{before}{n}"))]
    assert passing == [cas.check_digit(str(before))]


@given(st.text(alphabet="0123456789-/. :", max_size=20))
def test_repairs_are_always_valid(text: str) -> None:
    assert all(cas.valid(repair) for repair in cas.repairs(text))
