"""The reason of an outcome in words: which row, why it was picked, and what the value proves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from screening.levels.bars import bar
from screening.levels.choose import Chosen
from screening.levels.table import LevelRow
from screening.screen.measure import DOUBTS, plain
from screening.screen.register import TableInUse

Rows = Sequence[tuple[Chosen, LevelRow]]
"""The rows of law of one table by their number, each with its group."""


def because(
    row: Mapping[str, Any], use: TableInUse, rows: Rows, item: Chosen | None, level: LevelRow | None, ratio: str | None
) -> str:
    """The sentence of one outcome; ``row`` holds its comparand, with amounts as texts, and what the comparison found."""
    if item is None or level is None:
        return _without_level(row, use)
    said = [_comparison(row, level, ratio, use)]
    if row["rows_disagree"]:
        levels = " and ".join(rows[at][1].printed for at in row["candidates"])
        said = [f"the rows {levels} {level.unit} disagree and the condition is unknown"]
    elif row["condition_unknown"]:
        said.append(
            "every row that may apply agrees"
            if len({one["outcome"] for one in row["beside"]}) <= 1
            else "the strictest row decides"
        )
    if row["told"]:
        said.append(f"level {level.printed} because {row['told']}" if not row["condition_unknown"] else row["told"])
    if item.because:
        said.append(item.because)
    if row["parts"]:
        said.append("from " + ", ".join(row["parts"]))
    said += [part for part in (_nondetects(row, level), _rounded(row, level)) if part]
    if row["converted"]:
        said.append(f"dry weight at {row['solids_used']} % solids")
    if row["runs"] > 1:
        said.append(f"chosen of {row['runs']} analyses")
    if "estimated" in row["effects"].split():
        said.append("estimated")
    if row["review_reasons"]:
        said.append(f"review: {row['review_reasons']}")
    return "; ".join(part for part in said if part)


def _without_level(row: Mapping[str, Any], use: TableInUse) -> str:
    if row["outcome"] == "open":
        if row["analyte"] in use.table.unavailable:
            return f"level not available: this row of {use.table.name} was not read"
        return f"level not available: {use.table.name} was read only in part ({use.table.incomplete[0].scope})"
    if row["medium"] not in use.table.media:
        return f"no table in use covers {row['medium'].replace('_', ' ')}"
    if row["told"]:
        return f"no level of {use.table.name} applies: {row['told']}"
    return f"no level is listed in {use.table.name}"


def _comparison(row: Mapping[str, Any], level: LevelRow, ratio: str | None, use: TableInUse) -> str:
    if level.kind == "no_level":
        return f"the table says: {level.printed} (no level)"
    if level.kind == "unavailable":
        return f"level not available: the table says {level.printed}"
    if level.kind == "words":
        return f"the level is in words: {level.printed}"
    sign, against = level.comparison.replace("_", " "), f"{level.printed} {level.unit}"
    if row["stands_in"] is not None:
        stand_in = next(one for one in use.table.stand_ins if one.serves(level.medium))
        sign = (stand_in.comparison or level.comparison).replace("_", " ")
        against = f"{row['stands_in']} {level.normal_unit}, the {stand_in.limit.replace('_', ' ')} that stands in for {against}"
        against += f" ({stand_in.citation}; {stand_in.transcription})"
    doubt = row["doubt"]
    if row["of_several"]:
        return f"{row['of_several']}, {'' if row['outcome'] == 'exceeds' else 'not '}{sign} {against}"
    if row["outcome"] == "exceeds":
        ground = f", though {DOUBTS[doubt]}" if doubt else ""
        return f"{sign} {against}{ground}"
    if row["outcome"] == "does_not_exceed":
        what = "limit" if not row["detected"] else "bound" if doubt or row["parts"] else ""
        ground = f" ({DOUBTS[doubt]}, which bounds it)" if doubt else ""
        return f"{what + ' ' if what else ''}not {sign} {against}{ground}"
    if row["within_tolerance"] and use.table.tolerance:
        rule = use.table.tolerance
        edge = "less than" if Decimal(row["lower"]) < (level.normal_value or 0) * (1 + rule.over) else "exactly"
        return (
            f"{edge} {_percent(rule.over)} over {against}: the mean of {rule.samples} samples of the place decides "
            f"({rule.citation}; {rule.transcription})"
        )
    if doubt:
        return DOUBTS[doubt]
    if row["parts"] and row["upper"] is not None:
        return "the level lies between the bounds of the sum"
    if level.kind == "range":
        return f"within the range {level.printed} {level.unit}"
    missing = [
        f"the {one.limit.replace('_', ' ')} does not stand in for the level here: {one.text}"
        for one in use.table.stand_ins
        if one.serves(level.medium)
    ]
    return "; ".join([f"the limit is {ratio} times the level", *missing])


def _nondetects(row: Mapping[str, Any], level: LevelRow) -> str:
    """How the bounds of a toxic equivalent hang on its non-detects."""
    if row["at_zero"] is None or row["at_full"] is None or row["at_zero"] == row["at_full"] or level.bar is None:
        return ""
    amounts = [Decimal(row["at_zero"]), (Decimal(row["at_zero"]) + Decimal(row["at_full"])) / 2, Decimal(row["at_full"])]
    hangs = len({level.bar.exceeded(amount) for amount in amounts}) > 1
    told = "non-detects at zero {}, at half {}, in full {}".format(*(plain(amount) for amount in amounts))
    return f"{told}: the outcome hangs on it" if hangs else told


def _rounded(row: Mapping[str, Any], level: LevelRow) -> str:
    """That rounding changed the outcome, where it did."""
    if level.rounding == "none" or level.kind != "number" or level.normal_value is None or level.bar is None:
        return ""
    unrounded = bar(level.normal_value, level.comparison == "at_or_above")
    for amount in (Decimal(row[name]) for name in ("lower", "upper") if row[name] is not None):
        if unrounded.exceeded(amount) != level.bar.exceeded(amount):
            return f"rounded as the rule says ({level.rounding.replace('_', ' ')}); unrounded it would be otherwise"
    return ""


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"
