"""Reading the csv tables that stand in this room."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def rows(file_name: str) -> tuple[dict[str, str], ...]:
    """All rows of one table of this room, blanks around cells removed."""
    text = files(__package__).joinpath(file_name).read_text(encoding="utf-8")
    return tuple({column: (cell or "").strip() for column, cell in row.items()} for row in csv.DictReader(text.splitlines()))
