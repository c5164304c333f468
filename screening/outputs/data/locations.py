"""Places of sampling with their worst outcome: as csv on the site's own grid, as GeoJSON where its coordinate system is known."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from math import isfinite
from typing import TYPE_CHECKING, Any

from screening.errors import Refused
from screening.outputs.data.plain import AMOUNT, COUNT, TEXT, YES_NO, Field
from screening.outputs.tables import MARKS
from screening.outputs.texts import natural

if TYPE_CHECKING:
    from screening.decision.contents import Contents

LOCATIONS = (
    Field("location", TEXT, "place of sampling"),
    Field("component", TEXT, "tank, piping run, dispenser, pit, sidewall or stockpile that it stands for"),
    Field("position", TEXT, "where at the component"),
    Field("coordinates", TEXT, "'local' for a grid of the site, else the code of the coordinate system of x and y"),
    Field("x", AMOUNT, "to the right or east, as the site file states it"),
    Field("y", AMOUNT, "up or north, as the site file states it"),
    Field("longitude", AMOUNT, "degrees east, WGS 84, where the site file states it"),
    Field("latitude", AMOUNT, "degrees north, WGS 84, where the site file states it"),
    Field("elective", YES_NO, "whether it was sampled beyond what is required"),
    Field("samples", COUNT, "samples with an outcome"),
    *(Field(name, COUNT, f"comparisons with the outcome {name}") for name in MARKS),
    Field("worst", TEXT, "the worst outcome; empty where there is none"),
)

DECIMALS_OF_DEGREES = 7
"""Decimals of longitude and latitude as written: about a centimetre (RFC 7946, section 11.2, on how many are sensible)."""


def location_rows(contents: Contents) -> list[dict[str, Any]]:
    """Every place of the site file and every place that only results name."""
    found: dict[str, list[Mapping[str, Any]]] = {place.id: [] for place in contents.site.location}
    for item in contents.answer["outcomes"]:
        found.setdefault(item["location"], []).append(item)
    stated = {place.id: place for place in contents.site.location}
    rows = []
    for name in sorted(found, key=natural):
        place, items = stated.get(name), found[name]
        counts = {outcome: sum(item["outcome"] == outcome for item in items) for outcome in MARKS}
        rows.append(
            {
                "location": name, "component": place.component if place else "", "position": place.position if place else "",
                "coordinates": contents.site.site.coordinates if place and place.x is not None else "",
                **{key: None if place is None or getattr(place, key) is None else f"{getattr(place, key):f}"
                   for key in ("x", "y", "longitude", "latitude")},
                "elective": bool(place and place.elective), "samples": len({item["sample_id"] for item in items}), **counts,
                "worst": next((outcome for outcome in MARKS if counts[outcome]), ""),
            }
        )  # fmt: skip
    return rows


def geojson(contents: Contents, rows: Sequence[Mapping[str, Any]]) -> str | None:
    """The places as GeoJSON (RFC 7946: WGS 84, longitude first); None where no place on earth is stated.

    Raises `Refused` for a coordinate system that is not known.
    """
    points = [_point(contents, row) for row in rows]
    if not any(points):
        return None
    document = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": point} if point else None,
                "properties": {
                    key: row[key] for key in ("location", "component", "position", "elective", "samples", *MARKS, "worst")
                },
            }
            for row, point in zip(rows, points, strict=True)
        ],
    }
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _point(contents: Contents, row: Mapping[str, Any]) -> list[float] | None:
    system = contents.site.site.coordinates
    if row["longitude"] is not None and row["latitude"] is not None:
        place = (float(row["longitude"]), float(row["latitude"]))
    elif system != "local" and row["x"] is not None and row["y"] is not None:
        place = _on_earth(system, float(row["x"]), float(row["y"]))
        if not all(map(isfinite, place)):
            raise Refused(
                f"site file, location '{row['location']}': x {row['x']}, y {row['y']} lie nowhere in {system}; "
                "mend them, or leave [site] coordinates out for a local grid"
            )
    else:
        return None
    return [round(degrees, DECIMALS_OF_DEGREES) for degrees in place]


def _on_earth(system: str, x: float, y: float) -> tuple[float, float]:
    from pyproj import Transformer
    from pyproj.exceptions import CRSError

    try:
        transformer = Transformer.from_crs(system, "EPSG:4326", always_xy=True)
    except CRSError as error:
        raise Refused(
            f"site file, [site] coordinates: '{system}' is no coordinate system that is known; "
            "name one as EPSG:26917, or leave the key out for a local grid"
        ) from error
    longitude, latitude = transformer.transform(x, y)
    return longitude, latitude
