"""Units against the SI: the prefixes of the SI brochure (9th edition, 2019, table 7) and 1 L = 1 dm3 (table 8)."""

import subprocess
import sys
from decimal import Context, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from unit_factors import needed

from screening.vocabulary.tables import rows
from screening.vocabulary.units import factor_by_pint, read_unit

MILLI, MICRO, NANO, PICO = (Decimal(10) ** power for power in (-3, -6, -9, -12))


@pytest.mark.parametrize(
    ("text", "unit", "factor"),
    [
        ("g/L", "ug/L", 1 / MICRO),
        ("mg/L", "ug/L", MILLI / MICRO),
        ("ug/L", "ug/L", Decimal(1)),
        ("ng/L", "ug/L", NANO / MICRO),
        ("pg/L", "ug/L", PICO / MICRO),
        ("ug/mL", "ug/L", 1 / MILLI),
        ("g/kg", "mg/kg", 1 / MILLI),
        ("ug/kg", "mg/kg", MICRO / MILLI),
        ("ng/g", "mg/kg", NANO / MILLI * 1000),
        ("ug/g", "mg/kg", MICRO / MILLI * 1000),
        ("mg/g", "mg/kg", Decimal(1000)),
        ("pg/g", "mg/kg", PICO / MILLI * 1000),
    ],
)
def test_factors(text: str, unit: str, factor: Decimal) -> None:
    read = read_unit(text, None)
    assert (read.unit, read.factor) == (unit, factor)


@pytest.mark.parametrize("text", ["\u00b5g/L", "\u03bcg/l", "ug/l", "mcg/L", "UG/L", "ug / L", "micrograms per liter"])
def test_spellings_of_micrograms_per_litre(text: str) -> None:
    assert (read_unit(text, None).unit, read_unit(text, None).factor) == ("ug/L", Decimal(1))


@pytest.mark.parametrize(
    ("text", "basis"),
    [
        ("mg/Kg-dry", "dry"),
        ("mg/kg dry", "dry"),
        ("mg/kg dry wt", "dry"),
        ("mg/kg (dw)", "dry"),
        ("mg/kg, dry weight", "dry"),
        ("mg/kg wet", "as_received"),
        ("mg/kg as received", "as_received"),
        ("\u00b5g/g dry", "dry"),
        ("mg/kg", None),
    ],
)
def test_basis_in_the_unit(text: str, basis: str | None) -> None:
    read = read_unit(text, "soil")
    assert (read.unit, read.factor, read.basis) == ("mg/kg", Decimal(1), basis)


def test_counted_as_an_element_is_noted() -> None:
    assert (read_unit("mg/l as N", None).note or "").startswith("as N")
    assert read_unit("ug/L as Cr", None).unit == "ug/L"


@pytest.mark.parametrize(
    ("text", "medium", "unit", "factor"),
    [
        ("ppm", "soil", "mg/kg", "1"),
        ("ppb", "sediment", "mg/kg", "0.001"),
        ("ppm", "groundwater", "ug/L", "1000"),
        ("ppb", "surface_water", "ug/L", "1"),
    ],
)
def test_parts_by_medium(text: str, medium: str, unit: str, factor: str) -> None:
    read = read_unit(text, medium)
    assert (read.unit, read.factor) == (unit, Decimal(factor))
    assert ("density" in (read.note or "")) == (unit == "ug/L")


@pytest.mark.parametrize("medium", [None, "other"])
def test_parts_without_a_medium_are_held(medium: str | None) -> None:
    read = read_unit("ppb", medium)
    assert (read.unit, read.proposal) == (None, "ug/kg | ug/L")


def test_a_legend_that_contradicts_itself_is_held_and_quoted() -> None:
    read = read_unit("ppb: parts per million (or ug/kg)", "soil")
    assert read.unit is None
    assert read.problem is not None and "'ppb'" in read.problem and "'parts per million'" in read.problem


def test_two_names_of_one_size_agree() -> None:
    assert read_unit("ppb (ug/kg)", None).factor == Decimal("0.001")


@pytest.mark.parametrize("text", ["", "mgkg", "furlongs"])
def test_unknown_units_are_held(text: str) -> None:
    assert read_unit(text, "soil").problem is not None


def test_other_units_keep_their_spelling() -> None:
    assert [read_unit(text, None).unit for text in ("ntu", "deg C", "std units")] == [
        "NTU",
        "degC",
        "std units",
    ]


def test_figures_survive() -> None:
    assert str(read_unit("mg/L", None).convert(Decimal("0.0500"))) == "50.0"
    assert str(read_unit("ug/kg", None).convert(Decimal(312))) == "0.312"


def test_two_spellings_of_one_value_are_equal() -> None:
    assert read_unit("mg/L", None).convert(Decimal("0.0007")) == read_unit("\u00b5g/L", None).convert(Decimal("0.7"))


@given(
    st.decimals(allow_nan=False, allow_infinity=False, places=6),
    st.sampled_from(["mg/L", "ng/L", "ug/kg", "pg/g"]),
)
def test_there_and_back_is_exact(value: Decimal, text: str) -> None:
    unit = read_unit(text, None)
    back = unit.convert(value).scaleb(-unit.factor.adjusted(), Context(prec=200))
    assert (back, back.as_tuple().digits) == (value, value.as_tuple().digits)


def test_every_listed_unit_is_read() -> None:
    for row in rows("units.csv"):
        assert read_unit(row["spelling"], "soil").problem is None, row


def test_the_factors_written_down_are_those_of_pint() -> None:
    """pint 0.25 on decimals; `make unit-factors` writes the file anew."""
    written = {(row["unit"], row["kept"]): Decimal(row["factor"]) for row in rows("unit_factors.csv")}
    assert set(written) == set(needed())
    assert all(factor_by_pint(unit, kept) == factor for (unit, kept), factor in written.items())


def test_a_listed_unit_needs_no_registry() -> None:
    code = "import sys; from screening.vocabulary.units import read_unit; read_unit('mg/kg', 'soil'); assert 'pint' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)
