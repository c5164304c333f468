"""Initials that name a substance only where nothing beside them says otherwise: the method, or the same name in full."""

from __future__ import annotations

import pandas as pd

from screening.normal.spread import spread
from screening.vocabulary import names
from screening.vocabulary.analysis_groups import answered_by, group_of_method, root

TRUSTED = frozenset({"edb"})
"""Initials that the list takes for one substance (all others wait for a CAS number); in use for 1,2-dibromoethane
in the rules read, so they stand unless the row's own context contradicts."""
LONGEST = 12
RUN = ("sample_id", "lab_sample_id", "location", "medium", "fraction", "method", "batch", "run_no", "dilution", "analysed_at")


def contradicted(rows: pd.DataFrame, analyte: pd.Series) -> tuple[pd.Series, pd.Series, pd.Series]:
    """Which rows have such initials, no CAS number and a context that contradicts; the reason and the proposal.

    ``rows`` holds the delivered texts, ``analyte`` what each was read as.
    """
    none = pd.Series("", index=rows.index, dtype="str")
    initials = [text for text in rows["analyte"].unique() if len(text) < LONGEST and names.key(text) in TRUSTED]
    bare = rows["analyte"].isin(initials) & (rows["cas"].str.strip() == "")
    if not bare.any():
        return bare, none, none
    text = spread([analyte.fillna("").astype("str"), rows["method"]], _wrong_method, ["reason"])["reason"].astype("str")
    reason = ("initials alone, and " + text).where(bare & (text != ""), "")
    run = rows[list(RUN)].assign(analyte=analyte)
    in_full = rows.loc[analyte.isin(analyte[bare].unique()) & ~bare]
    others = (
        run.loc[in_full.index].assign(result=in_full["result"], name=in_full["analyte"]).drop_duplicates(run.columns.tolist())
    )
    met = run[bare].reset_index().merge(others, on=run.columns.tolist()).set_index("index")
    differs = met[met["result"] != rows["result"].reindex(met.index)]
    said = "initials alone, and '" + differs["name"] + "' stands in the same run with another result"
    reason = reason.mask((reason == "") & reason.index.isin(differs.index), said.reindex(reason.index).fillna(""))
    return reason != "", reason, analyte.where(reason != "", "").fillna("").astype("str")


class _Said:
    def __init__(self, reason: str) -> None:
        self.reason = reason


def _wrong_method(analyte: str, method: str) -> _Said:
    group = group_of_method(method) if method else None
    roots = {root(min(way)) for way in answered_by(analyte, "")}
    if group is None or root(group) in roots:
        return _Said("")
    return _Said(f"the method '{method}' ({group}) does not measure {analyte}")
