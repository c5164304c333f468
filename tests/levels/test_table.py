"""One table read from text: rows, units, conditions, and refusals that name the place."""

from __future__ import annotations

from decimal import Decimal

import pytest

from screening.levels.shape import BrokenTable
from tests.levels.conftest import FACTS, VERSION, Make

HEAD = "analyte,cas,medium,level,unit,transcription,source,citation\n"
BENZENE = HEAD + "Benzene,71-43-2,groundwater,0.005,mg/L,read,the rule,section 1\n"


def test_a_row_keeps_the_figure_as_printed_and_the_number_in_the_normal_unit(make: Make) -> None:
    (row,) = (
        make(HEAD + 'Toluene,108-88-3,groundwater,"1,000",ug/L,read,the rule,section 1\n')
        .version("xx/made-up", "2020-01-01")
        .rows
    )
    assert (row.printed, row.unit) == ("1,000", "ug/L")
    assert (row.normal_value, row.normal_unit) == (Decimal(1000), "ug/L")
    assert row.number == 2


def test_milligrams_per_litre_become_micrograms_exactly(make: Make) -> None:
    (row,) = make(BENZENE).version("xx/made-up", "2020-01-01").rows
    assert row.normal_value == Decimal(5) and row.printed == "0.005"


def test_parts_per_million_follow_the_medium(make: Make) -> None:
    rows = make(
        HEAD + "Lead,7439-92-1,soil,400,ppm,read,the rule,1\nLead,7439-92-1,groundwater,0.015,ppm,read,the rule,1\n"
    ).version("xx/made-up", "2020-01-01").rows  # fmt: skip
    assert [(row.normal_value, row.normal_unit) for row in rows] == [(Decimal(400), "mg/kg"), (Decimal(15), "ug/L")]


def test_a_synonym_is_the_listed_analyte_and_stays_as_printed(make: Make) -> None:
    (row,) = (
        make(HEAD + "Ethylene Dibromide (EDB),106-93-4,groundwater,0.05,ug/L,read,the rule,1\n")
        .version("xx/made-up", "2020-01-01")
        .rows
    )
    assert (row.analyte, row.printed_analyte) == ("1,2-Dibromoethane", "Ethylene Dibromide (EDB)")


def test_a_name_that_only_this_rule_uses_is_explained_by_the_table(make: Make) -> None:
    rows = HEAD + "Waxy mixtures,1336-36-3,soil,1,mg/kg,read,the rule,1\n"
    explained = '[names]\n"Waxy mixtures" = "PCBs"\n'
    (row,) = make(rows, explained).version("xx/made-up", "2020-01-01").rows
    assert (row.analyte, row.printed_analyte) == ("Polychlorinated biphenyls (total)", "Waxy mixtures")
    with pytest.raises(BrokenTable, match="Waxy mixtures"):
        make(rows).version("xx/made-up", "2020-01-01")


