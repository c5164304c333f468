"""The mutators make the mutants they say, and what is said to reach nothing but words reaches no verdict."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).resolve().parent

HEAD = "analyte,cas,medium,level,unit,benzene,pathway,citation,source\n"
ROWS = "".join(
    f"{analyte},,groundwater,{level},ug/L,{benzene},{pathway},made up,made up\n"
    for analyte, level, benzene, pathway in (
        ("Gasoline range organics", "800", "detected", ""), ("Gasoline range organics", "1000", "not_detected", ""),
        ("Total xylenes", "10", "", "a"), ("Total xylenes", "TBD", "", "b"), ("Lead", "15.0", "", ""), ("Toluene", "3", "", ""),
        ("Hexavalent chromium", "4", "", ""), ("Benzo[a]pyrene", "1", "", ""),
    )
)  # fmt: skip
FACTS = """
rounding = "last_place_half_up"
rounded = ["Lead"]
[conditions.benzene]
from = "results"
analyte = "Benzene"
values = ["detected", "not_detected"]
title = "benzene"
wordings = {share = {sum = ["Toluene"], of = "Gasoline range organics", share_below = "0.01", source = "made up"}}
[conditions.pathway]
from = "site"
values = ["a", "b"]
title = "pathway"
together = true
[tolerance]
over = "0.10"
samples = "3"
text = "made up"
citation = "made up"
transcription = "read"
[[equivalents]]
name = "Benzo[a]pyrene"
text = "made up"
citation = "made up"
transcription = "read"
[equivalents.factors]
"Benzo[a]pyrene" = "1"
"Chrysene" = "0.5"
"""
RESULTS = {
    "W-1": {"Gasoline range organics": "900", "Benzene": "<1", "Toluene": "3.1", "m,p-Xylene": "4", "o-Xylene": "<3", "Lead": "15.04",
            "Chromium": "5", "Benzo[a]pyrene": "0.9", "Chrysene": "<0.3", "n-Hexane": "2"},
    "W-2": {"Gasoline range organics": "900", "Benzene": "<1", "Toluene": "9", "Total xylenes": "11", "Lead": "<20", "Chromium": "<5"},
    "W-3": {"Gasoline range organics": "<2000", "Toluene": "2.9", "Total xylenes": "<5", "o-Xylene": "6", "Lead": "15.05"},
}  # fmt: skip
"""Something of each kind: hanging levels, sums, species, equivalents, rounding, tolerance, duplicates, limits above a level."""


@pytest.fixture
def tools() -> Iterator[Callable[[str], Any]]:
    """The modules beside this one, which are no package."""
    sys.path.insert(0, str(HERE))
    yield lambda name: __import__(name)
    sys.path.remove(str(HERE))


def _told(tools: Callable[[str], Any], source: str) -> list[tuple[str, str]]:
    """The words of each wrong turn of some Python, and what it becomes."""
    return [(one.told, ast.unparse(one.tree())) for one in tools("python_mutants").wrongs(source)]


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("x = a < b", [("< to <= after a", "x = a <= b"), ("< to >= after a", "x = a >= b")]),
        ("x = a and b", [("and to or in a and b", "x = a or b")]),
        ("x = not a", [("not left out before a", "x = not not a")]),
        ("x = a + b", [("+ to - in a + b", "x = a - b")]),
        ("x = f'{a}' + b", []),
        ("x = a if b else c", [("branches exchanged by b", "x = c if b else a")]),
        ("if a:\n    b()", [("left out: b()", "if a:\n    pass"), ("if a turned round", "if not a:\n    b()")]),
        ("x = min(a, b)", [("min to max of a", "x = max(a, b)")]),
        ("x = any(a)", [("any to all of a", "x = all(a)")]),
        ("x = True", [("True to False", "x = False")]),
        ("x = 3", [("3 to 4", "x = 4")]),
        ("x = D('0.25')", [("'0.25' doubled", "x = D('0.50')")]),
        ("x = 'detected'", [("'detected' to 'not_detected'", "x = 'not_detected'")]),
        ("x += 1", [("left out: x += 1", "pass"), ("1 to 0", "x += 0")]),
        ("x: int = a", []),
        ("def f(a: int = 0) -> bool:\n    'words'\n    assert a\n    raise Wrong(1)", [
            ("0 to 1", "def f(a: int=1) -> bool:\n    \"\"\"words\"\"\"\n    assert a\n    raise Wrong(1)"),
        ]),
        ("q = 'SELECT a FROM b WHERE c = 1'", [
            ("SQL: = to <>", "q = 'SELECT a FROM b WHERE c <> 1'"), ("SQL: 1 to 0", "q = 'SELECT a FROM b WHERE c = 0'"),
        ]),
    ],
)  # fmt: skip
def test_each_wrong_turn_of_python_is_the_one_told(tools: Any, source: str, expected: list[tuple[str, str]]) -> None:
    assert _told(tools, source) == expected


@pytest.mark.parametrize(
    ("sql", "expected"),
    [
        ("SELECT a FROM b WHERE c > d", {"> to >=": "SELECT a FROM b WHERE c >= d", "> to <=": "SELECT a FROM b WHERE c <= d"}),
        ("SELECT a WHERE b AND c", {"AND to OR": "SELECT a WHERE b OR c", "AND c left out": "SELECT a WHERE b "}),
        ("SELECT a WHERE NOT b", {"NOT left out": "SELECT a WHERE  b"}),
        ("SELECT a WHERE b IS NULL", {"IS NULL to IS NOT NULL": "SELECT a WHERE b IS NOT NULL"}),
        ("SELECT a FROM b LEFT JOIN c USING (d)", {"LEFT JOIN to JOIN": "SELECT a FROM b  JOIN c USING (d)"}),
        ("SELECT min(a)", {"min to max": "SELECT max(a)"}),
        ("SELECT coalesce(a, b)", {"arguments of coalesce exchanged": "SELECT coalesce(b, a)"}),
        ("SELECT CASE WHEN a THEN b END", {"WHEN a never": "SELECT CASE WHEN false THEN b END"}),
        ("SELECT a IN ('x', 'y')", {"'x' left out of the list": "SELECT a IN ('nothing', 'y')",
                                    "'y' left out of the list": "SELECT a IN ('x', 'nothing')"}),
        ("SELECT a IS NOT DISTINCT FROM b", {"NOT left out": "SELECT a IS  DISTINCT FROM b",
                                             "IS NOT DISTINCT FROM to =": "SELECT a = b"}),
        ("SELECT 'open' -- a > b", {"'open' to 'does_not_exceed'": "SELECT 'does_not_exceed' -- a > b"}),
        ("UPDATE a SET b = c", {}),
        ("SELECT a WHERE EXISTS (SELECT 1 FROM b)", {}),
    ],
)  # fmt: skip
def test_each_wrong_turn_of_sql_is_the_one_told(tools: Any, sql: str, expected: dict[str, str]) -> None:
    found = {one.told: sql[: one.start] + one.text + sql[one.end :] for one in tools("sql_mutants").changes(sql)}
    assert found == expected


@pytest.mark.parametrize(
    ("sql", "columns"),
    [
        ("SELECT max(a) AS told, min(b) AS c", ["told", "c"]),
        ("SELECT a, max(b || max(c)) AS told FROM d WHERE max(e)", ["told", "told", ""]),
        ("WITH x AS (SELECT max(a) AS told FROM b) SELECT max(told) AS c FROM x", ["told", "c"]),
        ("SELECT (SELECT max(a) FROM b) AS told", [""]),
        ("SELECT CAST(max(a) AS INTEGER) AS told", ["told"]),
        ("SELECT max(a)", [""]),
    ],
)
def test_a_change_knows_the_column_that_it_reaches(tools: Any, sql: str, columns: list[str]) -> None:
    assert [one.column for one in tools("sql_mutants").changes(sql)] == columns


def test_a_mutant_is_put_where_it_runs(tools: Any) -> None:
    """In this process, and taken out again: the bar that counts where it must not."""
    from decimal import Decimal

    from screening.levels import bars

    source = Path(bars.__file__).read_text(encoding="utf-8")
    wrong = next(one for one in tools("python_mutants").wrongs(source) if one.told == "> to <= after value")
    level = bars.Bar(Decimal(1), False)
    assert not level.exceeded(Decimal(1))
    try:
        tools("mutants").take("screening.levels.bars", wrong.tree())
        assert level.exceeded(Decimal(1))
    finally:
        tools("mutants").take("screening.levels.bars", ast.parse(source))
    assert not level.exceeded(Decimal(1))


def test_mutants_are_many_and_each_has_a_name_of_its_own(tools: Any) -> None:
    names = [tools("mutation_score").name_of(one) for one in tools("mutants").mutants()]
    assert len(names) == len(set(names)) > 1500


def _screens(rule: Any) -> None:
    rule.table(HEAD + ROWS, FACTS)
    water = {"medium": "groundwater", "unit": "ug/L"}
    rows = [
        {**water, "sample_id": sample, "location": "L", "analyte": analyte, "result": result}
        for sample, results in RESULTS.items()
        for analyte, result in results.items()
    ]
    twin = {**water, "sample_id": "W-9", "location": "L", "sample_kind": "field_duplicate", "parent_sample": "W-1"}
    rule.results([*rows, {**twin, "analyte": "Toluene", "result": "2.7"}, {**twin, "analyte": "Lead", "result": "<1"}])


def _verdicts(document: Any) -> Any:
    kept = ("sample_id", "analyte", "table", "level_normal", "outcome", "outweighed")
    outcomes = [tuple(str(one[key]) for key in kept) for one in (*document["outcomes"], *document["outweighed"])]
    advice = document["recommendation"]
    return (
        sorted(outcomes),
        document["counts"],
        advice["status"],
        [one["kind"] for one in advice["reasons"]],
        len(advice["open_items"]),
    )


def test_what_makes_only_words_reaches_no_verdict(rule: Any, tools: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every function of `ONLY_WORDS` talks nonsense, every column of `WORD_COLUMNS` as well; outcomes, counts and status stay.

    A run is kept under its id, so that the second screen is one of a setting that changes nothing here.
    """
    _screens(rule)
    mutants = tools("mutants")
    monkeypatch.setattr(Path, "read_text", Path.read_text)  # put back at the end, whatever is read instead meanwhile
    first = rule.screen("--setting", "missing_basis=open")
    outcomes = {one["outcome"] for one in first["outcomes"]}
    assert outcomes == {"exceeds", "open", "does_not_exceed", "no_level"} and first["outweighed"]
    for file, names in mutants.ONLY_WORDS.items():
        module = __import__(file.removesuffix(".py").replace("/", "."), fromlist=["x"])
        for name in names:
            made = _nonsense(name)
            monkeypatch.setattr(module, name, made)
            for other in list(sys.modules.values()):
                if getattr(other, "__name__", "").startswith("screening.") and getattr(other, name, None) is not None:
                    if getattr(getattr(other, name), "__module__", None) == module.__name__:
                        monkeypatch.setattr(other, name, made)
    mutants.read_instead(
        mutants.COMPARE, _garbled((mutants.ROOT / mutants.COMPARE).read_text(encoding="utf-8"), mutants.WORD_COLUMNS)
    )
    for module in [one for name, one in sys.modules.items() if name.startswith("screening.screen.")]:
        for name, text in list(vars(module).items()):
            if isinstance(text, str) and "SELECT " in text:
                monkeypatch.setattr(module, name, _garbled(text, mutants.WORD_COLUMNS))
    second = rule.screen("--setting", "missing_basis=dry")
    assert second["run"] != first["run"] and any("nonsense" in one["because"] for one in second["outcomes"])
    assert _verdicts(second) == _verdicts(first)


def _nonsense(name: str) -> Callable[..., Any]:
    from screening.screen.duplicates import Pair

    made: dict[str, Any] = {
        "_told": Pair("nonsense", "L", {}), "_beside": (), "_amounts": ("7", "7"), "ratio_text": "7", "_difference": {}, "_shown": {},
        "_notes": ["nonsense"],
    }  # fmt: skip
    return lambda *words, **more: made.get(name, "nonsense")


def _garbled(text: str, columns: frozenset[str]) -> str:
    """The queries with nonsense at the end of every text in a column of words."""
    for column in columns:
        text = text.replace(f" AS {column}", f" || 'nonsense' AS {column}")
    return text
