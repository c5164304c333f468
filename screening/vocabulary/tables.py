"""Reading the csv tables that stand in this room."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files
from itertools import zip_longest


@cache
def rows(file_name: str) -> tuple[dict[str, str], ...]:
    """All rows of one table of this room, blanks around cells removed."""
    text = files(__package__).joinpath(file_name).read_text(encoding="utf-8")
    heading, *lines = (row for row in csv.reader(text.splitlines()) if row)
    return tuple(dict(zip_longest(heading, map(str.strip, line), fillvalue="")) for line in lines)
