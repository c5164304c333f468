"""A table of one's own, screened through the command line: facts and rows in, outcomes out."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Office, Said

FACTS = """\
title = "A table made up for tests"
issuing_body = "nobody"
citation = "none: made up"
media = ["soil", "groundwater"]
stage = "closure"
comparison = "above"
comparison_status = "made up"
"""


class Rule:
    """One site, one table of its own, and what a screen of some results says."""

    def __init__(self, office: Any) -> None:
        self.office = office
        office.told = False

    def table(
        self,
        rows: str | Mapping[str, str],
        more: str = "",
        spans: Mapping[str, str] | None = None,
        name: str = "made-up",
        facts: tuple[str, str] = ("", ""),
    ) -> None:
        """Write the table 'xx/NAME' and take it over; rows of one version, or of several by their first days.

        ``facts``: a text of the usual facts and what stands in its place.
        """
        folder: Path = self.office.folder / "xx" / name
        folder.mkdir(parents=True)
        texts = {"2020-01-01": rows} if isinstance(rows, str) else rows
        versions = "".join(f'[versions."{first}"]\neffective = "made up"\n{(spans or {}).get(first, "")}\n' for first in texts)
        (folder / "table.toml").write_text(FACTS.replace(*facts) + more + "\n" + versions, encoding="utf-8")
        for first, text in texts.items():
            (folder / f"{first}.csv").write_text(text, encoding="utf-8")

        def add() -> Said:
            for first in texts:
                said: Said = self.office.run("levels", "add", folder / f"{first}.csv", "--by", "Nobody", "--why", "a test")
                assert said.status == 0, said.error
            return said

        self.office.begin((name, texts, more, versions, facts), add)

    def results(self, rows: Iterable[Mapping[str, object]], more: str = "", *, reviewed: bool = False) -> None:
        """A site screened by the table, and a deliverable; soil is dry and every run undiluted unless a row says else.

        Unless ``reviewed``, the site does without the review of quality, which takes as long as the comparison.
        """
        self.office.reviewed = reviewed
        assert self.office.plain_site(levels="xx/made-up", more=more).status == 0
        filled = [
            {"sample_id": f"S-{at}", "medium": "soil", "unit": "mg/kg", "dilution": "1", **row}
            for at, row in enumerate(rows, start=1)
        ]
        filled = [{"basis": "dry" if row["medium"] == "soil" else "", **row} for row in filled]
        said = self.office.run("import", self.office.deliverable("results.csv", filled), "--site", "one")
        assert said.status == 0, said.error

    def screen(self, *words: str) -> Any:
        """The JSON document of a screen."""
        said = self.office.run("screen", "--site", "one", *words)
        assert said.document is not None, said.error
        return said.document

    def outcomes(self, *words: str) -> dict[tuple[str, str], str]:
        """Outcome by sample and analyte."""
        return {(one["sample_id"], one["analyte"]): one["outcome"] for one in self.screen(*words)["outcomes"]}


Result = Mapping[str, object]
Told = list[dict[str, Any]]
OWN = ("sample_id", "location", "parent_sample")


class Cases:
    """The cases of a parametrized test laid side by side in one site, as samples and places of their own, and screened once.

    Nothing is screened for the first of them that is not kept for the others: each has its own name and its own verdict.
    """

    def __init__(self, folders: Callable[[], Path], made: dict[str, list[Told]], node: pytest.Function) -> None:
        self.folders, self.made = folders, made
        self.this = node.callspec.params
        of_each = [_sets(*mark.args[:2]) for mark in node.iter_markers("parametrize")]
        self.all = [{name: value for one in sets for name, value in one.items()} for sets in product(*of_each)]

    def __call__(
        self, results: Callable[..., Iterable[Result]], rows: str | Mapping[str, str], *table: Any, words: tuple[str, ...] = (),
        more: str = "", reviewed: bool = False, **facts: Any,
    ) -> Told:  # fmt: skip
        """The outcomes of this case, then what they outweigh; ``results`` makes the rows of a case, `Rule.table` takes the rest."""
        cases = [[{"sample_id": f"S-{at}", **row} for at, row in enumerate(results(**case), start=1)] for case in self.all]
        asked = repr((cases, rows, table, words, more, reviewed, facts))
        if asked not in self.made:
            rule = Rule(Office(self.folders()))
            rule.table(rows, *table, **facts)
            rule.results([_apart(row, number) for number, case in enumerate(cases) for row in case], more, reviewed=reviewed)
            answer = rule.screen(*words)
            told: list[Told] = [[] for _ in cases]
            for one in (*answer["outcomes"], *answer["outweighed"]):
                number = one["sample_id"].partition("_")[0].removeprefix("case")
                told[int(number)].append(json.loads(json.dumps(one).replace(f"case{number}_", "")))
            self.made[asked] = told
        return self.made[asked][self.all.index(self.this)]

    def outcome(self, *asked: Any, **more: Any) -> str:
        """The outcome of a case that has one."""
        (one,) = self(*asked, **more)
        return str(one["outcome"])


def _sets(names: str | Sequence[str], values: Iterable[Any]) -> list[dict[str, Any]]:
    if isinstance(names, str):
        return [{names: value} for value in values]
    return [dict(zip(names, each, strict=True)) for each in values]


def _apart(row: Result, number: int) -> Result:
    return {**row, **{name: f"case{number}_{row[name]}" for name in OWN if row.get(name)}}


@pytest.fixture(scope="module")
def made_of_cases() -> dict[str, list[Told]]:
    """What the parametrized tests of a module have screened."""
    return {}


@pytest.fixture
def cases(
    tmp_path_factory: pytest.TempPathFactory, made_of_cases: dict[str, list[Told]], request: pytest.FixtureRequest
) -> Cases:
    """The cases of the test: ``cases(lambda result: [{"analyte": "Benzene", "result": result}], table)``."""
    return Cases(lambda: tmp_path_factory.mktemp("cases"), made_of_cases, request.node)


@pytest.fixture
def rule(office: Any) -> Rule:
    """An office with nothing in it yet."""
    return Rule(office)
