"""The lists of a rescreen that the workbook, the page and the csv files share: flips, all changes, levels, portfolio, not answered."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from screening.decision.compare import chain_text
from screening.decision.flips import KINDS
from screening.outputs.change_words import outcome_text, result_text, transcription_mark
from screening.outputs.lists import LONG, NUMBER, TEXT, Amount, Column, Listing, Value
from screening.outputs.rescreen_words import moves, not_answered, stale_sites, warnings

SIDES = ("before", "after")
IN_THE_RULE = "read in the rule"
_CHANGES = (
    Column("flip", TEXT, 17), Column("site", TEXT, 12), Column("location", TEXT, 12), Column("analyte", TEXT, 22),
    Column("medium", TEXT, 12), Column("result", TEXT, 13), Column("times level", NUMBER, 9), Column("level before", NUMBER, 9),
    Column("unit before", TEXT, 8), Column("level after", NUMBER, 9), Column("unit after", TEXT, 8), Column("ten-fold", TEXT, 10),
    Column("move", TEXT, 9), Column("factor", NUMBER, 8), Column("version before", TEXT, 11), Column("version after", TEXT, 11),
    Column("levels read", TEXT, 14), Column("sample", TEXT, 12, narrow=False),
    Column("outcome before", TEXT, 14, narrow=False), Column("outcome after", TEXT, 14, narrow=False),
    Column("also", TEXT, 17, narrow=False), Column("depth", TEXT, 8, narrow=False), Column("kind of sample", TEXT, 12, narrow=False),
    Column("fraction", TEXT, 9, narrow=False), Column("table", TEXT, 22, narrow=False),
    Column("cause", TEXT, 24, narrow=False),
    Column("citation before", LONG, 40, narrow=False), Column("citation after", LONG, 40, narrow=False),
    Column("run before", TEXT, 15, narrow=False), Column("run", TEXT, 15, narrow=False),
)  # fmt: skip
_LEVELS = (
    Column("table", TEXT, 22), Column("analyte", TEXT, 24), Column("medium", TEXT, 13), Column("level", TEXT, 20),
    Column("version before", TEXT, 12), Column("version after", TEXT, 12), Column("ten-fold", TEXT, 10), Column("move", TEXT, 9),
    Column("factor", NUMBER, 8), Column("sites", NUMBER, 7), Column("comparisons", NUMBER, 12), Column("flips", NUMBER, 7),
    Column("levels read", TEXT, 20, narrow=False), Column("citation", LONG, 50, narrow=False),
)  # fmt: skip
_COUNTS = ("exceeds", "open", "no_level", "does_not_exceed")
_PORTFOLIO = (
    Column("site", TEXT, 12), Column("name", TEXT, 22), Column("table", TEXT, 22),
    *(
        Column(f"{name.replace('_', ' ')} {side}", NUMBER if name != "version" else TEXT, 11 if name == "version" else 9)
        for side in SIDES
        for name in ("version", *_COUNTS)
    ),
    Column("flips", NUMBER, 7),
)  # fmt: skip
_VERSIONS = (
    Column("table", TEXT, 26), Column("version", TEXT, 14), Column("side", TEXT, 9), Column("sites", NUMBER, 8),
    Column("sites exceeding", NUMBER, 11), Column("sites open", NUMBER, 8), *(Column(name.replace("_", " "), NUMBER, 10) for name in _COUNTS),
)  # fmt: skip
_WORDS = (Column("what", TEXT, 22), Column("text", LONG, 100))


def rescreen_lists(document: Mapping[str, Any]) -> list[Listing]:
    """All lists, the flips first. Rows are in the order of the document: worst first."""
    changes = [
        {"site": one["site"], "before_run": one["before_run"], "run": one["run"], **change}
        for one in document["sites"]
        for change in one["changes"]
    ]
    flips = [change for found in document["flips"].values() for change in found]
    rest = [change for change in changes if change["flip"] is None]
    found = document["portfolio"]
    told = [
        *(("not answered", text) for text in not_answered(document)), *(("since revised", text) for text in stale_sites(document)),
        *(("warning", text) for text in warnings(document)), ("caution", document["caution"]),
    ]  # fmt: skip
    return [
        Listing("Flips", "Outcomes that flip, the worst first", _FACTOR, _CHANGES, tuple(_change(one) for one in flips)),
        Listing(
            "Levels moved", "Levels that moved under a comparison, the strictest move first", _FACTOR, _LEVELS,
            tuple(_level(one) for one in moves(document)),
        ),
        Listing(
            "Portfolio", "Each site on each of its tables, before and after", ("Counts of comparisons by outcome.",), _PORTFOLIO,
            tuple(_site(one) for one in found["rows"]),
        ),
        Listing(
            "Versions", "Each version of a table over all sites", ("Sites exceeding: those with an exceedance at least.",), _VERSIONS,
            tuple(tuple(_word(one[key]) for key in _VERSION_KEYS) for one in found["versions"]),
        ),
        Listing("No flip", "Comparisons whose level or value moved without a flip", _FACTOR, _CHANGES, tuple(_change(one) for one in rest)),
        Listing("To know", "What was not answered, what was revised since, warnings", (), _WORDS, tuple(told)),
    ]  # fmt: skip


_FACTOR = (
    "Factor: the larger level over the smaller, to three figures; ten-fold is judged on the exact levels.",
    "Times level: the result, or the limit of a non-detect, over the level after.",
)
_VERSION_KEYS = ("table", "version", "side", "sites", "sites_exceeding", "sites_open", *_COUNTS)


def _number(text: str | None) -> Amount | None:
    """A number as printed; a range or a word stays text."""
    if not text:
        return None
    bare = text.replace(",", "")
    return Amount(bare, Decimal(bare)) if bare.replace(".", "", 1).isdigit() else Amount(text, None)


def _word(value: str | int) -> Value:
    return value if isinstance(value, int) else value.replace("_", " ")


def _change(one: Mapping[str, Any]) -> tuple[Value, ...]:
    before, after = (one[side] or {} for side in SIDES)
    top, bottom = one["depth_top"], one["depth_bottom"]
    return (
        KINDS[one["flip"]] if one["flip"] else "", one["site"], one["location"], one["analyte"], _word(one["medium"]),
        result_text(one), _number(after.get("ratio")), _number(before.get("level")), before.get("level_unit") or "",
        _number(after.get("level")), after.get("level_unit") or "", "TEN-FOLD" if one["tenfold"] else "", one["direction"] or "",
        _number(one["factor"]), before.get("version", ""), after.get("version", ""), transcription_mark(one) or IN_THE_RULE,
        one["sample_id"],
        outcome_text(one["before"]), outcome_text(one["after"]), ", ".join(KINDS[kind] for kind in one["also"]),
        " to ".join(dict.fromkeys(depth for depth in (top, bottom) if depth)), _word(one["sample_kind"]), one["fraction"], one["table"],
        chain_text(one), before.get("citation", ""), after.get("citation", ""), one["before_run"], one["run"],
    )  # fmt: skip


def _level(one: Mapping[str, Any]) -> tuple[Value, ...]:
    return (
        one["table"], one["analyte"], _word(one["medium"]), one["levels"], one["before"], one["after"],
        "TEN-FOLD" if one["tenfold"] else "", one["direction"], _number(one["factor"]), one["sites"], one["comparisons"], one["flips"],
        one["transcription"] or IN_THE_RULE, one["citation"],
    )  # fmt: skip


def _site(one: Mapping[str, Any]) -> tuple[Value, ...]:
    cells: list[Value] = []
    for side in SIDES:
        held = one[side]
        cells += [held["version"], *(held[name] for name in _COUNTS)] if held else ["not used", *[None] * len(_COUNTS)]
    return (one["site"], one["site_name"], one["table"], *cells, one["flips"])
