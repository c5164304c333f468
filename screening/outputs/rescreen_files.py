"""The files of a rescreen: workbook, page and csv, made of the same lists, the same bytes for the same document."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from screening.outputs.lists import Amount, Listing, Value
from screening.outputs.rescreen_book import book_of
from screening.outputs.rescreen_lists import rescreen_lists
from screening.outputs.rescreen_page import page_of
from screening.outputs.texts import readable

TABLES = {"flips.csv": "Flips", "levels-moved.csv": "Levels moved", "portfolio.csv": "Portfolio"}
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""How a text begins that a spreadsheet would compute."""


def files_of(document: Mapping[str, Any]) -> dict[str, bytes]:
    """Each file by its name."""
    lists = rescreen_lists(document)
    named = {one.name: one for one in lists}
    return {
        "rescreen.xlsx": book_of(document, lists),
        "rescreen.html": page_of(document, lists),
        **{name: _csv(named[of]) for name, of in TABLES.items()},
    }


def _csv(one: Listing) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(column.heading.replace(" ", "_").replace("-", "_") for column in one.columns)
    writer.writerows([_plain(value) for value in row] for row in one.rows)
    return text.getvalue().encode()


def _plain(value: Value) -> str:
    """A value as text; one that could be read as a formula has an apostrophe before it."""
    text = "" if value is None else readable(value.text if isinstance(value, Amount) else str(value))
    return f"'{text}" if text.startswith(FORMULA) else text
