"""What a click on a result shows: the steps of every row from the delivered cell to the law, each distinct text once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from screening.decision.explain import Step, origin_steps, steps_of
from screening.outputs.page.columns import LONGEST
from screening.outputs.page.rows import ResultRow
from screening.outputs.texts import readable

if TYPE_CHECKING:
    from screening.decision.contents import Contents


def derivations(contents: Contents, rows: Sequence[ResultRow]) -> dict[str, Any]:
    """``rows`` holds for each row of the table the numbers of step name and text in turn."""
    names: dict[str, int] = {}
    texts: dict[str, int] = {}
    made = []
    for row in rows:
        coded: list[int] = []
        for step in _steps(contents, row):
            coded.append(names.setdefault(step["step"], len(names)))
            coded.append(texts.setdefault(step["text"], len(texts)))
        made.append(coded)
    return {"names": list(names), "texts": [readable(text, LONGEST) for text in texts], "rows": made}


def _steps(contents: Contents, row: ResultRow) -> list[Step]:
    if row.mark is not None:
        return steps_of(contents.answer, row.mark.outcome, contents.cells)
    assert row.cell.result is not None
    told = "no comparison of its own: it counts in the sum that its table lists"
    return [*origin_steps(row.cell.result["source"], contents.cells), {"step": "outcome", "text": told}]
