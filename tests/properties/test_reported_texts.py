"""Reading a result loses no digit, and every form in which laboratories write a result is read."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.normal.values import PLACES, WHOLE_DIGITS, Reported, read_number, read_reported

WHOLE = st.one_of(st.just("0"), st.from_regex(rf"[1-9][0-9]{{0,{WHOLE_DIGITS - 1}}}", fullmatch=True))
PART = st.one_of(st.just(""), st.from_regex(rf"\.[0-9]{{1,{PLACES}}}", fullmatch=True))
PLAIN = st.builds(str.__add__, WHOLE, PART)
LETTERS = st.sampled_from(["", " U", " J", " UJ", " B", "J", " J+", "*", " D"])


@given(PLAIN)
def test_a_plain_number_is_printed_as_it_was_written(text: str) -> None:
    found = read_reported(text)
    assert (found.state, found.problem) == ("number", None)
    assert f"{found.number:f}" == text


@given(st.sampled_from(["<", "< ", ">", "> ", "~", "ND ", "ND<", "ND @ ", "-"]), PLAIN, LETTERS)
def test_signs_and_flags_touch_no_digit(sign: str, text: str, letters: str) -> None:
    found = read_reported(f"{sign}{text}{letters}")
    assert found.number is not None
    assert f"{abs(found.number):f}" == text
    assert found.letters == letters.strip()
    assert (found.state == "not_detected") == (sign[0] in "<N")


@given(PLAIN)
def test_thousands_marks_touch_no_digit(text: str) -> None:
    whole, point, part = text.partition(".")
    for mark in (",", " "):
        grouped = f"{int(whole):,}".replace(",", mark)
        assert read_reported(f"{grouped}{point}{part}") == read_reported(text)


@given(PLAIN)
def test_a_decimal_comma_is_read_only_where_the_layout_says_so(text: str) -> None:
    with_comma = text.replace(".", ",")
    assert read_reported(with_comma, ",").number == Decimal(text)
    assert f"{read_reported(with_comma, ',').number:f}" == text
    if "," in with_comma:
        whole, _, part = with_comma.partition(",")
        grouped = len(part) == 3 and len(whole) <= 3  # 1,234 with no layout is the thousands mark
        found = read_reported(with_comma)
        assert (found.number == Decimal(whole + part)) if grouped else (found.state == "unreadable")


@given(st.from_regex(r"[1-9](\.[0-9]{1,5})?", fullmatch=True), st.integers(-12, 12))
def test_powers_of_ten_are_exact(mantissa: str, power: int) -> None:
    exact = Decimal(mantissa).scaleb(power)
    for text in (
        f"{mantissa}E{power:+03d}", f"{mantissa}e{power}", f"{mantissa} x 10^{power}", f"{mantissa}x10^{power}",
        f"{mantissa} × 10^{power}", f"{mantissa} x 10{str(power).translate(SUPERSCRIPTS)}",
    ):  # fmt: skip
        found = read_reported(text)
        assert (found.state, found.number) == ("number", exact), text
        assert found.number is not None and found.number.as_tuple().digits == exact.as_tuple().digits


SUPERSCRIPTS = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


@given(st.integers(PLACES + 1, 60))
def test_more_decimals_than_the_store_keeps_are_held_and_never_cut(places: int) -> None:
    found = read_reported("0." + "0" * (places - 1) + "1")
    assert (found.state, found.number) == ("unreadable", None)
    assert found.problem


@given(st.text(max_size=40))
def test_no_text_raises_and_what_is_unreadable_says_why(text: str) -> None:
    for read in (read_reported, read_number):
        for decimal in (".", ","):
            found = read(text, decimal)
            assert (found.state == "unreadable") <= bool(found.problem)
            assert found.number is None or found.number.is_finite()


FORMS = [
    ("<0.5", Reported("not_detected", Decimal("0.5"), "<")),
    ("< 0.5 U", Reported("not_detected", Decimal("0.5"), "<", "U")),
    ("ND", Reported("not_detected", letters="ND")),
    ("ND(0.5)", Reported("not_detected", Decimal("0.5"), "<")),
    ("ND (0.5)", Reported("not_detected", Decimal("0.5"), "<")),
    ("ND @ 0.5", Reported("not_detected", Decimal("0.5"), "<")),
    ("ND<0.5", Reported("not_detected", Decimal("0.5"), "<")),
    ("ND < 0.50", Reported("not_detected", Decimal("0.50"), "<")),
    ("0.5 U", Reported("number", Decimal("0.5"), "", "U")),
    ("0.5U", Reported("number", Decimal("0.5"), "", "U")),
    ("1.2 J", Reported("number", Decimal("1.2"), "", "J")),
    ("1,200", Reported("number", Decimal("1200"))),
    ("1,234,567.80", Reported("number", Decimal("1234567.80"))),
    ("1 000", Reported("number", Decimal("1000"))),
    ("1\u00a0000", Reported("number", Decimal("1000"))),
    ("3.4E+03", Reported("number", Decimal("3.4E+3"))),
    ("3.4e3", Reported("number", Decimal("3.4E+3"))),
    ("3.4 x 10^3", Reported("number", Decimal("3.4E+3"))),
    ("3.4×10³", Reported("number", Decimal("3.4E+3"))),
    (">2000", Reported("number", Decimal("2000"), ">")),
    ("> 2,000", Reported("number", Decimal("2000"), ">")),
    ("~5", Reported("number", Decimal("5"), "~")),
    ("Trace", Reported("trace")),
    ("NA", Reported("not_analysed")),
    ("NS", Reported("not_analysed")),
    ("--", Reported("not_analysed")),
    ("", Reported("blank")),
    ("   ", Reported("blank")),
    ("0", Reported("number", Decimal("0"))),
    ("0.00", Reported("number", Decimal("0.00"))),
    ("-0.02", Reported("number", Decimal("-0.02"))),
    ("\u22120.02", Reported("number", Decimal("-0.02"))),
    ("+0.02", Reported("number", Decimal("0.02"))),
    (".5", Reported("number", Decimal("0.5"))),
    ("5.", Reported("number", Decimal("5"))),
]


@pytest.mark.parametrize(("text", "read"), FORMS, ids=[repr(text) for text, _ in FORMS])
def test_every_form_of_a_result(text: str, read: Reported) -> None:
    assert read_reported(text) == read


@pytest.mark.parametrize("text", ["1,5", "0.5/0.7", "0.5 - 0.7", "< 0.5 < 0.7", "0.5 (0.7)", "five", "<", "#REF!", "1,23,4"])
def test_what_has_no_single_reading_gives_no_number(text: str) -> None:
    assert read_reported(text).number is None


def test_decimal_comma_where_the_layout_says_so() -> None:
    assert read_reported("1,5", ",") == Reported("number", Decimal("1.5"))
    assert read_reported("1.200,5", ",") == Reported("number", Decimal("1200.5"))
    assert read_reported("1.5", ",").state == "unreadable"
