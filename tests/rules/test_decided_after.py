"""What is made of several bounds: toxic equivalents, means of several samples, field duplicates; each held against its rule
said a second time in plain Python.

The rules are those that the tool states where it uses them. Cases are invented, drawn with fixed seeds; the oracles share
no code with the tool.
"""

from __future__ import annotations

import random
from collections import defaultdict
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest

from screening.levels.rules import Equivalents
from screening.screen import duplicates
from screening.screen.equivalents import weigh
from screening.screen.measure import PLAIN
from screening.screen.several import mean_of_several
from screening.store.fill import fill

COLUMNS = {
    "id": "BIGINT", "sample_no": "BIGINT", "row_id": "BIGINT", "sample_id": "VARCHAR", "sample_kind": "VARCHAR", "location": "VARCHAR",
    "depth_top": "DECIMAL(9, 2)", "depth_bottom": "DECIMAL(9, 2)", "depth_unit": "VARCHAR", "medium": "VARCHAR", "sampled_on": "DATE",
    "analyte": "VARCHAR", "cas": "VARCHAR", "analyte_kind": "VARCHAR", "fraction": "VARCHAR", "unit": "VARCHAR", "detected": "BOOLEAN",
    "sign": "VARCHAR", "doubt": "VARCHAR", "converted": "BOOLEAN", "solids_used": "DECIMAL(9, 2)", "lab_qualifiers": "VARCHAR",
    "effects": "VARCHAR", "runs": "BIGINT", "lower": "DECIMAL(38, 18)", "upper": "DECIMAL(38, 18)", "below_upper": "BOOLEAN",
    "shown": "VARCHAR", "parts": "VARCHAR[]", "level_analyte": "VARCHAR", "only_table": "INTEGER", "quantitation": "DECIMAL(38, 18)",
    "detection": "DECIMAL(38, 18)", "undiluted": "BOOLEAN", "at_zero": "DECIMAL(38, 18)", "at_full": "DECIMAL(38, 18)",
}  # fmt: skip
USUAL = {
    "sample_no": 1, "sample_id": "S", "sample_kind": "field", "location": "L", "depth_unit": "", "medium": "soil", "analyte": "Benzene",
    "cas": "", "analyte_kind": "substance", "fraction": "", "unit": "u", "detected": True, "sign": "", "doubt": "", "converted": False,
    "lab_qualifiers": "", "effects": "", "runs": 1, "below_upper": False, "shown": "", "undiluted": False,
}  # fmt: skip


def _comparand(number: int, **more: Any) -> Any:
    made = dict.fromkeys(COLUMNS) | USUAL | {"id": number, "row_id": number} | more
    return SimpleNamespace(**made | {"level_analyte": made["analyte"]})


def _lay(connection: duckdb.DuckDBPyConnection, comparands: list[Any]) -> None:
    connection.execute("SET threads = 1")
    connection.execute(PLAIN)
    rows = [tuple(getattr(one, name) for name in COLUMNS if name != "parts") for one in comparands]
    fill(connection, "comparand", ", ".join(f"{name} {kind}" for name, kind in COLUMNS.items() if name != "parts"), rows)
    connection.execute("ALTER TABLE comparand ADD COLUMN parts VARCHAR[] DEFAULT []")


# toxic equivalents

FACTORS = {"A": Decimal(1), "B": Decimal("0.5"), "C": Decimal("0.1")}
FEWER = {"A": Decimal(1), "C": Decimal("0.01")}


