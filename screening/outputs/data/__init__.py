"""The run as plain data: outcomes, results and lists as csv, outcomes as Parquet, locations, deadlines, the answer as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from screening.decision.answer import dump
from screening.decision.closing import calendar_of
from screening.outputs.data.columns import COLUMNS, OUTCOMES, RESULTS, outcome_rows, result_rows
from screening.outputs.data.locations import LOCATIONS, geojson, location_rows
from screening.outputs.data.plain import csv_text, listing_text, parquet
from screening.outputs.evidence import coverage, deadlines, levels, papers, quality

if TYPE_CHECKING:
    from screening.decision.contents import Contents


def files(contents: Contents) -> Mapping[str, bytes]:
    """The data files, in a folder of their own."""
    outcomes = outcome_rows(contents.answer)
    places = location_rows(contents)
    about = {
        "run": contents.answer["run"],
        "data": contents.answer["data"],
        "caution": contents.answer["recommendation"]["caution"],
    }
    texts = {
        "outcomes.csv": csv_text(OUTCOMES, outcomes),
        "results.csv": csv_text(RESULTS, result_rows(contents.results)),
        "locations.csv": csv_text(LOCATIONS, places),
        "columns.csv": csv_text(COLUMNS, [
            {"file": file, "column": column.name, "holds": column.holds, "meaning": column.meaning}
            for file, columns in (("outcomes", OUTCOMES), ("results", RESULTS), ("locations", LOCATIONS)) for column in columns
        ]),
        **{f"{name}.csv": listing_text(make(contents)) for name, make in (
            ("findings", quality), ("coverage", coverage), ("deadlines", deadlines), ("papers", papers), ("levels", levels),
        )},
        "deadlines.ics": calendar_of(contents.deadlines),
        "run.json": dump(contents.answer) + "\n",
    }  # fmt: skip
    made = {name: text.encode() for name, text in texts.items()}
    made["outcomes.parquet"] = parquet(OUTCOMES, outcomes, about)
    drawn = geojson(contents, places)
    if drawn is not None:
        made["locations.geojson"] = drawn.encode()
    return {f"data/{name}": content for name, content in sorted(made.items())}
