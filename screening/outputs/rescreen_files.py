"""The files of a rescreen: workbook, page and csv, made of the same lists, the same bytes for the same document."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from screening.outputs.data.plain import listing_text
from screening.outputs.rescreen_book import book_of
from screening.outputs.rescreen_lists import rescreen_lists
from screening.outputs.rescreen_page import page_of

BOOK, PAGE = "rescreen.xlsx", "rescreen.html"
TABLES = {"flips.csv": "Flips", "levels-moved.csv": "Levels moved", "no-flip.csv": "No flip", "portfolio.csv": "Portfolio"}
NAMES = (BOOK, PAGE, *TABLES)


def files_of(document: Mapping[str, Any]) -> dict[str, bytes]:
    """Each file by its name."""
    lists = rescreen_lists(document)
    named = {one.name: one for one in lists}
    return {
        BOOK: book_of(document, lists),
        PAGE: page_of(document, lists),
        **{name: listing_text(named[of]).encode() for name, of in TABLES.items()},
    }
