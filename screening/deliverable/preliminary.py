"""Deliverables that call themselves preliminary: their numbers may change, so whoever relies on them is told."""

from __future__ import annotations

import re

from screening.deliverable.cells import Book

_WORDS = re.compile(
    r"\b(?:preliminary|provisional|draft|interim)\b[^.;:]{0,40}\b(?:results?|data|report|copy|values?)\b"
    r"|^\W*(?:preliminary|provisional|draft)\W*$|\bsubject to (?:change|revision|final review)\b|\bnot (?:a )?final\b",
    re.IGNORECASE,
)
"""Words in use (common practice, no source)."""
_IN_NAME = re.compile(r"(?:^|[^a-z])(?:preliminary|prelim|draft|provisional)(?:[^a-z]|$)", re.IGNORECASE)
LONGEST = 300


def preliminary_notes(book: Book) -> list[str]:
    """Where a file says that it is preliminary; none where it does not."""
    if _IN_NAME.search(book.file):
        return [f"the name of the file says preliminary ('{book.file}'): numbers may change with the final report"]
    for sheet in book.sheets:
        for at, row in sheet.below(0).with_at_most(3):  # a longer line is one of the table, not beside it
            for text in row:
                if text and len(text) <= LONGEST and _WORDS.search(text):
                    place = f"sheet '{sheet.name}', row {at + 1}" if sheet.name else f"row {at + 1}"
                    return [f"{place} says '{text[:80]}': numbers may change with the final report"]
    return []