@pytest.mark.parametrize("way", ["rule", "bounds", "zero", "half", "full"])
def test_equivalents_are_counted_as_the_rule_says(way: str) -> None:
    """A detected part with its bounds times its factor, a non-detect beside it with the share of its limit that the rule
    says; where nothing is detected the limits in full; where a part or a limit is missing there is no upper bound."""
    some = random.Random(5)
    rules = [(0, _equivalents("Sum", FACTORS, "half")), (2, _equivalents("Other", FEWER, "zero"))]
    comparands = []
    for sample in range(300):
        for part in ("A", "B", "C", "D"):
            for fraction in some.choice((("",), ("",), ("total", ""), ())):
                odd, detected = some.random() < 0.25, some.random() < (0.5 if sample % 3 else 0)
                upper = None if odd and some.random() < 0.5 else some.randrange(1, 9)
                lower = 0 if odd or not detected else upper
                comparands.append(
                    _comparand(
                        len(comparands) + 10, sample_no=sample, sample_id=f"S-{sample}", analyte=part, fraction=fraction, detected=detected,
                        lower=lower, upper=upper, below_upper=not detected or (odd and some.random() < 0.5),
                        doubt=some.choice(("blank", "late", "leachate", "other_fraction")) if odd else "",
                        only_table=1 if odd and some.random() < 0.1 else None,
                    )
                )  # fmt: skip
    with duckdb.connect() as connection:
        _lay(connection, comparands)
        weigh(connection, rules, way)
        found = connection.execute(
            "SELECT sample_no, fraction, analyte, level_analyte, only_table, detected, lower, upper, below_upper, at_zero, at_full, undiluted, "
            "doubt, converted, row_id, parts "
            "FROM comparand WHERE analyte_kind = 'sum'"
        ).fetchall()
        numbers = connection.execute("SELECT count(*), count(DISTINCT id) FROM comparand").fetchall()
    assert numbers == [(len(comparands) + len(found), len(comparands) + len(found))]
    groups: dict[tuple[Any, ...], list[Any]] = defaultdict(list)
    for one in comparands:
        for number, rule in rules:
            if one.analyte in rule.factors and one.only_table is None and one.doubt not in ("leachate", "other_fraction"):
                groups[one.sample_no, one.fraction, number].append(one)
    rule_of = dict(rules)
    expected = {key: _weighed(parts, rule_of[key[2]], way) for key, parts in groups.items()}
    said = {(row[0], row[1], row[4]): row for row in found}
    assert said.keys() == expected.keys() and len(said) == len(found)
    for key, row in said.items():
        rule = rule_of[key[2]]
        assert row[2:4] == (rule.summed, rule.name) and row[5:-2] == expected[key], (key, row, expected[key])
        parts = sorted(groups[key], key=lambda one: one.analyte)
        assert row[-2] == min(one.row_id for one in parts), "told from its first part"
        assert [_told_part(text) for text in row[-1]] == [_part(one, rule) for one in parts]


def _told_part(text: str) -> tuple[str, str, Decimal, Decimal]:
    analyte, amount, _, factor = text.split(" ")
    return analyte, "<" if amount.startswith("<") else "", Decimal(amount.removeprefix("<")), Decimal(factor)


def _part(one: Any, rule: Any) -> tuple[str, str, Decimal, Decimal]:
    amount = one.lower if one.upper is None else one.upper
    return one.analyte, "" if one.detected else "<", Decimal(amount), rule.factors[one.analyte]


def _equivalents(name: str, factors: dict[str, Decimal], nondetects: Any) -> Equivalents:
    made: Any = SimpleNamespace(name=name, summed=f"{name} equivalents", factors=factors, nondetects=nondetects)
    return made  # type: ignore[no-any-return]


