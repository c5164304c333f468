"""Figures copied by hand out of the sources, so that a slip of the whole transcription shows without the reference folder."""

from __future__ import annotations

import pytest

from screening.levels.compare import compare
from screening.levels.table import LevelRow
from screening.levels.versions import Standards

# table@version, analyte, medium, conditions, level as printed, unit, comparison; sources: the table's own citation
SPOTS = """
us/drinking-water@2006-01-23 | Benzene | groundwater | | 0.005 | mg/L | above
us-oh/closure@2017-01-01 | Benzene | soil | soil_class=1 | 0.246 | mg/kg | above
us-oh/delineation@2017-01-01 | Benzene | groundwater | | 0.417 | mg/L | above
us-oh/delineation@2017-01-01 | Toluene | soil | | 1,240 | mg/kg | above
us-oh/voluntary-residential@2014-01-01 | Acetone | soil | | 110,000 | mg/kg | above
us-oh/survey@2000-01-01 | Benzene | soil | | 0.006-0.500 | mg/kg | above
us-wa/groundwater-method-a@2001-08-15 | Gasoline range organics | groundwater | benzene=detected | 800 | ug/L | above
us-wa/soil-method-a@1991-02-28 | Diesel and oil range organics | soil | | 200 | ppm | above
us-wa/soil-method-a@2001-08-15 | Diesel and oil range organics | soil | | 2000 | ppm | above
us-wa/soil-ecological@2001-08-15 | Barium | soil | land_use=industrial_or_commercial | 1,320 | mg/kg | above
us-wi/groundwater@2024-08-26 | Acetone | groundwater | standard=enforcement_standard | 9 | mg/L | at_or_above
us-wi/groundwater@2024-08-26 | Acetone | groundwater | standard=preventive_action_limit | 1.8 | mg/L | at_or_above
us-nj/groundwater@2010-09-22 | 1,1,1-Trichloroethane | groundwater | | 30 | ug/L | above
us-nj/groundwater@2010-09-22 | 1,2-Dichloroethane | groundwater | | 2 | ug/L | at_or_above
us-nj/groundwater@2025-02-03 | Benzene | groundwater | | 0.45 | ug/L | above
us-nj/groundwater@2025-02-03 | Vinyl chloride | groundwater | | 0.035 | ug/L | above
us-nj/soil-criteria@1999-05-12 | Aldrin | soil | pathway=impact_to_groundwater | 50 | mg/kg | above
us-nj/soil-direct-contact@2008-06-02 | 2-Butanone | soil | land_use=residential | 3,100 | mg/kg | above
us-nj/soil-ingestion-dermal@2021-05-17 | Arsenic | soil | | 19 | mg/kg | above
us-nj/petroleum-soil@2008-01-01 | Total petroleum hydrocarbons | soil | purpose=human_health | 10,000 | mg/kg | above
us-nj/petroleum-soil@2009-03-17 | Diesel range organics | soil | purpose=human_health | 4,800 | mg/kg | above
us-nj/petroleum-survey@2003-01-01 | Total xylenes | soil | land_use=residential;pathway=direct_contact | 410 | mg/kg | above
us-pa/statewide-health@2011-01-08 | 1,3,5-Trimethylbenzene | groundwater | | 13 | ug/L | above
us-pa/statewide-health@2016-08-27 | 1,3,5-Trimethylbenzene | soil | land_use=nonresidential | 210 | mg/kg | above
us-ak/soil-method-one@2024-09-25 | Diesel range organics | soil | category=A | 100 | mg/kg | at_or_above
us-ak/soil-method-two@2017-07-01 | Benzene | soil | | 0.022 | mg/kg | at_or_above
us-ak/groundwater@2017-07-01 | Anthracene | groundwater | | 43 | ug/L | above
us-co/petroleum-tier-1@2020-04-13 | Benzene | soil | soil_depth=subsurface | 0.26 | mg/kg | above
us-co/oil-gas-915-1@2021-01-15 | Toluene | groundwater | | 560 to 1,000 | ug/L | above
us-co/oil-gas-915-1@2021-01-15 | Benzene | soil | pathway=protection_of_groundwater | 0.0026 | mg/kg | above
us-tx/plan-a@2009-03-19 | Ethylbenzene | groundwater | table=groundwater;beneficial_use_category=I | 7.00E-01 | mg/L | above
us-md/petroleum-triggers@2024-01-01 | Methyl tert-butyl ether | groundwater | | 20 | ug/L | at_or_above
us-md/petroleum-triggers@2024-01-01 | Total petroleum hydrocarbons | soil | | 10 | mg/kg | above
us-nm/release-confirmation@2018-07-24 | Total petroleum hydrocarbons | soil | | 100 | ppm | at_or_above
us-va/closure-reporting@2013-01-01 | Total petroleum hydrocarbons | groundwater | | 1 | mg/L | at_or_above
us-ca/low-threat-groundwater@2012-05-01 | Benzene | groundwater | | 3,000 | ug/L | at_or_above
us-ca/petroleum-water-1995@1995-06-13 | Toluene | groundwater | basis_of_limit=taste_and_odor | 42 | ug/L | above
us-ms/groundwater-survey@2003-01-01 | BTEX (total) | groundwater | product=gasoline | 18 | ppm | above
us-ma/method-1@2014-06-20 | Lead | soil | category=S-1 | 200 | mg/kg | above
us-in/groundwater@2008-01-01 | Arsenic | groundwater | | 0.05 | mg/L | above
ca/soil-guidelines@2007-09-01 | Barium | soil | land_use=agricultural | 750 | mg/kg | above
ca-ab/groundwater@2001-09-01 | Ethylbenzene | groundwater | pathway=human_drinking_water | 0.0024 | mg/L | above
ca-bc/soil-schedule-4@2004-01-01 | Barium | soil | land_use=commercial | 2 000 | ug/g | above
ca-qc/soil-criteria@2001-12-01 | Cadmium | soil | criterion=A | 1,5 | mg/kg | above
"""


