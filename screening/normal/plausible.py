"""Signs that a unit slipped by a thousand within a unit that may be true: told as warnings, nothing is held for them.

Criteria: water solubility (recalled figures, solubility.csv), reach of methods (common practice, reach.csv), and a
factor of 300 between samples or limits of one file (own choice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

import pandas as pd

from screening.normal.magnitude import ABSENT, THREE_HUNDREDFOLD, sizes
from screening.normal.spread import spread
from screening.vocabulary.reach import least_reached, most_in_water

SAME = ["medium", "method", "analyte", "fraction", "unit"]
FEWEST = 3
"""Samples of which one can stand out."""
TENFOLD = 1000
NAMED = 5


def doubts(frame: pd.DataFrame) -> list[str]:
    """What is suspicious about the sizes of the results and limits of one deliverable, a sentence each.

    ``frame`` has the result rows in the normal form with their delivered texts.
    """
    rows = frame[frame["class"] == "result"]
    return [*_above_solubility(rows), *_below_reach(rows), *_limits_apart(rows), *_samples_apart(rows)]


def listed(items: Iterable[str]) -> str:
    """The first few of several names, the others counted."""
    names = list(dict.fromkeys(items))
    rest = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {rest} more" if rest > 0 else "")


@dataclass(frozen=True)
class _Said:
    text: str = ""


def _above_solubility(rows: pd.DataFrame) -> list[str]:
    def said(analyte: str, value: str) -> _Said:
        most = most_in_water(analyte)
        if most is None or not value or Decimal(value) <= most:
            return _Said()
        return _Said(f"{analyte} {value} ug/L, water holds about {most:f} ug/L")

    waters = rows[(rows["unit"] == "ug/L") & (rows["detected"] == "true") & (rows["fraction"] != "leachate")]
    found = spread([waters["analyte"], waters["value"]], said, ["text"])["text"]
    found = found[found != ""]
    if not len(found):
        return []
    each = [f"{sample}: {text}" for sample, text in zip(waters.loc[found.index, "sample_id"], found, strict=True)]
    return [f"more than dissolves in water (recalled solubility): {listed(each)}; product in the sample, or a unit slip?"]


def _below_reach(rows: pd.DataFrame) -> list[str]:
    def said(analyte: str, unit: str, limit: str) -> _Said:
        least = least_reached(analyte, unit)
        if least is None or not limit or not 0 < Decimal(limit) < least:
            return _Said()
        return _Said(f"{analyte} {limit} {unit}")

    limit = rows["quantitation_limit"].mask(rows["reporting_limit"] != "", rows["reporting_limit"])
    found = spread([rows["analyte"], rows["unit"], limit], said, ["text"])["text"]
    found = found[found != ""]
    if not len(found):
        return []
    units = listed(text for text in rows.loc[found.index, "delivered_unit"] if text)
    return [
        f"limits lower than routine methods reach (common practice, no source): {listed(found)}, delivered in {units}; a unit slip?"
    ]


def _limits_apart(rows: pd.DataFrame) -> list[str]:
    said = []
    for name in ("reporting_limit", "quantitation_limit", "detection_limit"):
        size = sizes(rows[name])
        kept = rows[size != ABSENT].assign(size=size[size != ABSENT])
        if not len(kept):
            continue
        diluted = sizes(kept["dilution"])
        kept["own"] = kept["size"] - diluted.mask(diluted == ABSENT, 0)
        by_kind = kept.groupby(SAME, sort=False)[["size", "own"]]
        span = by_kind.transform("max") - by_kind.transform("min")
        far = kept[(span >= THREE_HUNDREDFOLD).all(axis=1)]
        for (medium, method), group in far.groupby(["medium", "method"], sort=False):
            ends = []
            for analyte, of_one in group.groupby("analyte", sort=False):
                ranked = of_one.sort_values("own", kind="stable")
                low, high = ranked.iloc[0], ranked.iloc[-1]
                ends.append(" and ".join(f"{analyte} {row[name]} {row['unit']} in {row['sample_id']}" for row in (low, high)))
            by = f" by {method}" if method else ""
            said.append(
                f"{name.replace('_', ' ')}s{by} in {str(medium).replace('_', ' ')} lie more than 300 times apart, and not by their "
                f"dilution: {listed(ends)}; a unit slip?"
            )
    return said


def _samples_apart(rows: pd.DataFrame) -> list[str]:
    """Samples whose detections as a whole are 300 times those of the others, or a single one far from others alike."""
    size = sizes(rows["value"])
    kept = rows[(size != ABSENT) & (rows["detected"] == "true") & (rows["sign"] == "")]
    kept = kept.assign(size=size[kept.index])
    kind = ["medium", "analyte", "fraction", "unit"]
    by_kind = kept.groupby(kind, sort=False)
    kept = kept.assign(samples=by_kind["sample_id"].transform("nunique"), usual=by_kind["size"].transform("median"))
    kept = kept[kept["samples"] >= FEWEST]
    kept = kept.assign(off=kept["size"] - kept["usual"])
    said = []
    per_sample = kept.groupby(["medium", "sample_id"], sort=False)
    middle = per_sample["off"].median().reset_index()
    for far in middle[middle["off"].abs() >= THREE_HUNDREDFOLD].to_dict("records"):
        medium, sample, off = far["medium"], far["sample_id"], far["off"]
        own = kept[(kept["medium"] == medium) & (kept["sample_id"] == sample)]
        analytes = own["analyte"].unique()
        if len(analytes) == 1 and not _others_alike(kept, own):
            continue
        how = "more than 300 times" if off > 0 else "less than a 300th of"
        units = listed(text for text in own["delivered_unit"] if text)
        said.append(
            f"sample {sample}: its detections in {str(medium).replace('_', ' ')} ({listed(analytes)}, delivered in {units}) are {how} "
            "those of the other samples of this file; a hot spot, or a unit slip?"
        )
    return said


def _others_alike(kept: pd.DataFrame, own: pd.DataFrame) -> bool:
    one = own.iloc[0]
    others = kept[
        (kept["analyte"] == one["analyte"]) & (kept["medium"] == one["medium"]) & (kept["sample_id"] != one["sample_id"])
    ]
    return others["sample_id"].nunique() >= FEWEST and int(others["size"].max() - others["size"].min()) <= TENFOLD
