"""`screening statistics`: what the table's rule allows, beside the sample-by-sample answer; all data invented."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import pytest

from tests.conftest import Office

FACTS = """\
title = "A table made up for tests"
issuing_body = "nobody"
citation = "none: made up"
media = ["soil", "groundwater"]
stage = "closure"
comparison = "above"
comparison_status = "made up"
"""
ROWS = "analyte,cas,medium,level,unit,citation,transcription,source\nLead,7439-92-1,soil,100,mg/kg,made up,read,made up\nBenzene,71-43-2,groundwater,5,ug/L,made up,read,made up\n"
ALLOWED = (
    '[[statistics]]\nname = "{name}"\ntext = "made up"\ncitation = "made up, section 7"\ntranscription = "{known}"\n{more}\n'
)


class Made:
    """A site held against a table made up for one test."""

    def __init__(self, office: Any) -> None:
        self.office = office

    def table(self, *allowed: str, known: str = "read", more: str = "") -> None:
        """The table 'xx/made-up' allowing the statistics named."""
        folder = self.office.folder / "xx" / "made-up"
        folder.mkdir(parents=True)
        text = FACTS + '[versions."2020-01-01"]\neffective = "made up"\n'
        text += "".join(ALLOWED.format(name=name, known=known, more=more) for name in allowed)
        (folder / "table.toml").write_text(text, encoding="utf-8")
        (folder / "2020-01-01.csv").write_text(ROWS, encoding="utf-8")
        words = ("levels", "add", folder / "2020-01-01.csv", "--by", "Nobody", "--why", "a test")
        said = self.office.begin(text, lambda: self.office.run(*words))
        assert said.status == 0, said.error

    def lead(self, results: Iterable[object], more: Iterable[Mapping[str, object]] = ()) -> None:
        """Soil samples S-1, S-2 … of lead; a text '<3' is a non-detect with that limit."""
        rows = [
            {
                "sample_id": f"S-{at}",
                "location": f"S-{at}",
                "medium": "soil",
                "unit": "mg/kg",
                "basis": "dry",
                "dilution": "1",
                "analyte": "Lead",
                "result": str(result),
            }
            for at, result in enumerate(results, start=1)
        ]
        self.rows([*rows, *more])

    def rows(self, rows: list[Mapping[str, object]]) -> None:
        """A site and one deliverable of rows."""
        assert self.office.plain_site(levels="xx/made-up").status == 0
        said = self.office.run("import", self.office.deliverable("results.csv", rows), "--site", "one")
        assert said.status == 0, said.error

    def ask(self, *words: str, analyte: str = "lead") -> dict[str, Any]:
        """The JSON document."""
        said = self.office.run("statistics", "--site", "one", "--analyte", analyte, *words)
        assert said.document is not None, said.error
        found: dict[str, Any] = said.document
        return found

    def test(self, name: str, *words: str) -> dict[str, Any]:
        """The single test of a name."""
        (found,) = self.ask("--test", name, *words)["tests"]
        return dict(found)


@pytest.fixture
def made(office: Any) -> Made:
    return Made(office)


def met(test: Mapping[str, Any]) -> dict[str, bool | None]:
    return {part["name"]: part["met"] for part in test["parts"]}


CASES: dict[str, tuple[list[float], bool | None, list[bool]]] = {
    "A": ([12, 25, 31, 18, 44, 52, 39, 27, 61, 33, 48, 70], True, [True, True, True]),
    "B": ([98, 97, 99, 96, 98, 97, 95, 99, 98, 97, 190], False, [False, True, True]),
    "C": ([10, 12, 15, 18, 20, 22, 24, 25, 26, 28, 30, 31, 33, 35, 36, 38, 40, 17, 29, 250], False, [True, False, True]),
    "D": ([20, 30, 25, 40, 35, 45, 50, 28, 33, 120], False, [True, True, False]),
    "E": ([10, 12, 15, 18, 20, 22, 24, 25, 26, 28, 30, 31, 33, 35, 36, 38, 40, 17, 100, 200], True, [True, True, True]),
}
"""The cases of f01 in the reference (worked by hand): exactly a tenth fails, exactly twice and at the level do not."""


TEN_TIMES: dict[str, tuple[list[object], bool | None]] = {
    "six_of_eight": ([10, 20, 30, 40, 50, 100, 150, 1000], True),
    "five_of_eight": ([10, 20, 30, 40, 50, 101, 150, 200], False),
    "above_ten_times": ([10, 20, 30, 40, 50, 60, 150, "1000.1"], False),
    "eight_of_eleven": ([1, 2, 3, 4, 5, 6, 7, 8, 101, 102, 103], False),
    "limit_at_the_level": ([10, 20, 30, 40, 50, "<100", 150, 1000], True),
    "limits_above_it": ([10, 20, 30, 40, "<101", "<101", 150, 200], None),
}
"""The cases of f02 in the reference (25 Pa. Code 250.707(b)(1)(i)), and two with non-detects."""

MEANS: dict[str, tuple[list[object], bool | None, str | None, str]] = {
    "nothing": (["<1"] * 12, True, "1", "highest value or limit"),
    "one_high_limit": (["<1"] * 11 + ["<150"], None, "150", "highest value or limit"),
    "a_high_detection": (["<1"] * 10 + [101, 3], False, "101", "highest value or limit"),
    "some": (["<1"] * 3 + [2, 3, 4, 5, 3, 4, 5, 2], True, None, "product limit with Student's t"),
    "limit_above": (["<150", 2, 3, 4, 5, 3, 4, 5, 2, 3], None, None, "limits of limit_above-1 lie above the level"),
    "unbounded": ([2, 3, 4, 5, 3, 4, 5, 2, 3, ">90"], None, None, "Student's t"),
    "skewed": ([0.1, 0.3, 0.5, 0.8, 2, 3, 9, 30], None, None, "passes nothing by itself"),
    "hopelessly_skewed": ([0.1, 0.3, 0.5, 0.8, 2, 3, 9, 400], False, None, "passes nothing by itself"),
    "skewed_and_far_below": ([v / 1000 for v in (1, 3, 5, 8, 20, 30, 90, 300)], True, None, "passes nothing by itself"),
    "few": ([2, 3, 4], None, None, "needs at least 4 values, here are 3"),
}
"""Nothing undetected above the level, and nothing without an upper bound, lets a mean pass (invented)."""


def test_rules_at_their_boundaries(made: Made) -> None:
    """Every case is a location of one site."""
    made.table("three_part", "three_quarters_and_ten_times", "upper_confidence_limit")
    results = {name: case[0] for name, case in {**CASES, **TEN_TIMES, **MEANS}.items()}
    made.rows(
        [
            {
                "sample_id": f"{name}-{at}", "location": name, "medium": "soil", "unit": "mg/kg", "basis": "dry", "dilution": "1",
                "analyte": "Lead", "result": str(result),
            }
            for name, values in results.items()
            for at, result in enumerate(values, start=1)
        ]
    )  # fmt: skip
    found = {(one["name"], one["location"]): one for one in made.ask("--by", "location")["tests"]}
    for name, (values, passes, parts) in CASES.items():
        test = found["three_part", name]
        assert test["allowed"] and test["passes"] is passes and test["citation"] == "made up, section 7", name
        assert list(met(test).values()) == parts, name
        assert test["n"] == test["detected"] == len(values) and test["rule"] == "made up"
    for name, (_, passes) in TEN_TIMES.items():
        test = found["three_quarters_and_ten_times", name]
        assert test["passes"] is passes and test["limit"] is None, name
    for name, (_, passes, limit, words) in MEANS.items():
        test = found["upper_confidence_limit", name]
        assert test["passes"] is passes and words in test["note"], (name, test["note"])
        assert limit is None or test["limit"] == limit, name


def test_what_a_table_does_not_allow_passes_nothing(made: Made) -> None:
    made.table()
    made.lead(CASES["A"][0])
    document = made.ask()
    assert {one["passes"] for one in document["tests"]} == {None}
    assert not any(one["allowed"] for one in document["tests"])
    assert all(one["note"].startswith("not allowed by this table, shown for information only") for one in document["tests"])
    by_name = {one["name"]: one for one in document["tests"]}
    assert by_name["upper_confidence_limit"]["holds"] is True
    assert by_name["student_t_limit"]["limit"] == "47.3463"  # 47.34625441 in the reference, f01


def test_the_answer_sample_by_sample_stays_what_it_was(made: Made) -> None:
    """A mean that meets the rule takes back no exceedance, and says so."""
    made.table("upper_confidence_limit", "mean")
    made.lead([50, 60, 55, 65, 58, 62, 48, 57, 66, 105, 59, 61])
    document = made.ask()
    (group,) = document["groups"]
    assert document["status"] == "triggered" and group["sample_by_sample"] == {"does_not_exceed": 11, "exceeds": 1}
    tests = {one["name"]: one for one in document["tests"]}
    assert tests["mean"]["passes"] is True and tests["upper_confidence_limit"]["passes"] is True
    assert "never replace it" in document["caution"]
    shown = made.office.run("runs", "show", document["run"])
    assert shown.document["counts"]["exceeds"] == 1
    assert group["outliers"] == ["S-10"] and group["n"] == 12


def test_the_choice_of_a_limit_is_said(made: Made) -> None:
    made.table("upper_confidence_limit")
    made.lead([8.12, 7.32, 4.82, 6.52, 7.8, 11.89, 12.94, 7.51, 18.14, 4.09, 5.7, 15.57, 6.68, 8.15, 5.56])
    found = made.test("upper_confidence_limit")
    assert found["method"] == "adjusted gamma" and found["limit"] == "10.9963"  # 10.99627089 in the reference, a12
    assert "gamma values are not rejected at 5 %" in found["note"]
    (group,) = made.ask()["groups"]
    told = [one["told"] for one in group["distributions"]]
    assert any(text.startswith("normal rejected by Shapiro-Wilk (Royston)") for text in told)
    assert {one["distribution"] for one in group["distributions"]} == {"normal", "lognormal", "gamma"}


@pytest.mark.parametrize("known", ["memory", "secondhand"])
def test_a_rule_not_read_says_so(made: Made, known: str) -> None:
    made.table("three_part", known=known)
    made.lead(CASES["A"][0])
    found = made.test("three_part")
    assert found["passes"] is True and "check it before relying on it" in found["note"]


def test_the_rules_media_and_least_number(made: Made) -> None:
    made.table("upper_confidence_limit", more='media = ["groundwater"]')
    made.lead(CASES["A"][0])
    assert made.test("upper_confidence_limit")["allowed"] is False


def test_the_rules_least_number(made: Made) -> None:
    made.table("upper_confidence_limit", more='minimum = "20"')
    made.lead(CASES["A"][0])
    found = made.test("upper_confidence_limit")
    assert found["allowed"] and found["passes"] is None and found["limit"] is None
    assert "the rule needs at least 20 samples, here are 12" in found["note"]


def test_estimates_name_their_conventions(made: Made) -> None:
    """The sludge of Berthouex and Brown (2002), Exercise 15.7, through the command: figures of other libraries."""
    made.table()
    made.lead(["<5"] * 7 + [6, 10, 12, 16, 16, 17, 19, 37, 41])
    (group,) = made.ask()["groups"]
    found = {one["method"]: one["middle"] for one in group["estimates"]}
    assert found["product limit, share below the lowest limit at the lowest limit, divisor n - 1"] == "13.0625"
    assert found["product limit, share below the lowest limit at 0, divisor n - 1"] == "10.875"
    assert found["robust regression on order statistics"] == "12.4252"
    assert found["maximum likelihood, lognormal"] == "13.5347"
    assert not any("half" in method for method in found)


def test_field_duplicates_are_no_samples(made: Made) -> None:
    """A duplicate adds nothing to n, but none may be above twice the level."""
    made.table("three_part")
    twin = {
        "sample_id": "S-1D", "location": "S-1", "sample_kind": "field_duplicate", "parent_sample": "S-1", "medium": "soil",
        "unit": "mg/kg", "basis": "dry", "dilution": "1", "analyte": "Lead", "result": "250",
    }  # fmt: skip
    made.lead(CASES["A"][0], [twin])
    found = made.test("three_part")
    assert found["n"] == 12 and met(found) == {"limit": True, "none_above_2_times": False, "fewer_than_a_tenth": True}
    (group,) = made.ask()["groups"]
    assert "field duplicates are no samples of their own" in group["notes"][0] and "S-1D" in group["notes"][0]


def _rounds(values: Iterable[object], well: str = "MW-1") -> list[Mapping[str, object]]:
    return [
        {
            "sample_id": f"{well}-{at}", "location": well, "medium": "groundwater", "unit": "ug/L", "dilution": "1",
            "analyte": "Benzene", "result": str(value), "sampled_at": f"20{18 + at}-05-01",
        }
        for at, value in enumerate(values)
    ]  # fmt: skip


def test_trend_of_a_well(made: Made) -> None:
    """Three falling rounds show nothing, four just can (e09 of the reference); slope by hand 10 a year."""
    made.table()
    made.rows([*_rounds([40, 30, 20, 10]), *_rounds([30, 20, 10], "MW-2"), *_rounds(["<1", "<5", "<1", "<2"], "MW-3")])
    trends = {one["location"]: one for one in made.ask("--test", "trend", analyte="benzene")["trends"]}
    assert (trends["MW-1"]["s"], trends["MW-1"]["p_one_sided"], trends["MW-1"]["direction"]) == (-6, "0.0416667", "falling")
    assert float(trends["MW-1"]["slope_a_year"]) == pytest.approx(-10, abs=0.03)
    assert trends["MW-2"]["direction"] == "not shown" and "4 rounds are the least" in trends["MW-2"]["note"]
    assert trends["MW-3"]["s"] == 0 and "more than half of the rounds are non-detects" in trends["MW-3"]["note"]
    tests = made.ask("--test", "trend", analyte="benzene")["tests"]
    assert {(one["name"], one["passes"]) for one in tests} == {("trend", None)}


def test_by_location(made: Made) -> None:
    made.table()
    made.rows([*_rounds([40, 30, 20, 10]), *_rounds([1, 2, 3, 4], "MW-2")])
    document = made.ask("--by", "location", "--test", "mean", analyte="benzene")
    assert {one["location"]: one["n"] for one in document["tests"]} == {"MW-1": 4, "MW-2": 4}
    one_well = made.ask("--location", "MW-2", "--test", "mean", analyte="benzene")
    assert [one["n"] for one in one_well["tests"]] == [4]


def test_the_same_question_has_the_same_answer(made: Made) -> None:
    made.table()
    made.lead(CASES["A"][0])
    one, again, other = made.ask(), made.ask(), made.ask("--seed", "3")
    assert one == again and one["seed"] != other["seed"] == 3

    def limits(document: Mapping[str, Any]) -> dict[str, str]:
        return {one["name"]: one["limit"] for one in document["tests"]}

    assert limits(one)["bootstrap_t_limit"] != limits(other)["bootstrap_t_limit"]
    assert limits(one)["land_limit"] == limits(other)["land_limit"]


@pytest.fixture(scope="module")
def of_three(desk: Office) -> Office:
    """A site of three results, of which a refusal changes nothing."""
    made = Made(desk)
    made.table()
    made.lead([1, 2, 3])
    return desk


@pytest.mark.parametrize(
    ("words", "status", "told"),
    [
        (("--test", "luck"), 2, "--test luck: is unknown; known are upper_confidence_limit"),
        (("--by", "colour"), 2, "write one of medium, location"),
        (("--location", "MW-9"), 1, "--location MW-9: has no result of 'lead'"),
        (("--analyte", "zinc"), 1, "has no result of 'zinc'; it has Lead"),
    ],
)
def test_refusals(of_three: Office, words: tuple[str, ...], status: int, told: str) -> None:
    said = of_three.run("statistics", "--site", "one", "--analyte", "lead", *words)
    assert said.status == status and told in said.error


def test_peoples_text(made: Made) -> None:
    """The answer sample by sample stands first, what the table does not allow under its own heading."""
    made.table("three_part", known="memory")
    made.lead([*CASES["D"][0], "<1"])
    text = made.office.run("statistics", "--site", "one", "--analyte", "lead").error
    order = [
        "Sample by sample", "Allowed by the table's rule", "three part", "Not allowed by this table", "Caution", "never replace it",
    ]  # fmt: skip
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "not computed: " in text and "outliers flagged, none removed" in text


@pytest.fixture(scope="module")
def newest(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The last version of each shipped table."""
    listed = Office(tmp_path_factory.mktemp("shipped")).run("levels", "list").document["tables"]
    return {one["table"]: one["versions"][-1]["version"] for one in listed}