def test_a_row_without_a_transcription_counts_as_recalled(make: Make) -> None:
    version = make("analyte,cas,medium,level,unit\nBenzene,,groundwater,5,ug/L\n").version("xx/made-up", "2020-01-01")
    assert version.rows[0].transcription == "memory" and version.recalled


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("Benzene,71-43-2,groundwater,5 or so,ug/L,read,x,1", "row 2, column level: '5 or so' is no number"),
        ("Benzene,71-43-2,groundwater,5,ug/kg,read,x,1", "row 2, column unit"),
        ("Benzene,71-43-2,groundwater,5,furlongs,read,x,1", "row 2, column unit"),
        ("Benzene,71-43-2,air,5,ug/L,read,x,1", "row 2, column medium: 'air' is none of the table's media soil, groundwater"),
        ("Benzen,71-43-2,groundwater,5,ug/L,read,x,1", "row 2: analyte 'Benzen' is not listed"),
        ("Benzene,108-88-3,groundwater,5,ug/L,read,x,1", "row 2: .*108-88-3"),
        ("Benzene,71-43-2,groundwater,5,ug/L,seen,x,1", "row 2, column transcription: 'seen'; write one of read, read_twice"),
        ("Benzene,71-43-2,groundwater,<5,ug/L,read,x,1", "row 2, column comparison: .*write at_or_above"),
    ],
)
def test_a_broken_row_is_refused_by_file_row_and_column(make: Make, row: str, words: str) -> None:
    with pytest.raises(BrokenTable, match=words) as caught:
        make(HEAD + row + "\n").version("xx/made-up", "2020-01-01")
    assert "xx/made-up/2020-01-01.csv" in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ("titel = 'x'\n", "unknown key 'titel'; did you mean 'title'"),
        ("rounding = 'up'\n", "'rounding' is 'up'; write one of none"),
        ("notes = 'x'\n", "'notes' must be a list"),
        ("[words]\nNG = 'nothing'\n", "word 'NG' in .*write no_level, unavailable or words"),
        ("[[sums]]\nanalyte = 'Total xylenes'\n", "'members' is missing in .sums."),
        ("[conditions.x]\nfrom = 'moon'\nvalues = ['1']\ntitle = 'x'\n", "'from' in .conditions.x. is 'moon'; write one of site"),
        ("[conditions.x]\nfrom = 'site'\nvalues = ['1']\ntitle = 'x'\nhue = 'red'\n", "unknown key 'hue' in .conditions.x."),
        (
            "[conditions.x]\nfrom = 'sample'\nvalues = ['1']\ntitle = 'x'\n[conditions.x.ranges.2]\nfrom = '0'\n",
            "range '2' in .conditions.x. is none of its values 1",
        ),
        (
            "[conditions.x]\nfrom = 'sample'\nvalues = ['1', '2']\ntitle = 'x'\nfield = 'depth'\nunit = 'ft'\n[conditions.x.ranges.1]\nfrom = '0'\n",
            "has no range for 2; what lies there would have no level",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['1', '2']\ntitle = 'x'\nanalyte = 'pH'\n[conditions.x.ranges.1]\nfrom = '0'\n",
            "has no range for 2",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['1']\ntitle = 'x'\nanalyte = 'pH'\n[conditions.x.ranges.1]\nfrom = '5'\nto = '2'\n",
            "range '1' from 5 to 2 holds nothing; are its ends exchanged",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['1']\ntitle = 'x'\nanalyte = 'pH'\n[conditions.x.ranges.1]\nfrom = '5'\nbelow = '5'\n",
            "holds nothing",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['1']\ntitle = 'x'\nanalyte = 'pH'\n[conditions.x.ranges.1]\nfrom = '5'\nabove = '5'\n",
            "range '1' has both 'from' and 'above'",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['1']\ntitle = 'x'\nanalyte = 'pH'\n[conditions.x.ranges.1]\nfrom = 'five'\n",
            "'five'; write a number",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['1']\ntitle = 'x'\nanalyte = 'Lead'\nunit = 'ppm'\n[conditions.x.ranges.1]\nfrom = '5'\n",
            "unit: 'ppm' cannot be read without the medium",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['present', 'absent']\ntitle = 'x'\nanalyte = 'Lead'\n",
            "results say detected or not_detected, not present, absent",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['detected']\ntitle = 'x'\nanalyte = 'Lead'\nlimit_at_most = '5 ppb'\n",
            "limit_at_most: 'ppb' cannot be read without the medium",
        ),
        (
            "[conditions.x]\nfrom = 'results'\nvalues = ['detected']\ntitle = 'x'\nanalyte = 'Lead'\nlimit_at_most = 'nan ug/L'\n",
            "limit_at_most is 'nan'; write a number",
        ),
        (
            "[tolerance]\nover = '0.1'\nsamples = '1'\ntext = 'x'\ncitation = 'x'\ntranscription = 'read'\n",
            "tolerance: write a share above 0 and a whole number of samples, two at least",
        ),
        ("unavailable = ['Unobtainium']\n", "Unobtainium"),
        ("[[phase_in]]\ntext = 'x'\n", "'phase_in' must be a section"),
        (
            "[[statistics]]\nname = 'mean'\ntext = 'x'\ncitation = 'x'\ntranscription = 'seen'\n",
            "'transcription' in .statistics.",
        ),
        (
            "[[backgrounds]]\nkind = 'area'\ntext = 'x'\ncitation = 'x'\ntranscription = 'read'\nlognormal_percentile = '90'\n"
            "normal_percentile = '0.8'\ntimes_median = '4'\nminimum = '20'\n",
            "write a percentile as a share, as '0.9'",
        ),
        ("notes = [\n", "is no TOML"),
    ],
)
def test_a_broken_fact_is_refused_by_file_and_key(make: Make, facts: str, words: str) -> None:
    with pytest.raises(BrokenTable, match=words) as caught:
        make(BENZENE, facts).table("xx/made-up")
    assert str(caught.value).startswith("xx/made-up/table.toml")


