"""Exceedances put together by analyte, for sites where the list alone is too long to be taken in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.decision.words import amount_text, place_text
from screening.outputs.lists import (
    LONG,
    NUMBER,
    TEXT,
    Column,
    Listing,
    amount,
    analyte_text,
    level_of,
    of_outcome,
    words,
    worst_first,
)

if TYPE_CHECKING:
    from screening.decision.contents import Contents
    from screening.outputs.tables import Document


def exceedances_by_analyte(contents: Contents) -> Listing:
    """One row for each medium, analyte and level table, the furthest above its level first."""
    groups: dict[tuple[str, ...], list[Document]] = {}
    for item in worst_first(of_outcome(contents.answer, "exceeds")):
        groups.setdefault((item["medium"], analyte_text(item), item["table"]), []).append(item)
    columns = (
        Column("Medium", TEXT, 12), Column("Analyte", TEXT, 25), Column("Exceedances", NUMBER, 11), Column("Locations", NUMBER, 10),
        Column("Highest against its level", TEXT, 18), Column("Where", LONG, 24), Column("Level", NUMBER, 11), Column("Ratio", NUMBER, 8),
        Column("Level table", TEXT, 17, False),
    )  # fmt: skip
    rows = tuple(
        (
            words(key[0]), key[1], len(items), len({item["location"] for item in items}), amount_text(items[0], flag=True),
            place_text(items[0]), level_of(items[0]), amount(items[0]["ratio"]), key[2],
        )
        for key, items in groups.items()
    )  # fmt: skip
    return Listing("By analyte", f"By analyte: {len(rows)}", (), columns, rows)
