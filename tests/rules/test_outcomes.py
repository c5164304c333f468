"""A handful of results held against a table from beginning to end: each outcome, its figures and where they come from.

Results and levels are invented; the sums are worked by hand beside them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any

import duckdb
import pytest

from screening.levels.choose import choose
from screening.levels.versions import Standards
from screening.screen import outcomes
from screening.screen.measure import plain, sampling_days
from screening.screen.outcomes import Outcome, hold_against, ratio_text
from screening.screen.register import TableInUse
from screening.store.fill import fill
from tests.levels.conftest import FACTS, VERSION

ROWS = """\
analyte,cas,medium,level,unit,fraction,comparison,citation
Benzene,71-43-2,soil,1,mg/kg,,,section 2
Toluene,108-88-3,soil,.5 - 7,mg/kg,,,
Total xylenes,1330-20-7,soil,"1,000",mg/kg,,,
Hexavalent chromium,18540-29-9,soil,4,mg/kg,,at_or_above,
Lead,7439-92-1,groundwater,15,ug/L,dissolved,,
Zinc,7440-66-6,groundwater,15,ug/L,,,
Benzo[a]pyrene,50-32-8,soil,2,mg/kg,,,
Styrene,100-42-5,soil,NL,mg/kg,,,
"""
MORE = """
[[equivalents]]
name = "Benzo[a]pyrene"
text = "made up"
citation = "made up"
transcription = "memory"
[equivalents.factors]
"Benzo[a]pyrene" = "1"
"Chrysene" = "0.1"
[[equivalents]]
name = "Pyrene"
text = "made up: a level that is not listed"
citation = "made up"
transcription = "memory"
[equivalents.factors]
"Chrysene" = "0.2"
[[sums]]
analyte = "Total xylenes"
members = ["m,p-Xylene", "Styrene"]
[[sums]]
analyte = "Total trihalomethanes"
members = ["Chloroform", "Bromoform"]
"""

AMOUNT = "DECIMAL(38, 18)"
RANKED = {
    "row_id": "BIGINT", "sample_id": "VARCHAR", "sample_kind": "VARCHAR", "location": "VARCHAR", "depth_top": "DECIMAL(9, 2)",
    "depth_bottom": "DECIMAL(9, 2)", "depth_unit": "VARCHAR", "medium": "VARCHAR", "sampled_on": "DATE", "analyte": "VARCHAR",
    "cas": "VARCHAR", "analyte_kind": "VARCHAR", "fraction": "VARCHAR", "unit": "VARCHAR", "basis": "VARCHAR", "detected": "BOOLEAN",
    "state": "VARCHAR", "sign": "VARCHAR", "is_over_range": "BOOLEAN", "is_rejected": "BOOLEAN", "dilution": "DECIMAL(9, 2)",
    "value": AMOUNT, "nondetect_limit": AMOUNT, "reporting_limit": AMOUNT, "quantitation_limit": AMOUNT, "detection_limit": AMOUNT,
    "rank": "BIGINT", "lab_qualifiers": "VARCHAR", "effects": "VARCHAR", "runs": "BIGINT", "value_text": "VARCHAR",
    "limit_text": "VARCHAR", "sampled_at": "TIMESTAMP", "sampled_at_known": "VARCHAR", "limit_from": "VARCHAR", "deliverable": "BIGINT",
}  # fmt: skip
USUAL = {
    "sample_id": "S-1", "sample_kind": "field", "location": "P", "depth_unit": "", "medium": "soil", "cas": "", "analyte_kind": "substance",
    "fraction": "", "unit": "mg/kg", "basis": "dry", "state": "number", "sign": "", "is_over_range": False, "is_rejected": False, "rank": 1,
    "lab_qualifiers": "", "effects": "", "runs": 1, "deliverable": 1,
}  # fmt: skip

Screen = Callable[..., dict[tuple[str, str], Outcome]]


@pytest.fixture
def connection() -> Iterator[duckdb.DuckDBPyConnection]:
    """An empty store in memory."""
    with duckdb.connect() as made:
        made.execute("SET threads = 1")
        yield made


@pytest.fixture
def screen(connection: duckdb.DuckDBPyConnection) -> Screen:
    """Outcomes by sample and analyte of results given as analyte, printed result and what else they have."""

    def screened(
        *results: tuple[str, str, dict[str, Any]], reviewed: dict[int, tuple[str, str]] | None = None, dry: dict[int, tuple[int, ...]] | None = None,
        pairs: tuple[tuple[str, str], ...] = (), rule: str = "higher", nondetects: str = "rule",
    ) -> dict[tuple[str, str], Outcome]:  # fmt: skip
        rows = [_row(number, *one) for number, one in enumerate(results, start=1)]
        fill(
            connection,
            "ranked",
            ", ".join(f"{name} {kind}" for name, kind in RANKED.items()),
            [tuple(row.values()) for row in rows],
        )
        names = ("solids_used", "value", "nondetect_limit", "reporting_limit", "quantitation_limit", "detection_limit")
        fill(
            connection,
            "dry",
            "row_id BIGINT, " + ", ".join(f"{name} {AMOUNT}" for name in names),
            [(row, *amounts) for row, amounts in (dry or {}).items()],
        )
        fill(
            connection, "reviewed", f"row_id BIGINT, qualifier VARCHAR, reasons VARCHAR, late BOOLEAN, blank BOOLEAN, limit_at_most {AMOUNT}",
            [(row, *said, False, False, None) for row, said in (reviewed or {}).items()],
        )  # fmt: skip
        fill(connection, "field_pair", "parent VARCHAR, duplicate VARCHAR", pairs)
        fill(connection, "delivered", "row_id BIGINT, sheet VARCHAR, row BIGINT, column_letter VARCHAR, text VARCHAR",
             [(number, "s", 10 + number, "C", one[1]) for number, one in enumerate(results, start=1)])  # fmt: skip
        fill(connection, "deliverable", "number BIGINT, id VARCHAR, file VARCHAR", [(1, "d-1", "lab.csv")])
        standards = Standards([], {"xx/made-up": (FACTS + MORE + VERSION, {"2020-01-01": ROWS})})
        table, version = standards.table("xx/made-up"), standards.version("xx/made-up", "2020-01-01")
        found = hold_against(connection, [TableInUse(table, version, choose(table, version, {}))], "open", rule, nondetects)
        stand = [one for one in found if not one.outweighed]
        assert len({(one.sample_id, one.analyte, one.fraction) for one in stand}) == len(stand)
        return {(one.sample_id, one.analyte): one for one in sorted(found, key=lambda each: not each.outweighed)}

    return screened


def _row(number: int, analyte: str, printed: str, more: dict[str, Any]) -> dict[str, Any]:
    detected, amount = not printed.startswith("<"), printed.lstrip("<")
    return dict.fromkeys(RANKED) | USUAL | {
        "row_id": number, "analyte": analyte, "detected": detected, "value": Decimal(amount) if detected else None,
        "nondetect_limit": None if detected else Decimal(amount), "value_text": amount if detected else "", "limit_text": "" if detected else amount,
    } | more  # fmt: skip


def test_there_are_four_outcomes() -> None:
    """Law 4 of the design; every count of outcomes goes by them."""
    assert outcomes.OUTCOMES == ("exceeds", "open", "no_level", "does_not_exceed")


def test_an_outcome_has_its_figures_and_where_they_come_from(screen: Screen) -> None:
    more = {
        "depth_top": 2, "depth_bottom": 4, "depth_unit": "ft", "sampled_on": "2024-05-01", "sampled_at": datetime(2024, 5, 1, 9, 30),
        "sampled_at_known": "local", "cas": "71-43-2", "lab_qualifiers": "J", "reporting_limit": Decimal("0.25"),
    }  # fmt: skip
    one = screen(("Benzene", "1.10", more))["S-1", "Benzene"]
    assert (one.outcome, one.value, one.lower, one.upper, one.limit, one.ratio) == ("exceeds", "1.10", "1.1", "1.1", None, "1.10")
    assert (one.level, one.level_unit, one.level_normal, one.comparison, one.citation) == (
        "1",
        "mg/kg",
        "1",
        "above",
        "section 2",
    )
    assert (one.reporting_limit, one.qualifiers, one.detected, one.unit) == ("0.25", "J", True, "mg/kg")
    assert (one.location, one.depth_top, one.depth_bottom, one.depth_unit, one.cas) == ("P", "2", "4", "ft", "71-43-2")
    assert one.source == {"deliverable": "d-1", "file": "lab.csv", "sheet": "s", "row": 11, "column": "C", "text": "1.10"}
    assert (one.parts, one.beside, one.duplicate, one.outweighed) == ((), (), None, False)


def test_a_non_detect_has_its_limit(screen: Screen) -> None:
    one = screen(("Benzene", "<0.80", {}))["S-1", "Benzene"]
    assert (one.outcome, one.value, one.limit, one.lower, one.upper, one.ratio) == (
        "does_not_exceed",
        None,
        "0.80",
        "0",
        "0.8",
        "0.800",
    )


def test_without_a_limit_there_is_no_ratio(screen: Screen) -> None:
    one = screen(("Benzene", "<0.8", {"nondetect_limit": None, "limit_text": ""}))["S-1", "Benzene"]
    assert (one.outcome, one.limit, one.upper, one.ratio) == ("open", None, None, None)


@pytest.mark.parametrize(
    ("printed", "outcome"), [("0.4", "does_not_exceed"), ("0.5", "does_not_exceed"), ("0.6", "open"), ("7", "open"), ("7.1", "exceeds")]
)  # fmt: skip
def test_within_a_range_it_is_open(screen: Screen, printed: str, outcome: str) -> None:
    one = screen(("Toluene", printed, {}))["S-1", "Toluene"]
    assert (one.outcome, one.level, one.citation) == (outcome, ".5 - 7", "none: made up")


def test_what_is_converted_is_told_in_dry_weight(screen: Screen) -> None:
    """0.6 and a limit of 0.2 at 50 % solids are 1.2 and 0.4."""
    wet = {"basis": "as_received", "reporting_limit": Decimal("0.2")}
    one = screen(("Benzene", "0.6", wet), dry={1: (50, Decimal("1.2"), None, Decimal("0.4"), None, None)})["S-1", "Benzene"]  # type: ignore[dict-item]
    assert (one.outcome, one.value, one.reporting_limit) == ("exceeds", "1.2", "0.4")


def test_a_sum_has_its_parts_and_what_the_review_says_of_them(screen: Screen) -> None:
    """600 and less than 500 is between 600 and 1100: the level of 1000 lies between."""
    found = screen(
        ("m,p-Xylene", "600.0", {}), ("o-Xylene", "<500", {}), ("Benzene", "0.5", {}), ("o-Xylene", "1", {"sample_id": "S-2"}),
        reviewed={1: ("estimated", "held too long"), 2: ("low", "recovery"), 3: ("estimated", "warm"), 4: ("rejected", "another sample")},
    )  # fmt: skip
    one = found["S-1", "Total xylenes"]
    assert (one.outcome, one.lower, one.upper, one.value, one.level, one.level_normal) == (
        "open",
        "600",
        "1100",
        "1100",
        "1000",
        "1000",
    )
    assert one.parts == ("m,p-Xylene 600.0", "o-Xylene <500") and one.source["row"] == 11, "told from its first part"
    assert one.review_reasons == "m,p-Xylene: held too long; o-Xylene: recovery" and one.review_qualifiers == "estimated low"
    assert (found["S-1", "Benzene"].review_qualifiers, found["S-1", "Benzene"].review_reasons) == ("estimated", "warm")
    assert ("S-1", "o-Xylene") not in found and ("S-1", "m,p-Xylene") not in found, "told with their sum"


def test_a_sum_of_one_part_shows_its_review_and_a_reported_total_only_its_own(screen: Screen) -> None:
    total = {"sample_id": "S-2", "analyte_kind": "sum"}
    found = screen(
        ("o-Xylene", "500", {}), ("Total xylenes", "900", total), ("o-Xylene", "500", {"sample_id": "S-2"}),
        reviewed={1: ("low", "recovery"), 2: ("estimated", "warm"), 3: ("low", "recovery")},
    )  # fmt: skip
    assert found["S-1", "Total xylenes"].review_reasons == "o-Xylene: recovery"
    assert found["S-2", "Total xylenes"].review_reasons == "warm"
    assert "dry weight" not in found["S-1", "Total xylenes"].because, "only its parts are converted"


def test_a_sum_shows_what_the_review_says_of_its_own_fraction(screen: Screen) -> None:
    total, dissolved = ({"fraction": name} for name in ("total", "dissolved"))
    found = screen(("o-Xylene", "500", total), ("o-Xylene", "400", dissolved), reviewed={2: ("low", "recovery")})
    assert found["S-1", "Total xylenes"].parts == ("o-Xylene 500",)
    assert (found["S-1", "Total xylenes"].fraction, found["S-1", "Total xylenes"].review_reasons) == ("total", "")


def test_only_a_leachate_of_a_solid_is_never_compared(screen: Screen) -> None:
    leachate = {"fraction": "leachate"}
    water = {"medium": "groundwater", "unit": "ug/L", "basis": "", "sample_id": "S-2", **leachate}
    found = screen(("Benzene", "0.1", leachate), ("Zinc", "20", water))
    assert (found["S-1", "Benzene"].outcome, found["S-2", "Zinc"].outcome) == ("open", "exceeds")


def test_a_sum_that_exceeds_by_what_is_sure_tells_that(screen: Screen) -> None:
    one = screen(("m,p-Xylene", "1200", {}), ("o-Xylene", "<500", {}))["S-1", "Total xylenes"]
    assert (one.outcome, one.value, one.ratio) == ("exceeds", "1200", "1.20")


def test_a_table_may_name_the_parts_of_its_sums(screen: Screen) -> None:
    """Its own parts beside the usual ones; a sum without a level is not made."""
    found = screen(("m,p-Xylene", "600", {}), ("Styrene", "500", {}), ("Chloroform", "1", {}), ("Bromoform", "1", {}))
    assert (found["S-1", "Total xylenes"].lower, found["S-1", "Total xylenes"].outcome) == ("1100", "exceeds")
    assert {name for _, name in found} == {"Total xylenes", "Styrene", "Chloroform", "Bromoform"}
    assert found["S-1", "Styrene"].outcome == "no_level" and found["S-1", "Chloroform"].outcome == "no_level"


def test_a_total_bounds_its_species(screen: Screen, connection: duckdb.DuckDBPyConnection) -> None:
    found = screen(("Chromium", "5.0", {}), ("Mercury", "5", {}), reviewed={1: ("estimated", "warm")})
    one = found["S-1", "Hexavalent chromium"]
    assert (one.review_qualifiers, one.review_reasons) == ("estimated", "warm")
    assert (one.outcome, one.lower, one.upper, one.parts) == ("open", "0", "5", ("Chromium 5.0",))
    assert {name for _, name in found} == {"Hexavalent chromium", "Chromium", "Mercury"}
    made = connection.execute("SELECT analyte FROM comparand WHERE analyte_kind = 'species'").fetchall()
    assert made == [("Hexavalent chromium",)], "a species without a level is not made"


def test_a_total_in_dry_weight_is_told_with_its_amount(screen: Screen) -> None:
    amounts = (50, Decimal(10), None, None, None, None)
    wet = {"basis": "as_received"}
    (part,) = screen(("Chromium", "5", wet), dry={1: amounts})["S-1", "Hexavalent chromium"].parts  # type: ignore[dict-item]
    assert part == "Chromium 10"
    found = screen(("Chromium", "<5", wet), dry={1: (50, None, Decimal(10), None, None, None)})  # type: ignore[dict-item]
    assert found["S-1", "Hexavalent chromium"].parts == ("Chromium <10",)
    found = screen(("o-Xylene", "<50.0", wet), dry={1: (50, None, Decimal(100), None, None, None)})  # type: ignore[dict-item]
    assert found["S-1", "Total xylenes"].parts == ("o-Xylene <100",)


def test_only_a_level_of_one_fraction_is_bounded_by_another(screen: Screen) -> None:
    water = {"medium": "groundwater", "unit": "ug/L", "basis": "", "fraction": "total"}
    found = screen(("Lead", "20", water), ("Zinc", "20", water))
    assert (found["S-1", "Lead"].fraction, found["S-1", "Lead"].outcome, found["S-1", "Lead"].parts) == (
        "dissolved",
        "open",
        ("Lead total 20",),
    )
    assert (found["S-1", "Zinc"].fraction, found["S-1", "Zinc"].outcome) == ("total", "exceeds")


@pytest.mark.parametrize(
    ("printed", "fraction", "more", "told"),
    [("<20", "", {}, "Lead of no stated fraction <20"), ("20.0", "total", {}, "Lead total 20.0"),
     ("<20", "total", {"limit_text": ""}, "Lead total <20")],
)  # fmt: skip
def test_the_fraction_that_bounds_is_told(screen: Screen, printed: str, fraction: str, more: dict[str, Any], told: str) -> None:
    water = {"medium": "groundwater", "unit": "ug/L", "basis": "", "fraction": fraction, **more}
    (one,) = screen(("Lead", printed, water)).values()
    assert one.parts == (told,)


@pytest.mark.parametrize(("nondetects", "upper"), [("rule", "2.1"), ("zero", "1.6"), ("half", "1.85")])
def test_equivalents_are_held_against_their_level(screen: Screen, nondetects: str, upper: str) -> None:
    """1.6 + 0.1 x less than 5; the rule does not say how a non-detect counts, so its bounds do."""
    found = screen(
        ("Benzo[a]pyrene", "1.60", {}), ("Chrysene", "<5", {}), reviewed={2: ("low", "recovery")}, nondetects=nondetects
    )
    one = found["S-1", "Benzo[a]pyrene equivalents"]
    assert (one.upper, one.outcome) == (upper, "open" if nondetects == "rule" else "does_not_exceed")
    assert (one.level, one.review_reasons) == ("2", "Chrysene: recovery")
    assert one.parts == ("Benzo[a]pyrene 1.60 x 1", "Chrysene <5 x 0.1")
    assert found["S-1", "Benzo[a]pyrene"].outcome == "does_not_exceed" and not any("Pyrene" in name for _, name in found)


def test_of_a_pair_the_worse_stands(screen: Screen) -> None:
    twin = {"sample_id": "S-2", "sample_kind": "field_duplicate", "location": "Q"}
    both = ("Benzene", "0.9", {}), ("Benzene", "1.4", twin)
    found = screen(*both, pairs=(("S-1", "S-2"),))
    assert [(*key, one.outcome, one.outweighed, one.location) for key, one in sorted(found.items())] == [
        ("S-1", "Benzene", "does_not_exceed", True, "P"), ("S-2", "Benzene", "exceeds", False, "P"),
    ]  # fmt: skip
    found = screen(*both, pairs=(("S-1", "S-2"),), rule="mean")
    mean, twice = found["S-1", "Benzene"], found["S-2", "Benzene"]
    assert (mean.value, mean.outcome, mean.outweighed, twice.outweighed) == ("1.15", "exceeds", False, True)
    assert mean.duplicate and mean.duplicate["rule"] == "mean"


@pytest.mark.parametrize(
    ("printed", "more", "told"),
    [("0.90", {}, "0.90"), ("<0.90", {}, "<0.90"), ("<0.9", {"nondetect_limit": None, "limit_text": ""}, "without a limit"),
     ("0.9", {"state": "trace", "quantitation_limit": Decimal(3), "value_text": ""}, "3"), ("3", {"basis": "as_received"}, "6.123")],
)  # fmt: skip
def test_both_values_of_a_pair_are_told(screen: Screen, printed: str, more: dict[str, Any], told: str) -> None:
    """In the digits reported, or where there are none (a trace, dry weight) to four figures."""
    twin = {"sample_id": "S-2", "sample_kind": "field_duplicate"}
    dry: Any = {1: (50, Decimal("6.12345"), None, None, None, None)} if more.get("basis") else {}
    found = screen(("Benzene", printed, more), ("Benzene", "1.4", twin), pairs=(("S-1", "S-2"),), dry=dry)
    pair = found["S-1", "Benzene"].duplicate
    assert pair and pair["parent"]["result"] == told and pair["field_duplicates"][0]["result"] == "1.4"


def test_only_the_chosen_of_several_runs_is_held(screen: Screen) -> None:
    (one,) = screen(("Benzene", "0.9", {"runs": 2}), ("Benzene", "5", {"rank": 2, "runs": 2})).values()
    assert one.outcome == "does_not_exceed" and "chosen of 2 analyses" in one.because


@pytest.mark.parametrize(
    ("amount", "level", "outcome", "shown"),
    [("2", "4", "does_not_exceed", "0.500"), ("1234", "1", "exceeds", "1234"), ("1.0004", "1", "exceeds", "1.0004"),
     ("0.99996", "1", "does_not_exceed", "0.99996"), ("1", "1", "open", "1.00"), ("0", "1", "does_not_exceed", "0")],
)  # fmt: skip
def test_a_ratio_never_contradicts_its_outcome(amount: str, level: str, outcome: str, shown: str) -> None:
    assert ratio_text(Decimal(amount), Decimal(level), outcome) == shown


def test_the_days_of_samples_that_may_be_compared() -> None:
    with duckdb.connect() as connection:
        rows = [
            ("A", "2024-05-01", 1, "mg/kg"),
            ("A", "2024-05-01", 1, "ug/L"),
            ("B", None, 1, "ug/L"),
            ("C", None, 2, "ug/L"),
            ("D", None, 1, "%"),
            ("E", None, 1, "mg/kg"),
        ]
        fill(connection, "ranked", "sample_id VARCHAR, sampled_on DATE, rank BIGINT, unit VARCHAR", rows)
        assert [(name, day and day.isoformat()) for name, day in sampling_days(connection)] == [
            ("A", "2024-05-01"), ("B", None), ("E", None),
        ]  # fmt: skip


@pytest.mark.parametrize(("amount", "text"), [("1.500", "1.5"), ("100", "100"), ("1E+2", "100"), ("0.0", "0"), ("0.050", "0.05")])
def test_an_amount_is_told_without_trailing_zeros(amount: str, text: str) -> None:
    assert plain(Decimal(amount)) == text and plain(None) is None
