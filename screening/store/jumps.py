"""Values and limits a thousandfold off what the site's other deliverables say: told beside the recommendation.

Worked out anew for every screen from the rows that count, so that the order of import changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING

from screening.normal.magnitude import THREE_HUNDREDFOLD, size_of
from screening.normal.told import listed

if TYPE_CHECKING:
    import duckdb

READS = (
    "deliverable", "class", "detected", "sign", "value", "medium", "location", "analyte", "fraction", "lab", "method",
    "reporting_limit", "dilution",
)  # fmt: skip
"""The columns of ``known`` that are read here."""
VALUES = """
SELECT d.id, d.file, k.medium, k.location, k.analyte, k.fraction, quantile_disc(k.value, 0.5)
FROM known AS k JOIN deliverable AS d ON d.number = k.deliverable
WHERE k.class = 'result' AND k.detected AND k.sign = '' AND k.value > 0
GROUP BY ALL ORDER BY ALL
"""
LIMITS = """
SELECT d.id, d.file, k.medium, k.lab || '|' || k.method, k.analyte, k.fraction, quantile_disc(k.reporting_limit, 0.5)
FROM known AS k JOIN deliverable AS d ON d.number = k.deliverable
WHERE k.class = 'result' AND k.reporting_limit > 0 AND k.method != '' AND coalesce(k.dilution, 1) = 1
GROUP BY ALL ORDER BY ALL
"""
SEVERAL = "SELECT count(DISTINCT deliverable) > 1 FROM known"
FEWEST = 2
"""Analytes that must agree before a place's values or a method's limits are called off."""


def across_deliverables(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Doubts about pairs of deliverables, from the temporary table ``known`` (see `screening.store.snapshot`)."""
    row = connection.execute(SEVERAL).fetchone()
    if row is None or not row[0]:
        return []
    said = []
    for files, medium, place, analytes in _off(connection.execute(VALUES).fetchall()):
        said.append(
            f"{files}: detections at {place} in {medium.replace('_', ' ')} differ more than 300 times ({listed(analytes)}); "
            "did conditions change, or did a unit slip?"
        )
    for files, medium, place, analytes in _off(connection.execute(LIMITS).fetchall()):
        said.append(
            f"{files}: undiluted limits by {place.rpartition('|')[2]} in {medium.replace('_', ' ')} differ more than 300 times "
            f"({listed(analytes)}); did a unit slip?"
        )
    return said


def _off(rows: Iterable[tuple[str, str, str, str, str, str, Decimal]]) -> list[tuple[str, str, str, list[str]]]:
    """Pairs of deliverables whose typical amounts in one medium and place are far apart over their common analytes."""
    places: dict[tuple[str, str], dict[tuple[str, str], dict[tuple[str, str], Decimal]]] = defaultdict(lambda: defaultdict(dict))
    for identity, file, medium, place, analyte, fraction, amount in rows:
        places[medium, place][file, identity][analyte, fraction] = amount
    found = []
    for (medium, place), files in sorted(places.items()):
        names = sorted(files)
        for at, one in enumerate(names):
            for two in names[at + 1 :]:
                common = sorted(files[one].keys() & files[two].keys())
                apart = sorted(size_of(files[two][key]) - size_of(files[one][key]) for key in common)
                if len(common) >= FEWEST and abs(apart[len(apart) // 2]) >= THREE_HUNDREDFOLD:
                    each = [f"{key[0]} {files[one][key].normalize():f} and {files[two][key].normalize():f}" for key in common]
                    found.append((f"{one[0]} and {two[0]}", medium, place, each))
    return found
