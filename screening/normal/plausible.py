"""Signs that a unit slipped by a thousand within a unit that may be true: told as warnings, nothing is held for them.

Criteria: water solubility (recalled figures, solubility.csv), reach of methods (common practice, reach.csv), and a
factor of 300 between samples or limits of one file (own choice, no source).
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Frame, combinations, spread
from screening.normal.groups import Groups, sizes
from screening.normal.magnitude import ABSENT, THREE_HUNDREDFOLD
from screening.normal.told import listed
from screening.vocabulary.reach import least_reached, most_in_water

if TYPE_CHECKING:
    from screening.deliverable.columns import Numbers

SAME = ["medium", "method", "analyte", "fraction", "unit"]
LIMITS = ("reporting_limit", "quantitation_limit", "detection_limit")
USED = (*SAME, *LIMITS, "sample_id", "value", "detected", "sign", "dilution", "delivered_unit")
FEWEST = 3
"""Samples of which one can stand out."""
TENFOLD = 1000


def doubts(frame: Frame) -> list[str]:
    """What is suspicious about the sizes of the results and limits of one deliverable, a sentence each.

    ``frame`` has the result rows in the normal form with their delivered texts.
    """
    rows = frame.take(frame["class"] == "result", USED)
    return [*_above_solubility(rows), *_below_reach(rows), *_limits_apart(rows), *_samples_apart(rows)]


def _above_solubility(rows: Frame) -> list[str]:
    def said(analyte: str, value: str) -> str:
        most = most_in_water(analyte)
        if most is None or not value or Decimal(value) <= most:
            return ""
        return f"{analyte} {value} ug/L, water holds about {most:f} ug/L"

    waters = rows.take((rows["unit"] == "ug/L") & (rows["detected"] == "true") & (rows["fraction"] != "leachate"))
    found = spread([waters["analyte"], waters["value"]], said)
    met = found != ""
    if not met.any():
        return []
    each = listed(f"{sample}: {text}" for sample, text in zip(waters["sample_id"].take(met), found.take(met), strict=True))
    return [f"more than dissolves in water (recalled solubility): {each}; product in the sample, or a unit slip?"]


def _below_reach(rows: Frame) -> list[str]:
    def said(analyte: str, unit: str, limit: str) -> str:
        least = least_reached(analyte, unit)
        if least is None or not limit or not 0 < Decimal(limit) < least:
            return ""
        return f"{analyte} {limit} {unit}"

    limit = rows["quantitation_limit"].mask(rows["reporting_limit"] != "", rows["reporting_limit"])
    found = spread([rows["analyte"], rows["unit"], limit], said)
    met = found != ""
    if not met.any():
        return []
    units = listed(text for text in rows["delivered_unit"].take(met).unique() if text)
    each = listed(found.take(met).unique())
    return [f"limits lower than routine methods reach (common practice, no source): {each}, delivered in {units}; a unit slip?"]


def _limits_apart(rows: Frame) -> list[str]:
    said = []
    diluted = sizes(rows["dilution"])
    for name in LIMITS:
        size = sizes(rows[name])
        given = np.flatnonzero(size != ABSENT)
        own = size[given] - np.where(diluted[given] == ABSENT, 0, diluted[given])
        groups = Groups.of([rows[column].take(given) for column in SAME])
        far = (groups.spans(size[given]) >= THREE_HUNDREDFOLD) & (groups.spans(own) >= THREE_HUNDREDFOLD)
        ends = _ends(rows.take(given[far]), own[far], name)
        for (medium, method), told in ends.items():
            by = f" by {method}" if method else ""
            said.append(
                f"{name.replace('_', ' ')}s{by} in {medium.replace('_', ' ')} lie more than 300 times apart, and not by their "
                f"dilution: {listed(told)}; a unit slip?"
            )
    return said


def _ends(far: Frame, own: Numbers, name: str) -> dict[tuple[str, str], list[str]]:
    """By medium and method, the lowest and the highest limit of each analyte."""
    found: dict[tuple[str, str], list[str]] = {}
    groups, kinds = combinations([far["medium"], far["method"], far["analyte"]])
    order = np.lexsort((own, groups))
    for (medium, method, analyte), of_one in zip(kinds, np.split(order, np.cumsum(np.bincount(groups))[:-1]), strict=False):
        places = (int(of_one[0]), int(of_one[-1]))
        ends = [f"{analyte} {far[name].at(at)} {far['unit'].at(at)} in {far['sample_id'].at(at)}" for at in places]
        found.setdefault((medium, method), []).append(" and ".join(ends))
    return found


def _samples_apart(rows: Frame) -> list[str]:
    """Samples whose detections as a whole are 300 times those of the others, or a single one far from others alike."""
    size = sizes(rows["value"])
    kept = (size != ABSENT) & (rows["detected"] == "true") & (rows["sign"] == "")
    rows, size = rows.take(kept), size[kept]
    kinds = Groups.of([rows[name] for name in ("medium", "analyte", "fraction", "unit")])
    usual = kinds.twice_middle(size)
    several = (kinds.distinct(rows["sample_id"]) >= FEWEST)[kinds.of_row]
    off = (2 * size - usual[kinds.of_row])[several]
    rows, size = rows.take(several), size[several]
    samples = Groups.of([rows["medium"], rows["sample_id"]])
    middle = samples.twice_middle(off)  # four times the sample's own distance from what is usual
    said = []
    for number in np.flatnonzero(np.abs(middle) >= 4 * THREE_HUNDREDFOLD).tolist():
        own = samples.of_row == number
        first = int(np.flatnonzero(own)[0])
        medium, sample = rows["medium"].at(first), rows["sample_id"].at(first)
        analytes = rows["analyte"].take(own).unique()
        if len(analytes) == 1 and not _others_alike(rows, size, first):
            continue
        how = "more than 300 times" if middle[number] > 0 else "less than a 300th of"
        units = listed(text for text in rows["delivered_unit"].take(own).unique() if text)
        said.append(
            f"sample {sample}: its detections in {medium.replace('_', ' ')} ({listed(analytes)}, delivered in {units}) are {how} "
            "those of the other samples of this file; a hot spot, or a unit slip?"
        )
    return said


def _others_alike(rows: Frame, size: Numbers, at: int) -> bool:
    same = (rows["analyte"] == rows["analyte"].at(at)) & (rows["medium"] == rows["medium"].at(at))
    others = same & (rows["sample_id"] != rows["sample_id"].at(at))
    return len(rows["sample_id"].take(others).unique()) >= FEWEST and int(np.ptp(size[others])) <= TENFOLD
