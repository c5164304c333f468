"""Every rule row goes back to a row of the reference, with its status, its citation and its numbers; none is left behind."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from screening.closure.library import Library
from screening.closure.rules import KINDS, DeadlineRow, Row, SafetyRow, SamplingRow

TRACES = list(csv.DictReader((Path(__file__).parent / "traces.csv").open(encoding="utf-8")))
STATUS = {"read": "read", "read-secondhand": "secondhand", "memory": "memory"}
FILES = ("sampling_minimums", "analytes_by_product", "deadlines", "report_contents", "safety")
UNCITED = {13, 14, 15}
"""Lines of the sampling minimums whose page names no state and so no citation."""


@pytest.fixture(scope="module")
def lines(reference: Path) -> dict[tuple[str, int], dict[str, str]]:
    """Every line of the reference by file and number, 'as above' resolved."""
    found = {}
    for name in FILES:
        above = ""
        with (reference / "rules" / f"{name}.csv").open(encoding="utf-8") as file:
            for number, row in enumerate(csv.DictReader(file), start=2):
                above = row["source"] = above if row["source"].strip() == "as above" else row["source"]
                found[f"{name}.csv", number] = row
    return found


def _rows(library: Library) -> dict[tuple[str, str, str], Row]:
    return {(kind, file.name, row.id): row for kind in KINDS for file in library.everything(kind) for row in file.rows}


def test_every_row_is_traced_or_common_practice(library: Library) -> None:
    traced = {(trace["kind"], trace["file"], trace["row"]) for trace in TRACES}
    for key, row in _rows(library).items():
        assert (key in traced) == (row.status != "common practice, no source"), key
        assert (key[1] == "general/practice") == (row.status == "common practice, no source"), key
    assert traced <= set(_rows(library))


def test_every_line_of_the_reference_is_used(lines: dict[tuple[str, int], dict[str, str]]) -> None:
    used = {(trace["reference"], int(trace["line"])) for trace in TRACES}
    assert set(lines) == used


@pytest.mark.parametrize("kind", sorted({one["kind"] for one in TRACES}))
def test_a_row_says_what_its_line_says(library: Library, lines: dict[tuple[str, int], dict[str, str]], kind: str) -> None:
    rows = _rows(library)
    for trace in TRACES:
        if trace["kind"] != kind:
            continue
        row = rows[kind, trace["file"], trace["row"]]
        line = lines[trace["reference"], int(trace["line"])]
        assert row.status == STATUS[line["provenance"]], trace
        if trace["reference"] != "sampling_minimums.csv" or int(trace["line"]) not in UNCITED:
            assert row.citation == line["citation"], trace
        if row.status != "memory":
            assert row.source == line["source"], trace
        whole = " ".join(line.values())
        told = set(re.findall(r"\d+(?:\.\d+)?", whole.replace(",", ""))) | _in_words(whole)
        assert [number for number in _numbers(row) if number not in told] == [], f"{row.id} has numbers not in: {whole[:200]}"


def _in_words(text: str) -> set[str]:
    """Numbers that a rule tells without figures: one for 'every', two for both ends and for the least composite."""
    return {"1", "2"} if re.search("each end|per tank end|composite", text) else {"1"}


def _numbers(row: Row) -> list[str]:
    """The numbers by which a row decides."""
    if isinstance(row, SamplingRow):
        when = row.when.model_dump(exclude_none=True)
        limits = [value for value in when.values() if not isinstance(value, bool | str | tuple)]
        given = [row.number or None, row.each if row.measure != "borings" else None, row.beyond or None, row.least or None,
                 row.plus if row.measure != "borings" or row.plus > 1 else None, row.below_base_ft or None,
                 row.at_most_below_base_ft, row.composite_of, *limits]  # fmt: skip
        within = [] if row.within_ft is None or row.within_ft < 1 else [row.within_ft]  # 6 inches are told in inches
        return [f"{value:f}" if not isinstance(value, int) else str(value) for value in (*given, *within) if value is not None]
    if isinstance(row, DeadlineRow):
        return [str(row.span)] if row.span else []
    if isinstance(row, SafetyRow):
        values = (row.flammable_at_most, row.flammable_below, row.oxygen_at_most, row.oxygen_below, row.oxygen_at_least)
        return [f"{value:f}" for value in values if value is not None]
    return []


def test_our_sentences_are_not_copied(library: Library, lines: dict[tuple[str, int], dict[str, str]]) -> None:
    """No run of eight words of ours stands in the line it comes from."""
    rows = _rows(library)
    for trace in TRACES:
        row = rows[trace["kind"], trace["file"], trace["row"]]
        line = " ".join(re.findall(r"\w+", " ".join(lines[trace["reference"], int(trace["line"])].values()).lower()))
        for field in ("rule", "where", "what", "item", "note"):
            words = re.findall(r"\w+", str(getattr(row, field, "")).lower())
            runs = [" ".join(words[at : at + 8]) for at in range(len(words) - 7)]
            assert not [run for run in runs if run in line], (trace, field)