def _weighed(parts: list[Any], rule: Any, way: str) -> tuple[Any, ...]:
    way = rule.nondetects if way == "rule" else way
    low = [rule.factors[one.analyte] * one.lower for one in parts]
    high = [None if one.upper is None else rule.factors[one.analyte] * one.upper for one in parts]
    known = [amount for amount in high if amount is not None]
    whole, detected = len(known) == len(rule.factors), any(one.detected for one in parts)
    at_zero, at_full = sum(low), sum(known) if whole else None
    share = {"zero": Decimal(0), "half": Decimal("0.5"), "full": Decimal(1)}.get(way)
    least, most = at_zero, at_full
    if detected and whole and share is not None:
        counted = [(lo, hi) if one.detected else (share * hi, share * hi) for one, lo, hi in zip(parts, low, known, strict=True)]
        least, most = sum(one for one, _ in counted), sum(other for _, other in counted)
    below = any(one.below_upper for one in parts) if not detected or way == "bounds" else False
    doubts = [one.doubt for one in parts if one.doubt] or ["parts_missing" if len(parts) < len(rule.factors) else ""]
    return detected, least, most, below, at_zero, at_full, False, max(doubts), False


# the mean of several samples


def test_the_mean_of_a_place_decides_what_lies_within_the_tolerance() -> None:
    """Of field samples of one place, depth, medium and fraction, each once, as many as the rule asks for."""
    some = random.Random(6)
    comparands, outcomes, levels = [], [], []
    for table, (bar, counts) in enumerate([(10, False), (10, True), (12, False)]):
        levels.append((table, 0, bar, counts))
    for place in range(260):
        for at in range(some.choice((2, 3, 3, 4))):
            plain, upper = some.random() < 0.8, some.choice((9, 10, 10, 11, 11, None))
            odd = {} if plain else some.choice(
                ({"location": ""}, {"depth_top": 3}, {"medium": "sediment"}, {"fraction": "total"}, {"sample_kind": "field_duplicate"},
                 {"analyte": "Lead"}, {"sample_id": f"{place}-0"})
            )  # fmt: skip
            detected = upper is None or some.random() < 0.85
            comparands.append(
                _comparand(
                    len(comparands),
                    **{"sample_id": f"{place}-{at}", "location": f"L-{place}", "lower": (upper or 10) if detected else 0, "upper": upper,
                       "detected": detected, "depth_top": 2 if place % 2 else None} | odd,
                )
            )  # fmt: skip
    for one in comparands:
        for table in range(3):
            if some.random() < 0.8:
                within = some.random() < 0.7
                outcome = some.choice(("open",) * 5 + ("exceeds", "does_not_exceed"))
                outcomes.append((one.id, table, 0, outcome, within, some.random() < 0.1))
    samples = {0: 3, 1: 2}
    with duckdb.connect() as connection:
        _lay(connection, comparands)
        fill(
            connection,
            "outcome",
            "id BIGINT, table_no INTEGER, row_no INTEGER, outcome VARCHAR, within_tolerance BOOLEAN, rows_disagree BOOLEAN",
            outcomes,
        )
        fill(
            connection,
            "level_row",
            "table_no INTEGER, row_no INTEGER, bar DECIMAL(38, 18), bar_counts BOOLEAN",
            [*levels, (0, 1, 1, True)],
        )
        tables: Any = [
            SimpleNamespace(table=SimpleNamespace(tolerance=samples.get(at) and SimpleNamespace(samples=samples[at])))
            for at in range(3)
        ]
        mean_of_several(connection, tables)
        said = {(row[0], row[1]): row[2] for row in connection.execute("SELECT id, table_no, outcome FROM outcome").fetchall()}
    by_id, expected, by_place = {one.id: one for one in comparands}, {}, defaultdict(list)
    for one in comparands:
        if one.sample_kind == "field":
            by_place[_place(one)].append(one)
    for number, table, _, outcome, within, disagree in outcomes:
        one = by_id[number]
        expected[number, table] = outcome
        near = by_place[_place(one)]
        names = {each.sample_id for each in near}
        asked = outcome == "open" and within and not disagree and one.location and one.sample_kind == "field" and table in samples
        if asked and len(names) == len(near) >= samples[table]:
            bar, counts = levels[table][2:]
            least, uppers = sum(each.lower for each in near), [each.upper for each in near]
            allowed = bar * len(near)
            expected[number, table] = (
                "exceeds" if least > allowed or (counts and least == allowed)
                else "does_not_exceed" if None not in uppers and (sum(uppers) < allowed or (not counts and sum(uppers) == allowed))
                else "open"
            )  # fmt: skip
    assert said == expected
    assert len({key for key, outcome in said.items() if outcome == "does_not_exceed"}) > 100