@pytest.mark.parametrize(
    ("table", "analyte", "name"),
    [
        ("us-wa/soil-method-a", "Lead", "three_part"), ("us-ak/soil-method-two", "Benzene", "upper_confidence_limit"),
        ("us-nj/soil-ingestion-dermal", "Benzene", "three_quarters_and_ten_times"),
        ("us-fl/target-levels-recalled", "Benzene", "upper_confidence_limit"),
    ],
)  # fmt: skip
def test_shipped_tables(made: Made, newest: dict[str, str], table: str, analyte: str, name: str) -> None:
    """The rules that shipped tables allow are found and cited; every other rule test of them is for information."""
    version = newest[table]
    assert made.office.plain_site(place=table.split("/")[0], levels=f"{table}@{version}").status == 0
    rows = [
        {
            "sample_id": f"S-{at}", "location": f"S-{at}", "medium": "soil", "unit": "mg/kg", "basis": "dry", "dilution": "1",
            "analyte": analyte, "result": f"0.000{at}",
        }
        for at in range(1, 9)
    ]  # fmt: skip
    assert made.office.run("import", made.office.deliverable("results.csv", rows), "--site", "one").status == 0
    tests = {one["name"]: one for one in made.ask(analyte=analyte)["tests"]}
    assert tests[name]["allowed"] and tests[name]["citation"] and tests[name]["passes"] is True, tests[name]
    assert not tests["student_t_limit"]["allowed"]


