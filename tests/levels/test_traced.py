"""Every figure in standards/ against the row it was taken from: none altered, none invented, none lost without a reason.

`traces.toml` says which rows of the reference folder a version holds; `omissions.csv` which rows no table holds, and why.
Both sides are read as plain text here, without the loader.
"""

from __future__ import annotations

import csv
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).resolve().parent
STANDARDS = HERE.parent.parent / "standards"
TRACES: list[dict[str, Any]] = tomllib.loads((HERE / "traces.toml").read_text(encoding="utf-8"))["trace"]
VERSIONS = sorted({(trace["table"], trace["version"]) for trace in TRACES})
SIGNS = {"exceeds_if_above": "above", "exceeds_if_at_or_above": "at_or_above", "unstated": ""}
PLAIN = {"analyte", "cas", "medium", "level", "unit", "fraction", "criteria", "comparison", "basis", "note"} | {
    "citation", "transcription", "source",
}  # fmt: skip

Figure = tuple[str, str, str, str, str, str, str, bool, frozenset[str]]
Row = tuple[int, dict[str, str], dict[str, str]]


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def conditions(text: str) -> dict[str, str]:
    return dict(part.partition("=")[::2] for part in text.split(";") if part)


def taken(trace: Mapping[str, Any], reference: Path) -> list[Row]:
    """The reference rows of one trace: number, row and conditions."""
    found = []
    for number, row in enumerate(rows_of(reference / trace["file"])):
        stated = conditions(row["conditions"])
        without = {row["analyte"], f"{row['analyte']}|{row['medium']}"} & set(trace.get("without", []))
        if without or row["analyte"] not in trace.get("only", [row["analyte"]]):
            continue
        if all(stated.get(key) in values for key, values in trace.get("where", {}).items()):
            found.append((number, row, stated))
    return found


def columns(trace: Mapping[str, Any], stated: Mapping[str, str]) -> list[frozenset[str]]:
    """The columns that the reference conditions became; more than one set where one row became several."""
    sets = [frozenset[str]()]
    for key, value in stated.items():
        pair, meant = f"{key}={value}", trace.get("as", {})
        if pair in meant:
            options = [meant[pair]] if isinstance(meant[pair], str) else meant[pair]
        elif {key, pair} & set(trace.get("said", [])):
            continue
        elif key in meant:
            options = [f"{meant[key]}={value}"]
        elif key in trace.get("where", {}) and f"{key}=" not in "".join(COLUMNS[trace["table"], trace["version"]]):
            continue
        else:
            options = [pair]
        sets = [one | frozenset(option.split("&")) for one in sets for option in options]
    return sets


def expected(trace: Mapping[str, Any], reference: Path) -> Iterator[Figure]:
    made_of, range_end = trace.get("criteria"), trace.get("range_ends")
    criteria: dict[tuple[str, str], list[str]] = {}
    upper: dict[tuple[str, str], str] = {}
    rows = taken(trace, reference)
    for _, row, stated in rows:
        place = (row["analyte"], row["medium"])
        if made_of and stated[made_of["key"]] != made_of["level"]:
            criteria.setdefault(place, []).append(f"{made_of['names'][stated[made_of['key']]]}={row['value']}")
        if range_end and stated.get(range_end) == "upper":
            upper[place] = row["value"]
    for _, row, stated in rows:
        place = (row["analyte"], row["medium"])
        level = row["value"]
        if made_of:
            if stated.pop(made_of["key"]) != made_of["level"]:
                continue
        if range_end and range_end in stated:
            if stated.pop(range_end) == "upper":
                continue
            level = f"{level} to {upper[place]}"
        sign = SIGNS[row["comparison"]]
        made = dict(part.split("=") for part in criteria.get(place, []))
        if made.get(trace.get("at_or_above_where_level_is", "")) == level and set(made.values()) != {level}:
            sign = "at_or_above"
        unit = trace.get("units", {}).get(row["unit"], row["unit"])
        for one in columns(trace, stated):
            yield (
                row["analyte"], row["cas"], row["medium"], level, unit, "; ".join(criteria.get(place, [])),
                sign, row["provenance"] == "memory", one,
            )  # fmt: skip


def held(table: str, version: str) -> list[Figure]:
    return [
        (
            row["analyte"], row["cas"], row["medium"], row["level"], row["unit"], row.get("criteria") or "",
            row["comparison"], row["transcription"] == "memory",
            frozenset(f"{key}={value}" for key, value in row.items() if key not in PLAIN and value),
        )
        for row in rows_of(STANDARDS / table / f"{version}.csv")
    ]  # fmt: skip


COLUMNS = {
    (table, version): [f"{name}=" for name in rows_of(STANDARDS / table / f"{version}.csv")[0] if name not in PLAIN]
    for table, version in VERSIONS
}


@pytest.mark.parametrize(("table", "version"), VERSIONS)
def test_a_version_holds_exactly_the_rows_it_was_taken_from(reference: Path, table: str, version: str) -> None:
    wanted = {
        figure
        for trace in TRACES
        if (trace["table"], trace["version"]) == (table, version)
        for figure in expected(trace, reference)
    }
    found = held(table, version)
    assert [figure for figure, times in Counter(found).items() if times > 1] == [], "rows that stand twice"
    assert set(found) - wanted == set(), "figures that no reference row carries"
    assert wanted - set(found) == set(), "reference rows that the table lost"


def test_every_version_is_traced() -> None:
    there = {(f"{path.parent.parent.name}/{path.parent.name}", path.stem) for path in STANDARDS.glob("*/*/*.csv")}
    assert there == set(VERSIONS)


def test_every_reference_row_is_in_a_table_or_left_out_for_a_reason(reference: Path) -> None:
    used = {(trace["file"], number) for trace in TRACES for number, _, _ in taken(trace, reference)}
    omitted: Counter[tuple[str, int]] = Counter()
    for rule in rows_of(HERE / "omissions.csv"):
        assert rule["reason"]
        where = conditions(rule["where"])
        hits = [
            (rule["file"], number)
            for number, row in enumerate(rows_of(reference / rule["file"]))
            if row["analyte"] == (rule["analyte"] or row["analyte"])
            and where.items() <= {**conditions(row["conditions"]), "_medium": row["medium"]}.items()
        ]
        assert hits, f"leaves nothing out: {rule}"
        omitted.update(hits)
    every = {
        (f"{folder}/{path.name}", number)
        for folder in ("levels", "levels_unverified")
        for path in (reference / folder).glob("*.csv")
        for number in range(len(rows_of(path)))
    }
    assert every - used - set(omitted) == set(), "rows lost without a reason"
    assert used & set(omitted) == set(), "rows both held and left out"
    assert [place for place, times in omitted.items() if times > 1] == [], "rows left out twice"


def test_the_factors_of_toxic_equivalents_are_those_of_the_reference(reference: Path) -> None:
    printed = {
        row["analyte"]: row["value"]
        for name in ("levels/wa_cpah_tef_708-2.csv", "levels_unverified/wa_cpah_tef_708-2.memory.csv")
        for row in rows_of(reference / name)
        if "version" not in conditions(row["conditions"])
    }
    for table in ("soil-method-a-recalled", "groundwater-method-a-recalled"):
        facts = tomllib.loads((STANDARDS / "us-wa" / table / "table.toml").read_text(encoding="utf-8"))
        (equivalents,) = facts["equivalents"]
        assert equivalents["factors"] == printed