def _place(one: Any) -> tuple[Any, ...]:
    return (one.location, one.depth_top, one.medium, one.fraction, one.analyte)


# field duplicates

WORST_FIRST = ("exceeds", "open", "no_level", "does_not_exceed")


def test_of_a_parent_and_its_duplicates_one_outcome_stands() -> None:
    """By the rule that is set: the worse of them, the parent, or the mean of two detections held against one level row."""
    some = random.Random(7)
    comparands, pairs = [], []
    for number in range(250):
        parent, twin = f"P-{number}", f"D-{number}"
        place = {"location": f"L-{number}", "depth_top": some.choice((None, 1)), "sampled_on": some.choice((None, "2024-05-01")),
                 "fraction": some.choice(("", "total")), "only_table": some.choice((None, None, 0))}  # fmt: skip
        comparands.append(_drawn(some, len(comparands), sample_id=parent, **place))
        for at in range(some.choice((1, 1, 1, 2))):
            name = f"{twin}-{at}"
            pairs.append((parent, name))
            odd = {} if some.random() < 0.8 else some.choice(
                ({"analyte": "Lead"}, {"unit": "v"}, {"medium": "water"}, {"depth_top": 9}, {"fraction": "dissolved"}, {"only_table": 1},
                 {"sampled_on": "2024-05-02"}, {"sampled_on": None}, {"sample_kind": "field"})
            )  # fmt: skip
            comparands.append(
                _drawn(some, len(comparands), **{"sample_id": name, **place, "sample_kind": "field_duplicate", **odd})
            )
        if some.random() < 0.15:  # the same well on another day, or nobody's duplicate
            comparands.append(_drawn(some, len(comparands), sample_id=parent, **{**place, "sampled_on": "2024-05-02"}))
        if some.random() < 0.1:
            comparands.append(_drawn(some, len(comparands), sample_id=parent, sample_kind="split", **place))
    by_id, named = {one.id: one for one in comparands}, defaultdict(list)
    for one in comparands:
        named[one.sample_id, one.sample_kind].append(one)
    same = ("analyte", "fraction", "unit", "medium", "depth_top", "only_table")
    found = {
        (one.id, two.id)
        for parent, twin in pairs
        for one in named[parent, "field"]
        for two in named[twin, "field_duplicate"]
        if all(getattr(one, name) == getattr(two, name) for name in same)
        and (None in (one.sampled_on, two.sampled_on) or one.sampled_on == two.sampled_on)
    }
    of_duplicate: dict[int, list[int]] = defaultdict(list)
    for parent_id, duplicate_id in found:
        of_duplicate[duplicate_id].append(parent_id)
    twins: dict[int, list[int]] = defaultdict(list)
    for duplicate_id, parents in sorted(of_duplicate.items()):
        if len(parents) == 1:
            twins[parents[0]].append(duplicate_id)
    means = {
        (parent_id, duplicate_id): Decimal(by_id[parent_id].lower + by_id[duplicate_id].lower) / 2
        for parent_id, of in twins.items() for duplicate_id in of
        if all(by_id[each].detected and by_id[each].lower == by_id[each].upper for each in (parent_id, duplicate_id))
    }  # fmt: skip
    for rule in duplicates.DUPLICATE_RULES:
        with duckdb.connect() as connection:
            _lay(connection, comparands)
            fill(connection, "field_pair", "parent VARCHAR, duplicate VARCHAR", pairs)
            fill(
                connection,
                "value_state",
                "table_no INTEGER, state_key VARCHAR, id BIGINT, state VARCHAR, told VARCHAR",
                [(0, "depth", one.id, str(one.id), "") for one in comparands],
            )
            duplicates.weigh(connection)
            made = connection.execute(
                "SELECT m.parent_id, m.duplicate_id, c.id, c.lower, c.upper, c.below_upper, c.detected, c.converted, c.sample_id, v.state FROM mean_of AS m "
                "JOIN comparand AS c USING (id) JOIN value_state AS v USING (id) JOIN paired AS p ON p.mean_id = m.id "
                "AND p.parent_id = m.parent_id AND p.duplicate_id = m.duplicate_id"
            ).fetchall()
            assert {(row[0], row[1]): row[3:] for row in made} == {
                pair: (mean, mean, False, True, False, by_id[pair[0]].sample_id, str(pair[0])) for pair, mean in means.items()
            }
            assert len({row[2] for row in made} | by_id.keys()) == len(made) + len(by_id)
            mean_ids = {(row[0], row[1]): row[2] for row in made}
            outcomes = _outcomes(random.Random(8), [*by_id, *sorted(mean_ids.values())])
            fill(
                connection,
                "outcome",
                "id BIGINT, table_no INTEGER, outcome VARCHAR, row_no INTEGER",
                [(*key, *what) for key, what in outcomes.items()],
            )
            decided = duplicates.decide(connection, rule)
            left = {(row[0], row[1]) for row in connection.execute("SELECT id, table_no FROM outcome").fetchall()}
        amounts = {**{one.id: (one.lower, one.upper) for one in comparands}, **{row[2]: (row[3], row[4]) for row in made}}
        stands, outweighed, gone = _stand(rule, twins, mean_ids, outcomes, amounts)
        assert decided.outweighed == outweighed
        assert decided.told.keys() == stands | outweighed
        assert outcomes.keys() - left == gone


