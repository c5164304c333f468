"""The words for one changed outcome that the terminal, the workbook and the page share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from screening.decision.words import amount_text


def side_text(change: Mapping[str, Any], side: str) -> str:
    """One side of a change: the outcome, with the amount against the level."""
    item = change[side]
    if item is None:
        return "not there"
    amount = amount_text({**item, "qualifiers": "", "parts": (), "level_normal": item.get("level_normal")})
    return f"{outcome_text(item)}: {amount} against {level_text(item)}"


def level_text(item: Mapping[str, Any]) -> str:
    """A level with its unit, or that there is none."""
    return f"{item['level']} {item['level_unit']}" if item["level"] else "no level"


def levels_text(change: Mapping[str, Any]) -> str:
    """The level on both sides, the unit once."""
    before, after = change["before"], change["after"]
    if (
        before is None
        or after is None
        or not before["level"]
        or not after["level"]
        or before["level_unit"] != after["level_unit"]
    ):
        return " to ".join("not compared" if side is None else level_text(side) for side in (before, after))
    if before["level"] == after["level"]:
        return level_text(after)
    return f"{before['level']} to {level_text(after)}"


def factor_text(change: Mapping[str, Any]) -> str:
    """How much stricter or looser a level became; ten-fold moves are marked."""
    if change["direction"] is None:
        return ""
    factor = f"{change['factor']} x " if change["factor"] else ""
    return f"{factor}{change['direction']}{', TEN-FOLD' if change['tenfold'] else ''}"


def outcome_text(side: Mapping[str, Any] | None) -> str:
    """An outcome in words."""
    return "not there" if side is None else str(side["outcome"]).replace("_", " ")


def result_text(change: Mapping[str, Any]) -> str:
    """The amount on the side that has one, with its unit."""
    item = change["after"] or change["before"]
    return amount_text({**item, "qualifiers": "", "parts": ()})


def transcription_mark(change: Mapping[str, Any]) -> str:
    """How the levels were read, where not in the rule itself."""
    words = {"secondhand": "second hand", "memory": "recalled, unverified"}
    found = [words.get((change[side] or {}).get("transcription") or "", "") for side in ("before", "after")]
    if found[0] == found[1]:
        return found[0]
    return ", ".join(f"{mark} {side}" for side, mark in zip(("before", "after"), found, strict=True) if mark)
