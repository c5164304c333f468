"""A table of one's own, screened through the command line: facts and rows in, outcomes out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

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
            said = self.office.run("levels", "add", folder / f"{first}.csv", "--by", "Nobody", "--why", "a test")
            assert said.status == 0, said.error

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


@pytest.fixture
def rule(office: Any) -> Rule:
    """An office with nothing in it yet."""
    return Rule(office)
