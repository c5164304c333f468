"""Terms, qualifiers and headings."""

import pytest

from screening.vocabulary import headings, qualifiers, terms
from screening.vocabulary.headings import Heading, recognise
from screening.vocabulary.qualifiers import read_qualifiers
from screening.vocabulary.tables import rows
from screening.vocabulary.terms import KindOfTerm, read_term


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("sample_kind", "", "field"),
        ("sample_kind", "Laboratory Blank", "method_blank"),
        ("sample_kind", "LCS", "lab_control"),
        ("sample_kind", "laboratory control sample duplicate", "lab_control_duplicate"),
        ("sample_kind", "matrix_spike_duplicate", "matrix_spike_duplicate"),
        ("sample_kind", "rinsate", "equipment_blank"),
        ("sample_kind", "reference material", "other_qc"),
        ("medium", "Ground Water", "groundwater"),
        ("medium", "sediment", "sediment"),
        ("fraction", "Filtered, field", "dissolved"),
        ("fraction", "Total Recoverable", "total"),
        ("fraction", "", None),
        ("basis", "Dry Weight", "dry"),
        ("basis", "as-received", "as_received"),
    ],
)
def test_terms(kind: KindOfTerm, text: str, value: str | None) -> None:
    read = read_term(kind, text)
    assert (read.value, read.problem) == (value, None)


def test_water_alone_is_held() -> None:
    assert read_term("medium", "Water").proposal == "groundwater | surface_water | other_water"


def test_duplicate_alone_is_held() -> None:
    assert read_term("sample_kind", "Duplicate").proposal == "field_duplicate | lab_duplicate"


def test_solid_is_soil_and_says_so() -> None:
    assert read_term("medium", "Solid").note == "'solid' read as soil"


def test_an_unknown_word_is_held_with_the_nearest() -> None:
    assert read_term("medium", "grundwater").proposal == "groundwater"


def test_term_values_are_those_of_the_normal_form() -> None:
    assert set(terms.values("medium")) == {
        "soil", "groundwater", "sediment", "surface_water", "other_water", "other",
    }  # fmt: skip
    assert set(terms.values("sample_kind")) == {
        "field", "field_duplicate", "trip_blank", "field_blank", "equipment_blank", "method_blank", "lab_control",
        "lab_control_duplicate", "matrix_spike", "matrix_spike_duplicate", "lab_duplicate", "surrogate",
        "tentative", "other_qc",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "letters"),
    [
        ("", ()),
        ("BJ", ("B", "J")),
        ("J,B", ("J", "B")),
        ("H;U", ("H", "U")),
        ("UJ", ("UJ",)),
        ("j+", ("J+",)),
        ("<", ("<",)),
        ("ND", ("ND",)),
    ],
)
def test_letters(text: str, letters: tuple[str, ...]) -> None:
    assert read_qualifiers(text).letters == letters


def test_effects() -> None:
    assert read_qualifiers("UJ").effects == {"not_detected", "estimated"}
    assert read_qualifiers("E").effects == {"over_range"}
    assert read_qualifiers("<").effects == {"not_detected"}
    assert read_qualifiers("C").effects == frozenset()


def test_letters_are_not_split_when_a_part_is_unknown() -> None:
    assert read_qualifiers("BQ7") == qualifiers.Qualifiers(unknown=("BQ7",))


def test_the_key_of_the_deliverable_wins() -> None:
    key = {"B": "estimated", "I": "estimated"}
    assert read_qualifiers("B I", key).effects == {"estimated"}


def test_every_effect_is_a_known_word() -> None:
    assert frozenset().union(*qualifiers.listed().values()) <= qualifiers.EFFECTS


@pytest.mark.parametrize(
    ("heading", "field", "unit"),
    [
        ("Result (mg/kg)", "result", "mg/kg"),
        ("Result [\u00b5g/L]", "result", "\u00b5g/L"),
        ("RL, ug/L", "reporting_limit", "ug/L"),
        ("Concentration in ug/L", "result", "ug/L"),
        ("Depth (ft)", "depth_top", "ft"),
        ("Bottom depth (feet)", "depth_bottom", "feet"),
        ("CAS No.", "cas", None),
        ("CAS #", "cas", None),
        ("Lab no.", "lab_sample_id", None),
        ("Unit(s)", "unit", None),
        ("% Solids", "percent_solids", None),
        ("Recovery %", "recovery", None),
        ("Sample_ID", "sample_id", None),
        ("Analyzed", "analysed_at", None),
        ("Weather", None, None),
        ("Result (see note)", None, None),
    ],
)
def test_headings(heading: str, field: str | None, unit: str | None) -> None:
    assert recognise(heading) == Heading(field, unit)


def test_a_field_name_is_always_its_own_heading() -> None:
    for field in headings.FIELDS:
        for written in (field, field.replace("_", " "), field.title(), field.upper()):
            assert recognise(written) == Heading(field)


def test_every_heading_points_to_a_field_and_stands_once() -> None:
    written = [row["heading"] for row in rows("headings.csv")]
    assert {row["field"] for row in rows("headings.csv")} <= set(headings.FIELDS)
    assert len({" ".join(heading.casefold().split()) for heading in written}) == len(written)
