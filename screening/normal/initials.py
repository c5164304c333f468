"""Initials that name a substance only where nothing beside them says otherwise: the method, or the same name in full."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Column, Frame, spread
from screening.vocabulary import names
from screening.vocabulary.analysis_groups import answered_by, group_of_method, root

if TYPE_CHECKING:
    from screening.deliverable.columns import Flags, Numbers

TRUSTED = frozenset({"edb"})
"""Initials that the list takes for one substance (all others wait for a CAS number); in use for 1,2-dibromoethane
in the rules read, so they stand unless the row's own context contradicts."""
LONGEST = 12
RUN = ("sample_id", "lab_sample_id", "location", "medium", "fraction", "method", "batch", "run_no", "dilution", "analysed_at")


def contradicted(rows: Frame, analyte: Column) -> tuple[Flags, Column, Column]:
    """Which rows have such initials, no CAS number and a context that contradicts; the reason and the proposal.

    ``rows`` holds the delivered texts, ``analyte`` what each was read as.
    """
    none = Column.full("", len(rows))
    bare = rows["analyte"].flags(lambda text: len(text) < LONGEST and names.key(text) in TRUSTED)
    bare = bare & rows["cas"].flags(lambda text: not text.strip())
    if not bare.any():
        return bare, none, none
    method = spread([analyte.replace({None: ""}), rows["method"]], _wrong_method)
    reason = none.mask(bare & (method != ""), "initials alone, and " + method)
    reason = reason.mask(reason == "", _in_full_beside(rows, analyte, bare))
    return reason != "", reason, none.mask(reason != "", analyte.replace({None: ""}))


def _in_full_beside(rows: Frame, analyte: Column, bare: Flags) -> Column:
    """That the same substance stands in the same run under its full name, with another result; '' where it does not."""
    columns = [*(rows[name] for name in RUN), analyte]
    in_full = np.flatnonzero(analyte.isin(analyte.take(bare).unique()) & ~bare)
    first: dict[tuple[str, ...], int] = {}
    for at, run in zip(in_full.tolist(), _runs(columns, in_full), strict=True):
        first.setdefault(run, at)
    said = [""] * len(rows)
    initials = np.flatnonzero(bare)
    for at, run in zip(initials.tolist(), _runs(columns, initials), strict=True):
        if (other := first.get(run)) is not None and rows["result"].at(other) != rows["result"].at(at):
            said[at] = f"initials alone, and '{rows['analyte'].at(other)}' stands in the same run with another result"
    return Column.of(said)


def _runs(columns: Sequence[Column], numbers: Numbers) -> Iterator[tuple[str, ...]]:
    return zip(*(column.take(numbers).tolist() for column in columns), strict=True)


def _wrong_method(analyte: str, method: str) -> str:
    group = group_of_method(method) if method else None
    roots = {root(min(way)) for way in answered_by(analyte, "")}
    if group is None or root(group) in roots:
        return ""
    return f"the method '{method}' ({group}) does not measure {analyte}"
