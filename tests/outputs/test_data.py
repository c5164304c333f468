"""The data files read by csv, pyarrow and json and held against the answer of the run."""

from __future__ import annotations

import csv
import io
import json
import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pyarrow.parquet as pq
import pytest

from screening.decision.contents import Contents
from screening.errors import Refused
from screening.outputs import data
from screening.outputs.data.columns import OUTCOMES
from screening.outputs.data.locations import geojson, location_rows


def _csv(package: Mapping[str, bytes], name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(package[f"data/{name}"].decode("utf-8"), newline="")))


def test_outcomes_are_those_of_the_run(package: Mapping[str, bytes], contents: Contents) -> None:
    rows = _csv(package, "outcomes.csv")
    every = [*contents.answer["outcomes"], *contents.answer["outweighed"]]
    assert len(rows) == len(every) == 280
    for row, item in zip(rows, every, strict=True):
        assert (row["sample_id"], row["analyte"], row["outcome"]) == (item["sample_id"], item["analyte"], item["outcome"])
        assert row["value"] == (item["value"] or "") and row["level"] == (item["level_normal"] or "")
        assert (row["counted"], row["detected"]) == (
            "false" if item["outweighed"] else "true",
            "true" if item["detected"] else "false",
        )
    assert Counter(row["outcome"] for row in rows if row["counted"] == "true") == contents.answer["counts"]


def test_parquet_holds_decimals(package: Mapping[str, bytes], contents: Contents) -> None:
    table = pq.read_table(io.BytesIO(package["data/outcomes.parquet"]))
    kinds = {name: str(table.schema.field(name).type) for name in table.column_names}
    assert not [name for name, kind in kinds.items() if "float" in kind or "double" in kind]
    assert {kinds[name] for name in ("value", "limit", "level", "lower", "upper", "ratio")} == {"decimal128(38, 18)"}
    for row, item in zip(table.to_pylist(), [*contents.answer["outcomes"], *contents.answer["outweighed"]], strict=True):
        for ours, theirs in (("value", "value"), ("limit", "limit"), ("level", "level_normal"), ("upper", "upper")):
            assert row[ours] == (None if item[theirs] is None else Decimal(item[theirs])), item
    assert table.schema.metadata[b"run"].decode() == contents.answer["run"]


def test_results_are_all_there(package: Mapping[str, bytes], contents: Contents) -> None:
    rows = _csv(package, "results.csv")
    assert len(rows) == len(contents.results) == 434
    for row, one in zip(rows, contents.results, strict=True):
        assert (row["source_file"], row["source_row"], row["source_text"]) == (
            one["source"]["file"],
            str(one["source"]["row"]),
            one["source"]["text"],
        )
    assert sum(row["chosen"] == "true" for row in rows) == 286


def test_every_column_is_explained(package: Mapping[str, bytes]) -> None:
    told = {(row["file"], row["column"]) for row in _csv(package, "columns.csv")}
    for name in ("outcomes", "results", "locations"):
        assert {(name, column) for column in _csv(package, f"{name}.csv")[0]} == {pair for pair in told if pair[0] == name}


def test_the_answer_itself_is_there(package: Mapping[str, bytes], contents: Contents) -> None:
    assert json.loads(package["data/run.json"]) == json.loads(json.dumps(contents.answer))


def test_a_local_grid_is_no_place_on_earth(package: Mapping[str, bytes]) -> None:
    assert "data/locations.geojson" not in package
    rows = {row["location"]: row for row in _csv(package, "locations.csv")}
    assert (rows["TV-T1-W"]["coordinates"], rows["TV-T1-W"]["x"], rows["TV-T1-W"]["y"]) == ("local", "6.8", "8.0")
    assert sum(row["worst"] == "exceeds" for row in rows.values()) == 8, "as many as the list of exceedances names"


def _at(contents: Contents, system: str, **first: Any) -> dict[str, Any]:
    """GeoJSON of the demo with another coordinate system, and its first location moved."""
    place, *rest = contents.site.location
    moved_place = place.changed(**{key: value if value is None else Decimal(value) for key, value in first.items()})
    site = contents.site.changed(site=contents.site.site.changed(coordinates=system), location=(moved_place, *rest))
    moved = replace(contents, site=site)
    text = geojson(moved, location_rows(moved))
    assert text is not None
    return {one["properties"]["location"]: one for one in json.loads(text)["features"]}[place.id]


def test_utm_to_degrees(contents: Contents) -> None:
    """EPSG:26917 by its definition: central meridian 81 W at 500,000 m east, scale 0.9996, GRS 80 (a = 6378137 m, 1/f =
    298.257222101; Moritz, Geodetic Reference System 1980). A point on the meridian 1,000 m north of the equator."""
    flattening = 1 / 298.257222101
    radius_there = 6378137 * (1 - (2 * flattening - flattening**2))  # of the meridian at the equator
    north = math.degrees(1000 / 0.9996 / radius_there)
    one = _at(contents, "EPSG:26917", x="500000", y="1000")
    longitude, latitude = one["geometry"]["coordinates"]
    assert longitude == pytest.approx(-81, abs=1e-6) and latitude == pytest.approx(north, abs=1e-6)


def test_stated_degrees_are_kept(contents: Contents) -> None:
    one = _at(contents, "local", longitude="-81.5", latitude="41.25")
    assert one["geometry"] == {"type": "Point", "coordinates": [-81.5, 41.25]}
    assert one["properties"]["worst"] and "x" not in one["properties"]


@pytest.mark.parametrize(
    ("system", "x", "words"),
    [
        ("EPSG:999999", "1", "'EPSG:999999' is no coordinate system that is known"),
        ("EPSG:26917", "1e30", r"lie nowhere in EPSG:26917"),
    ],
)
def test_a_place_that_cannot_be_is_refused(contents: Contents, system: str, x: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        _at(contents, system, x=x, y="1")


def test_the_same_run_is_the_same_bytes(package: Mapping[str, bytes], contents: Contents) -> None:
    again = data.files(contents)
    assert {name: package[name] for name in again} == again


def test_no_cell_can_run_as_a_formula(package: Mapping[str, bytes]) -> None:
    texts = {field.name for field in OUTCOMES if field.holds == "text"}
    for row in _csv(package, "outcomes.csv"):
        assert not any(row[name].startswith(("=", "+", "-", "@")) for name in texts)
