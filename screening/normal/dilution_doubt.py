"""Whether limits follow the dilution: told as a question, as a limit that does not is too low (or multiplied twice)."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Frame
from screening.normal.groups import Groups, sizes
from screening.normal.magnitude import ABSENT
from screening.normal.plausible import SAME
from screening.normal.told import listed

if TYPE_CHECKING:
    from screening.deliverable.columns import Numbers

TWOFOLD, THREEFOLD = 301, 477
"""log10 of 2 and 3 in thousandths (own choice, no source): moisture and sample size move limits by less than threefold."""
ANSWER = "taken as delivered, with the dilution in them; --set dilution_included=no multiplies them"


def doubts(frame: Frame) -> list[str]:
    """Limits that stay the same at different dilutions, and limits that follow the dilution only in part."""
    names = ("reporting_limit", "quantitation_limit")
    rows = frame.take((frame["class"] == "result") & (frame["dilution"] != ""), [*SAME, *names, "dilution"])
    diluted = sizes(rows["dilution"])
    said = []
    for name in names:
        size = sizes(rows[name])
        kept = (size != ABSENT) & (diluted != ABSENT)
        said += _of_one(rows.take(kept), name, size[kept], diluted[kept])
    return list(dict.fromkeys(said))


def _of_one(rows: Frame, name: str, size: Numbers, diluted: Numbers) -> list[str]:
    groups = Groups.of([rows[column] for column in SAME])
    apart = groups.spans(diluted) >= TWOFOLD
    order = np.lexsort((diluted[apart], groups.of_row[apart]))
    places, of_group = np.flatnonzero(apart)[order], groups.of_row[apart][order]
    begins = np.flatnonzero(np.diff(of_group, prepend=-1))
    pairs = [(int(places[first]), int(places[end - 1])) for first, end in pairwise([*begins, len(places)])]
    same: dict[str, list[str]] = {}
    part: dict[str, list[str]] = {}
    for low, high in sorted(pairs, key=lambda pair: [rows[column].at(pair[0]) for column in SAME]):
        method, analyte, unit = (str(rows[column].at(low)) for column in ("method", "analyte", "unit"))
        at = f"dilutions {rows['dilution'].at(low)} and {rows['dilution'].at(high)}"
        off = int(size[high] - size[low]) - int(diluted[high] - diluted[low])
        first, last = rows[name].at(low), rows[name].at(high)
        if first == last:
            same.setdefault(method, []).append(f"{analyte} {first} {unit} at {at}")
        elif abs(off) > THREEFOLD:
            part.setdefault(method, []).append(f"{analyte} {first} and {last} {unit} at {at}")
    what = name.replace("_", " ") + "s"
    return [
        *(f"{what}{_by(method)} are the same at different dilutions: {listed(found)}; quoted from the method and not from the run? {ANSWER}"
          for method, found in same.items()),
        *(f"{what}{_by(method)} do not follow the dilution: {listed(found)}; is the dilution in them once? {ANSWER}"
          for method, found in part.items()),
    ]  # fmt: skip


def _by(method: str) -> str:
    return f" by {method}" if method else ""