def _drawn(some: random.Random, number: int, **more: Any) -> Any:
    detected, upper = some.random() < 0.8, some.choice((2, 4, 6, 7, None))
    upper = 0 if not detected and some.random() < 0.3 else upper
    lower = 0 if not detected else (upper if upper is not None and some.random() < 0.85 else 1)
    return _comparand(number, detected=detected, lower=lower, upper=upper, shown="" if upper is None else str(upper), **more)


def _outcomes(some: random.Random, ids: list[int]) -> dict[tuple[int, int], tuple[str, int | None]]:
    return {
        (one, table): (some.choice(WORST_FIRST), some.choice((1, 1, 1, 2, None)))
        for one in ids for table in (0, 1) if some.random() < 0.9
    }  # fmt: skip


def _stand(rule: str, twins: Any, mean_ids: Any, outcomes: Any, amounts: Any) -> tuple[set[Any], set[Any], set[Any]]:
    """The outcomes that stand, those outweighed, and the means that are taken out, each by comparand and table."""
    stands, outweighed, means = set(), set(), set()

    def badness(one: int, table: int) -> tuple[int, bool, Any]:
        lower, upper = amounts[one]
        return (WORST_FIRST.index(outcomes[one, table][0]), upper is not None, -(lower if upper is None else upper))

    for table in (0, 1):
        for parent, of in twins.items():
            there = [one for one in of if (one, table) in outcomes]
            mine = [(pair, one) for pair, one in mean_ids.items() if pair[0] == parent and (one, table) in outcomes]
            means |= {(one, table) for _, one in mine}
            if (parent, table) not in outcomes or not there:
                continue
            sides = [parent, *there]
            worse = min(sides, key=lambda one: badness(one, table))
            one_row = len({outcomes[one, table][1] for one in sides}) == 1
            mean = mine[0][1] if one_row and len(there) == 1 and len(mine) == 1 else worse
            best = {"higher": worse, "parent": parent, "mean": mean}[rule]
            stands.add((best, table))
            outweighed |= {(one, table) for one in sides if one != best}
    return stands, outweighed, means - stands