def test_a_missing_fact_is_named(make: Make) -> None:
    from screening.levels.facts import parse_facts

    with pytest.raises(BrokenTable, match="'citation' is missing; add it"):
        parse_facts("xx/made-up", FACTS.replace("citation", "# ") + VERSION, "table.toml")


def test_a_day_that_is_none_is_refused(make: Make) -> None:
    with pytest.raises(BrokenTable, match="'2020-13-01'; write a date as"):
        make(BENZENE, versions='[versions."2020-13-01"]\neffective = "x"\n').table("xx/made-up")


def test_a_condition_column_must_be_declared_and_its_values_too(make: Make) -> None:
    rows = "analyte,cas,medium,level,unit,soil_class\nBenzene,,soil,5,mg/kg,4\n"
    with pytest.raises(BrokenTable, match=r"column 'soil_class' is no condition of table.toml; add \[conditions.soil_class\]"):
        make(rows).version("xx/made-up", "2020-01-01")
    declared = '[conditions.soil_class]\nfrom = "site"\nvalues = ["1", "2"]\ntitle = "soil class"\n'
    with pytest.raises(BrokenTable, match="row 2, column soil_class: '4' is none of 1, 2"):
        make(rows, declared).version("xx/made-up", "2020-01-01")


def test_ranges_of_a_measured_condition(make: Make) -> None:
    facts = (
        '[conditions.depth]\nfrom = "sample"\nfield = "depth_top"\nunit = "ft"\nvalues = ["upper", "lower"]\ntitle = "depth"\n'
        '[conditions.depth.ranges.upper]\nfrom = "0"\nbelow = "2.0"\n[conditions.depth.ranges.lower]\nfrom = "2"\n'
    )
    depth = make(BENZENE, facts).table("xx/made-up").conditions["depth"]
    assert (depth.measured, depth.unit, depth.when_unknown) == ("depth_top", "ft", "open")
    upper, lower = depth.ranges["upper"], depth.ranges["lower"]
    assert upper.holds(Decimal("1.9999")) and not upper.holds(Decimal(2))
    assert lower.holds(Decimal("2.00")) and lower.holds(Decimal(900)) and not lower.holds(Decimal("1.9999"))


def test_the_hash_follows_rows_and_facts_but_not_other_versions(make: Make) -> None:
    def digest(rows: str = BENZENE, more: str = "", versions: str = VERSION) -> str:
        return make(rows, more, versions).version("xx/made-up", "2020-01-01").sha256

    later = VERSION + 'until = 2020-12-31\n[versions."2021-01-01"]\neffective = "made up"\n'
    assert digest() == digest(versions=later)
    assert len({digest(), digest(rows=BENZENE.replace("0.005", "0.0050")), digest(more='rounding = "none"\n')}) == 3