def spot(line: str) -> list[str]:
    return [part.strip() for part in line.split("|")]


def matching(rows: tuple[LevelRow, ...], analyte: str, medium: str, stated: dict[str, str]) -> list[LevelRow]:
    return [row for row in rows if (row.analyte, row.medium, dict(row.conditions)) == (analyte, medium, stated)]


@pytest.mark.parametrize("line", [line for line in SPOTS.splitlines() if line])
def test_a_figure_copied_by_hand(standards: Standards, line: str) -> None:
    reference, analyte, medium, conditions, level, unit, comparison = spot(line)
    table, _, version = reference.partition("@")
    stated = dict(part.partition("=")[::2] for part in conditions.split(";") if part)
    (row,) = matching(standards.version(table, version).rows, analyte, medium, stated)
    assert (row.printed, row.unit, row.comparison) == (level, unit, comparison)
    assert row.citation and row.source


def test_marks_and_spaces_of_the_print_do_not_change_the_number(standards: Standards) -> None:
    """2 000 ug/g is 2000 mg/kg; 1,5 is one and a half; 7.00E-01 mg/L is 700 ug/L."""
    (barium,) = matching(
        standards.version("ca-bc/soil-schedule-4", "2004-01-01").rows, "Barium", "soil", {"land_use": "commercial"}
    )
    (cadmium,) = matching(standards.version("ca-qc/soil-criteria", "2001-12-01").rows, "Cadmium", "soil", {"criterion": "A"})
    (ethylbenzene,) = matching(
        standards.version("us-tx/plan-a", "2009-03-19").rows, "Ethylbenzene", "groundwater",
        {"table": "groundwater", "beneficial_use_category": "I"},
    )  # fmt: skip
    assert [str(row.normal_value) for row in (barium, cadmium)] == ["2000", "1.5"]
    assert ethylbenzene.normal_value == 700


def test_every_recalled_table_is_recalled_throughout_and_no_other_is(standards: Standards) -> None:
    for name in standards.names():
        for effective in standards.days(name):
            assert standards.version(name, effective).recalled == name.endswith("-recalled"), f"{name}@{effective}"


def test_the_seven_ten_fold_changes_of_new_jersey_in_2025(standards: Standards) -> None:
    """Two notices of 57 N.J.R. 234(a) count seven rows tightened by ten times or more, and name them."""
    before, after = (standards.version("us-nj/groundwater", day) for day in ("2010-09-22", "2025-02-03"))
    tenfold = {change.analyte for change in compare(before, after) if change.tenfold}
    assert tenfold == {
        "1,1'-Biphenyl", "Cobalt", "Free cyanide", "1,3-Dichlorobenzene", "Heptachlor epoxide", "Methoxychlor", "Vinyl chloride",
    }  # fmt: skip
