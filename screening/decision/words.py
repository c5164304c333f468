"""The words for amounts, places and the recommendation that the advice and every output share."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

STATUS_WORDS = {
    "triggered": "CORRECTIVE ACTION IS INDICATED (triggered)",
    "not_triggered": "CORRECTIVE ACTION IS NOT INDICATED BY THESE DATA (not triggered)",
    "undetermined": "INCOMPLETE: THESE DATA DO NOT DECIDE (undetermined)",
}


NOT_DETECTED_LETTERS = ("U", "ND", "<")
"""Letters that say no more than the '<' before the limit does."""


def amount_text(item: Mapping[str, Any], *, flag: bool = False) -> str:
    """A result with its unit, '<' before a limit, the laboratory's flag behind where asked."""
    letters = letters_of(item) if flag and not is_span(item) else ""
    return " ".join(part for part in (number_text(item), letters, item["unit"]) if part)


def number_text(item: Mapping[str, Any]) -> str:
    """A result without its unit: its number, '<' before a limit, both bounds of an open sum, or words where no number is known."""
    if is_span(item):
        return f"{item['lower']} to {item['upper']}"
    text = item["value"] if item["detected"] else item["limit"]
    if not text:
        return "detected" if item["detected"] else "not detected, no limit"
    return f"{'' if item['detected'] else '<'}{cut(text, item.get('level_normal'))}"


def is_span(item: Mapping[str, Any]) -> bool:
    """Whether a result is known by two bounds only: a sum that its level parts."""
    return bool(item.get("parts")) and item["outcome"] == "open" and item["upper"] is not None


def letters_of(item: Mapping[str, Any]) -> str:
    """The laboratory's flags that say more than the '<' before a limit does."""
    return " ".join(letter for letter in item["qualifiers"].split() if item["detected"] or letter not in NOT_DETECTED_LETTERS)


def cut(text: str, level: str | None) -> str:
    """A long quotient with three figures, or as many as it takes to stay on its side of the level."""
    number = Decimal(text)
    if len(number.as_tuple().digits) <= 8 or not number:
        return text
    for figures in range(3, 30):
        short = number.quantize(Decimal(1).scaleb(number.adjusted() - figures + 1), ROUND_HALF_UP)
        if level is None or _side(short, Decimal(level)) == _side(number, Decimal(level)):
            return f"{short:f}"
    return text


def _side(number: Decimal, level: Decimal) -> int:
    return (number > level) - (number < level)


def depth_text(item: Mapping[str, Any]) -> str:
    """The depth as a reader writes it."""
    if item["depth_top"] is None:
        return ""
    depth = (
        item["depth_top"] if item["depth_bottom"] in (None, item["depth_top"]) else f"{item['depth_top']}-{item['depth_bottom']}"
    )
    return f"{depth} {item['depth_unit']}".rstrip()


def place_text(item: Mapping[str, Any]) -> str:
    """Location, sample number where it differs, and depth."""
    name = item["location"] if item["location"] == item["sample_id"] else f"{item['location']} ({item['sample_id']})"
    depth = depth_text(item)
    return f"{name}, {depth}" if depth else name
