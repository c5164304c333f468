"""The first words of every kind of output: what the recommendation rests on, in a few sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from screening.decision.words import amount_text, place_text


def summary_lines(answer: Mapping[str, Any]) -> list[str]:
    """What the recommendation rests on in a few sentences: exceedances, signs and gaps, what is open, notes."""
    advice, counts = answer["recommendation"], answer["counts"]
    exceeding = [item for item in answer["outcomes"] if item["outcome"] == "exceeds"]
    said = []
    if exceeding:
        places = {item["location"] for item in exceeding}
        worst = max(exceeding, key=lambda item: Decimal(item["ratio"] or 0))
        said.append(
            f"{len(exceeding)} exceedance{'s' if len(exceeding) != 1 else ''} at {len(places)} "
            f"location{'s' if len(places) != 1 else ''}; the highest is {worst['analyte']} {amount_text(worst)} at "
            f"{place_text(worst)}, {worst['ratio']} times its level"
        )
    said += [reason["text"] for reason in advice["reasons"] if reason["kind"] in ("field_sign", "gap")]
    if counts["open"] or answer["held_back"]:
        said.append(
            f"{counts['open']} comparisons are open and {len(answer['held_back'])} rows are held back; they are not clean"
        )
    said += advice["notes"]
    if not said or advice["status"] == "not_triggered":
        said.insert(0, f"{counts['does_not_exceed']} comparisons, none exceeds and none is open")
    return said


MOST, LONG = 25, 200
"""Lines of a list on a first page, and letters of a line; the lists themselves hold all."""


def first_of(texts: Sequence[str]) -> list[str]:
    """The first lines of a list, and how many more there are."""
    more = len(texts) - MOST
    return [*map(brief, texts[:MOST]), *([f"... and {more} more, which the lists hold"] if more > 0 else [])]


def brief(text: str) -> str:
    """A line of bearable length: of a long one, such as one that names many samples, the begin and the end."""
    if len(text) <= LONG:
        return text
    begin, end = text[: LONG * 3 // 5].rpartition(" ")[0], text[-LONG // 3 :].partition(" ")[2]
    return f"{begin} … {end}" if begin and end else f"{text[:LONG]}…"
