"""Whether limits follow the dilution: told as a question, as a limit that does not is too low (or multiplied twice)."""

from __future__ import annotations

import pandas as pd

from screening.normal.magnitude import ABSENT, sizes
from screening.normal.plausible import SAME, listed

TWOFOLD, THREEFOLD = 301, 477
"""log10 of 2 and 3 in thousandths (own choice, no source): moisture and sample size move limits by less than threefold."""
ANSWER = "taken as delivered, with the dilution in them; --set dilution_included=no multiplies them"


def doubts(frame: pd.DataFrame) -> list[str]:
    """Limits that stay the same at different dilutions, and limits that follow the dilution only in part."""
    rows = frame[(frame["class"] == "result") & (frame["dilution"] != "")]
    said = []
    for name in ("reporting_limit", "quantitation_limit"):
        size, diluted = sizes(rows[name]), sizes(rows["dilution"])
        kept = rows.assign(size=size, diluted=diluted)[(size != ABSENT) & (diluted != ABSENT)]
        if len(kept):
            said += _of_one(kept, name)
    return list(dict.fromkeys(said))


def _of_one(kept: pd.DataFrame, name: str) -> list[str]:
    by_kind = kept.groupby(SAME, sort=False)["diluted"]
    apart = kept[by_kind.transform("max") - by_kind.transform("min") >= TWOFOLD].sort_values("diluted", kind="stable")
    ends = apart.groupby(SAME, sort=False)
    same: dict[str, list[str]] = {}
    part: dict[str, list[str]] = {}
    for low, high in zip(ends.head(1).groupby(SAME).first().reset_index().to_dict("records"),
                         ends.tail(1).groupby(SAME).first().reset_index().to_dict("records"), strict=True):  # fmt: skip
        method, analyte, unit = str(low["method"]), str(low["analyte"]), str(low["unit"])
        at = f"dilutions {low['dilution']} and {high['dilution']}"
        off = int(high["size"] - low["size"]) - int(high["diluted"] - low["diluted"])
        if low[name] == high[name]:
            same.setdefault(method, []).append(f"{analyte} {low[name]} {unit} at {at}")
        elif abs(off) > THREEFOLD:
            part.setdefault(method, []).append(f"{analyte} {low[name]} and {high[name]} {unit} at {at}")
    what = name.replace("_", " ") + "s"
    return [
        *(f"{what}{_by(method)} are the same at different dilutions: {listed(found)}; quoted from the method and not from the run? {ANSWER}"
          for method, found in same.items()),
        *(f"{what}{_by(method)} do not follow the dilution: {listed(found)}; is the dilution in them once? {ANSWER}"
          for method, found in part.items()),
    ]  # fmt: skip


def _by(method: str) -> str:
    return f" by {method}" if method else ""
