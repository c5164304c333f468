"""Which version is in force on a day, and refusals that say what there is."""

from __future__ import annotations

from datetime import date

import pytest

from screening.errors import Refused
from screening.levels.versions import Standards, parse_reference
from tests.levels.conftest import Make

ROWS = "analyte,cas,medium,level,unit\nBenzene,71-43-2,groundwater,{},ug/L\n"
SPANS = (
    '[versions."2001-08-15"]\neffective = "made up"\nuntil = 2009-12-31\n'
    '[versions."2010-01-01"]\neffective = "made up"\nuntil = 2019-12-31\n'
)


@pytest.fixture
def two(make: Make) -> Standards:
    return make({"2001-08-15": ROWS.format(5), "2010-01-01": ROWS.format(1)}, versions=SPANS)


@pytest.mark.parametrize(("on", "level"), [("2001-08-15", "5"), ("2009-12-31", "5"), ("2010-01-01", "1"), ("2019-12-31", "1")])
def test_the_version_on_the_first_and_last_day(two: Standards, on: str, level: str) -> None:
    assert two.in_force("xx/made-up", date.fromisoformat(on)).rows[0].printed == level


@pytest.mark.parametrize("on", ["2001-08-14", "2020-01-01", "1990-01-01"])
def test_outside_every_version_the_refusal_names_them_all(two: Standards, on: str) -> None:
    with pytest.raises(Refused, match=r"no version in force on .*2001-08-15 to 2009-12-31, 2010-01-01 to 2019-12-31"):
        two.in_force("xx/made-up", date.fromisoformat(on))


def test_an_unknown_table_is_met_with_the_nearest_name(two: Standards) -> None:
    with pytest.raises(Refused, match="'xx/madeup' is unknown; nearest are xx/made-up"):
        two.table("xx/madeup")


def test_an_unknown_version_is_met_with_the_days_there_are(two: Standards) -> None:
    with pytest.raises(Refused, match="no version '2011-01-01'; it has 2001-08-15, 2010-01-01"):
        two.version("xx/made-up", "2011-01-01")


@pytest.mark.parametrize(
    ("text", "reference"),
    [("us-oh/closure@2017-01-01", ("us-oh/closure", "2017-01-01")), (" us/drinking-water ", ("us/drinking-water", None))],
)
def test_a_reference(text: str, reference: tuple[str, str | None]) -> None:
    assert parse_reference(text) == reference


@pytest.mark.parametrize("text", ["", "@2017-01-01", "us-oh/closure@"])
def test_a_reference_to_nothing_is_refused(text: str) -> None:
    with pytest.raises(Refused, match="write PLACE/TABLE or PLACE/TABLE@YYYY-MM-DD"):
        parse_reference(text)


def test_a_version_given_as_text_wins_over_the_folder(standards: Standards) -> None:
    facts = standards.facts_text("us-oh/closure")
    rows = standards.version("us-oh/closure", "2017-01-01").text.replace("0.246", "0.247")
    from screening.levels.versions import standards_folder

    kept = Standards([standards_folder()], {"us-oh/closure": (facts, {"2017-01-01": rows})})
    assert kept.version("us-oh/closure", "2017-01-01").rows[0].printed == "0.247"
    assert standards.version("us-oh/closure", "2017-01-01").rows[0].printed == "0.246"
