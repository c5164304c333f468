"""The workbook of a run: result tables, lists and what stands behind them, the same bytes for the same run."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping
from typing import TYPE_CHECKING

from screening.outputs.drawings import KINDS, sheets_of_kind
from screening.outputs.evidence import evidence_lists
from screening.outputs.lists import result_lists
from screening.outputs.tables import crosstabs
from screening.outputs.texts import readable
from screening.outputs.workbook.crosstab_sheets import add_crosstab, sheets_of
from screening.outputs.workbook.list_sheets import add_list
from screening.outputs.workbook.picture_sheets import add_pictures
from screening.outputs.workbook.sheet import Book, new_workbook
from screening.outputs.workbook.summary_sheet import add_summary

if TYPE_CHECKING:
    from screening.decision.contents import Contents

NAME = "workbook.xlsx"


def files(contents: Contents) -> Mapping[str, bytes]:
    """The workbook as one file."""
    target = io.BytesIO()
    workbook = new_workbook(target)
    answer = contents.answer
    workbook.set_properties(
        {
            "title": readable(f"Results and levels: {answer['site_name']}", 200),
            "subject": f"run {answer['run']}, data state {answer['data']}",
            "comments": answer["recommendation"]["caution"],
            "created": dt.datetime.combine(contents.today, dt.time()),
        }
    )
    book = Book(workbook, contents)
    tables = [(name, part) for table in crosstabs(contents) for name, part in sheets_of(table)]
    drawn = {kind: found for kind in KINDS if (found := sheets_of_kind(contents, kind))}
    lists = [*result_lists(contents), *evidence_lists(contents)]
    pictures = [(KINDS[kind], found[0].title) for kind, found in drawn.items()]
    add_summary(book, [*((name, part.title) for name, part in tables), *pictures, *((one.name, one.title) for one in lists)])
    for name, part in tables:
        add_crosstab(book, name, part)
    for kind, found in drawn.items():
        add_pictures(book, kind, found)
    for one in lists:
        add_list(book, one)
    workbook.close()
    return {NAME: target.getvalue()}
