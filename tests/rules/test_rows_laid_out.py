"""Rows of law and the facts that they hang on, as they are laid beside the bounds. The table is made up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

import duckdb
import pytest

from screening.levels.choose import choose
from screening.levels.versions import Standards
from screening.screen.measure import PLAIN
from screening.screen.presence import presences_of, wordings_of
from screening.screen.register import TableInUse, register
from screening.screen.states import Presence, Share
from screening.store.fill import fill
from tests.levels.conftest import FACTS, VERSION

MORE = """
unavailable = ["Styrene"]
unlisted = "unavailable"
[[incomplete]]
scope = "the end"
text = "made up"
[conditions.area]
from = "site"
values = ["A", "B"]
title = "area"
when_unknown = "open"
[conditions.layer]
from = "sample"
values = ["shallow", "deep"]
title = "depth"
field = "depth_top"
unit = "ft"
when_unknown = "strictest"
[conditions.layer.ranges.shallow]
to = "4"
[conditions.layer.ranges.deep]
above = "4"
[conditions.kind]
from = "sample"
values = ["sand"]
title = "kind of soil"
[conditions.benzene]
from = "results"
values = ["detected", "not_detected"]
title = "benzene"
analyte = "Benzene"
limit_at_most = "1 ug/L"
default_wording = "alone"
[conditions.benzene.wordings.share]
sum = ["Toluene", "Ethylbenzene"]
of = "Total petroleum hydrocarbons"
share_below = "0.2"
source = "made up"
[conditions.benzene.wordings.alone]
source = "made up"
[conditions.toluene]
from = "results"
values = ["detected", "not_detected"]
title = "toluene"
analyte = "Toluene"
[conditions.lead]
from = "results"
values = ["low", "high"]
title = "lead"
analyte = "Lead"
unit = "mg/kg"
[conditions.lead.ranges.low]
below = "10"
[conditions.lead.ranges.high]
from = "10"
[tolerance]
over = "0.10"
samples = "3"
media = ["soil"]
text = "made up"
citation = "made up"
transcription = "memory"
[[stand_ins]]
limit = "quantitation_limit"
media = ["groundwater"]
needs = "waiver"
times_detection_limit = "10"
comparison = "at_or_above"
text = "made up"
citation = "made up"
transcription = "memory"
[[stand_ins]]
limit = "detection_limit"
media = ["groundwater"]
nondetects_only = true
text = "made up"
citation = "made up"
transcription = "memory"
"""
ROWS = """\
analyte,cas,medium,level,unit,fraction,comparison,area,layer,benzene,lead
Toluene,,soil,100,mg/kg,,above,A,shallow,,
Toluene,,soil,0.2,g/kg,,at_or_above,A,deep,,
Toluene,,soil,NL,mg/kg,,,B,,,
Ethylbenzene,,groundwater,1,mg/L,,above,,,detected,
Ethylbenzene,,groundwater,2,mg/L,,at_or_above,,,not_detected,
Zinc,,soil,5 - 7,mg/kg,,,,,,low
Zinc,,soil,NL,mg/kg,,,,,,high
Chrysene,,soil,TBD,mg/kg,,,,,,
Naphthalene,,groundwater,3,ug/L,dissolved,,,,,
"""


def _in_use(conditions: Mapping[str, str], **more: Any) -> TableInUse:
    standards = Standards([], {"xx/made-up": (FACTS + MORE + VERSION, {"2020-01-01": ROWS})})
    table, version = standards.table("xx/made-up"), standards.version("xx/made-up", "2020-01-01")
    return TableInUse(table, version, choose(table, version, conditions), **more)


@pytest.fixture
def connection() -> Iterator[duckdb.DuckDBPyConnection]:
    """Two samples: one of soil at 2 ft with benzene and 12 mg/kg of lead, one of water with a non-detect of benzene."""
    place = "sample_id VARCHAR, sample_kind VARCHAR, location VARCHAR, depth_top DECIMAL(9, 2), depth_bottom DECIMAL(9, 2), depth_unit VARCHAR, medium VARCHAR, sampled_on DATE"
    soil, water = ("S", "field", "L", 2, None, "ft", "soil", None), ("W", "field", "L", None, None, "", "groundwater", None)
    with duckdb.connect() as made:
        made.execute(PLAIN)
        fill(
            made, "comparand",
            f"id BIGINT, sample_no BIGINT, {place}, analyte VARCHAR, detected BOOLEAN, doubt VARCHAR, lower DECIMAL(9, 2), upper DECIMAL(9, 2), unit VARCHAR, shown VARCHAR",
            [
                (11, 1, *soil, "Benzene", True, "", 3, 3, "mg/kg", "3"), (12, 1, *soil, "Lead", True, "", 12, 12, "mg/kg", "12"),
                (13, 2, *water, "Benzene", False, "", 0, 1, "ug/L", "1"),
            ],
        )  # fmt: skip
        ranked = f"row_id BIGINT, {place}, analyte VARCHAR, fraction VARCHAR, unit VARCHAR, basis VARCHAR, detected BOOLEAN, state VARCHAR, sign VARCHAR, is_over_range BOOLEAN, is_rejected BOOLEAN, rank BIGINT, value DECIMAL(9, 2)"
        lead = (1, *soil, "Lead", "", "mg/kg", "", True, "number", "", False, False, 1, 12)
        fill(made, "ranked", ranked, [lead, (2, *soil, "Benzene", "", "mg/kg", "dry", True, "number", "", False, False, 1, 3)])
        fill(made, "dry", "row_id BIGINT, value DECIMAL(9, 2)", [])
        fill(made, "reviewed", "row_id BIGINT, qualifier VARCHAR, blank BOOLEAN", [])
        yield made


def _rows(connection: duckdb.DuckDBPyConnection, what: str) -> list[tuple[Any, ...]]:
    found = connection.execute(what).fetchall()
    return [tuple(f"{one.normalize():f}" if isinstance(one, Decimal) else one for one in row) for row in found]


def test_each_row_has_its_bars_and_what_may_widen_them(connection: duckdb.DuckDBPyConnection) -> None:
    since, until = date(2020, 1, 1), date(2021, 1, 1)
    use = _in_use(
        {"area": "A"}, met=frozenset({"waiver"}), since=since, until=until, backgrounds={("Toluene", "soil"): Decimal(150)}
    )
    register(connection, [use], "dry")
    bars = "SELECT row_no, group_no, analyte, medium, fraction, kind, counts, level, bar, bar_counts, low_bar, low_counts, tolerated FROM level_row"
    assert _rows(connection, bars) == [
        (0, 0, "Toluene", "soil", "", "number", True, "100", "100", False, "100", False, "110"),
        (1, 1, "Toluene", "soil", "", "number", True, "200", "200", True, "200", True, "220"),
        (2, 2, "Ethylbenzene", "groundwater", "", "number", True, "1000", "1000", False, "1000", False, None),
        (3, 3, "Ethylbenzene", "groundwater", "", "number", True, "2000", "2000", True, "2000", True, None),
        (4, 4, "Zinc", "soil", "", "range", True, "5", "7", False, "5", False, None),
        (5, 5, "Zinc", "soil", "", "no_level", True, None, None, False, None, False, None),
        (6, 6, "Chrysene", "soil", "", "unavailable", True, None, None, False, None, False, None),
        (7, 7, "Naphthalene", "groundwater", "dissolved", "number", True, "3", "3", False, "3", False, None),
    ]
    widened = (
        "SELECT analyte, stand_in, stand_in_counts, stand_in_times, stand_in_nondetects, background, since, until FROM level_row"
    )
    assert set(_rows(connection, widened)) == {
        ("Toluene", "", False, None, False, "150", since, until),
        ("Ethylbenzene", "quantitation_limit", True, "10", False, None, since, until),
        ("Zinc", "", False, None, False, None, since, until),
        ("Chrysene", "", False, None, False, None, since, until),
        ("Naphthalene", "quantitation_limit", True, "10", False, None, since, until),
    }


def test_a_stand_in_that_needs_a_fact_of_the_site_gives_way_to_one_that_does_not(connection: duckdb.DuckDBPyConnection) -> None:
    """The one without a sign of its own takes that of the level."""
    register(connection, [_in_use({"area": "A"})], "dry")
    stand_ins = (
        "SELECT level, stand_in, stand_in_counts, stand_in_times, stand_in_nondetects FROM level_row WHERE medium = 'groundwater'"
    )
    assert _rows(connection, stand_ins) == [
        ("1000", "detection_limit", False, None, True), ("2000", "detection_limit", True, None, True), ("3", "detection_limit", False, None, True),
    ]  # fmt: skip


def test_a_row_without_a_level_counts_only_where_no_other_of_its_group_has_one(connection: duckdb.DuckDBPyConnection) -> None:
    standards = Standards(
        [],
        {
            "xx/made-up": (
                FACTS + '[conditions.class]\nfrom = "site"\nvalues = ["1", "2"]\ntitle = "class"\n' + VERSION,
                {"2020-01-01": "analyte,cas,medium,level,unit,class\nToluene,,soil,1,mg/kg,1\nToluene,,soil,NL,mg/kg,2\nLead,,soil,NL,mg/kg,1\nLead,,soil,TBD,mg/kg,2\n"},
            )
        },
    )  # fmt: skip
    table, version = standards.table("xx/made-up"), standards.version("xx/made-up", "2020-01-01")
    register(connection, [TableInUse(table, version, choose(table, version, {}))], "dry")
    assert _rows(connection, "SELECT row_no, group_no, analyte, kind, counts FROM level_row") == [
        (0, 0, "Toluene", "number", True), (1, 0, "Toluene", "no_level", False),
        (2, 1, "Lead", "unavailable", True), (3, 1, "Lead", "no_level", True),
    ]  # fmt: skip


def test_each_group_hangs_on_its_facts_and_an_unknown_one_is_strict_or_open(connection: duckdb.DuckDBPyConnection) -> None:
    register(connection, [_in_use({"area": "A"}), _in_use({})], "dry")
    hangs = _rows(connection, "SELECT table_no, group_no, state_key, state_value, strictest FROM group_condition")
    assert [row[1:] for row in hangs if row[0] == 0] == [
        (0, "layer", "shallow", True), (1, "layer", "deep", True), (2, "benzene", "detected", False),
        (3, "benzene", "not_detected", False), (4, "lead", "low", False), (5, "lead", "high", False),
    ]  # fmt: skip
    assert [row[1:] for row in hangs if row[0] == 1][:5] == [
        (0, "area", "A", False), (0, "layer", "shallow", True), (1, "area", "A", False), (1, "layer", "deep", True), (2, "area", "B", False),
    ]  # fmt: skip


@pytest.mark.parametrize(("missing_basis", "lead"), [("dry", "high"), ("open", "unknown")])
def test_what_each_sample_and_each_value_says(connection: duckdb.DuckDBPyConnection, missing_basis: str, lead: str) -> None:
    register(connection, [_in_use({"area": "A"}), _in_use({"area": "A", "layer": "deep"})], missing_basis)
    of_sample = set(_rows(connection, "SELECT table_no, state_key, sample_no, state FROM sample_state"))
    assert of_sample == {
        (table, key, sample, state)
        for table in (0, 1)
        for key, sample, state in (("benzene", 1, "detected"), ("benzene", 2, "not_detected"), ("lead", 1, lead))
    }
    assert set(_rows(connection, "SELECT table_no, state_key, id, state FROM value_state")) == {
        (table, "layer", one, "shallow") for table in (0, 1) for one in (11, 12)
    }


def test_what_a_table_covers_and_what_of_it_was_not_read(connection: duckdb.DuckDBPyConnection) -> None:
    since = date(2020, 1, 1)
    register(connection, [_in_use({}, covers=False), _in_use({}, since=since)], "dry")
    assert _rows(connection, "SELECT * FROM covered") == [(1, "soil", True, since, None), (1, "groundwater", True, since, None)]
    assert _rows(connection, "SELECT * FROM unavailable") == [(1, "Styrene", "soil"), (1, "Styrene", "groundwater")]


def test_a_table_read_whole_has_nothing_unlisted(connection: duckdb.DuckDBPyConnection) -> None:
    standards = Standards([], {"xx/made-up": (FACTS + VERSION, {"2020-01-01": "analyte,cas,medium,level,unit\n"})})
    version = standards.version("xx/made-up", "2020-01-01")
    register(connection, [TableInUse(standards.table("xx/made-up"), version, [])], "dry")
    assert {row[2] for row in _rows(connection, "SELECT * FROM covered")} == {False}


ALONE = Presence("benzene", "Benzene", Decimal(1), "ug/L")
SHARE = Presence(
    "benzene", "Benzene", Decimal(1), "ug/L", Share(("Toluene", "Ethylbenzene"), "Total petroleum hydrocarbons", Decimal("0.2"))
)


@pytest.mark.parametrize(
    ("settings", "benzene"), [({}, ALONE), ({"wording.benzene": "share"}, SHARE), ({"wording.benzene": "alone", "wording.toluene": "share"}, ALONE)]
)  # fmt: skip
def test_results_are_asked_in_the_wording_that_is_set(settings: dict[str, str], benzene: Presence) -> None:
    table = _in_use({}).table
    assert presences_of(table, settings) == [benzene, Presence("toluene", "Toluene")]
    assert wordings_of(table) == {"benzene": ("alone", "share")}


def test_without_a_wording_of_its_own_the_first_holds() -> None:
    facts = (FACTS + MORE + VERSION).replace('default_wording = "alone"\n', "")
    table = Standards([], {"xx/made-up": (facts, {"2020-01-01": ROWS})}).table("xx/made-up")
    assert presences_of(table, {})[0] == SHARE
    assert wordings_of(table) == {"benzene": ("share", "alone")}