def test_background(made: Made) -> None:
    """The fifteen values of f14 in the reference: 13.77 as lognormal, 10 samples; 20 are needed for area background."""
    rule = 'text = "made up"\ncitation = "made up"\ntranscription = "read"\nlognormal_percentile = "0.9"\nnormal_percentile = "0.8"\ntimes_median = "4"\n'
    more = "".join(
        f'[[backgrounds]]\nkind = "{kind}"\nminimum = "{least}"\n{rule}' for kind, least in (("natural", 10), ("area", 20))
    )
    made.table("mean", more=more)
    values = [8.12, 7.32, 4.82, 6.52, 7.8, 11.89, 12.94, 7.51, 18.14, 4.09, 5.7, 15.57, 6.68, 8.15, 5.56]
    made.rows(
        [
            {
                "sample_id": f"B-{at}", "location": "far field", "medium": "soil", "unit": "mg/kg", "basis": "dry", "dilution": "1",
                "analyte": "Lead", "result": str(value),
            }
            for at, value in enumerate(values)
        ]
    )  # fmt: skip
    natural, area = made.ask("--location", "far field", "--test", "mean")["backgrounds"]
    assert (natural["value"], natural["distribution"]) == ("13.7702", "lognormal")
    assert area["value"] is None and "at least 20 values, here are 15" in area["note"]
    assert "name the locations" in made.ask("--test", "mean")["backgrounds"][0]["note"]
