"""The results of a site in the normal form, for people and programs."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from screening.decision.review_site import reviewed_as_known
from screening.levels.versions import standards_folder
from screening.normal.dates import shown
from screening.normal.results import MOMENTS
from screening.quality.chosen import why_not
from screening.quality.editions import edition_asked
from screening.screen.measure import plain
from screening.store.sites import site_of
from screening.store.snapshot import known_on

if TYPE_CHECKING:
    import duckdb

LISTED = """
SELECT r.*, t.rank, t.is_rejected, t.is_over_range, t.is_late, c.dilution AS chosen_dilution, w.qualifier AS review, w.reasons,
    d.sheet, d.row, d.column_letter, d.text, f.file, f.id AS deliverable_id
FROM known AS r
LEFT JOIN ranked AS t ON t.row_id = r.row_id
LEFT JOIN reviewed AS w ON w.row_id = r.row_id
LEFT JOIN ranked AS c
    ON c.rank = 1 AND c.sample_id = t.sample_id AND c.sample_kind = t.sample_kind AND c.location = t.location
    AND c.medium = t.medium AND c.analyte = t.analyte AND c.fraction = t.fraction
    AND c.depth_top IS NOT DISTINCT FROM t.depth_top AND c.depth_bottom IS NOT DISTINCT FROM t.depth_bottom
    AND c.depth_unit = t.depth_unit AND c.sampled_on IS NOT DISTINCT FROM t.sampled_on
JOIN delivered AS d ON d.row_id = r.row_id
JOIN deliverable AS f ON f.number = r.deliverable
ORDER BY r.location, r.sample_id, r.sample_kind, r.depth_top NULLS FIRST, r.medium, r.analyte, r.fraction, t.rank, r.row_id
"""


def list_results(
    connection: duckdb.DuckDBPyConnection, site: str, everything: bool, data_on: dt.date | None = None
) -> list[dict[str, Any]]:
    """The chosen results of a site as known on a day (None: now); with ``everything`` also those not chosen and the
    quality control."""
    found, snapshot = site_of(connection, site), known_on(connection, site, data_on)
    reviewed_as_known(connection, found, edition_asked(found.screening.review, standards_folder()), snapshot)
    return results_in(connection, everything)


def results_in(connection: duckdb.DuckDBPyConnection, everything: bool) -> list[dict[str, Any]]:
    """As `list_results`, of what was just reviewed in this connection; see `reviewed_as_known`."""
    answer = connection.execute(LISTED)
    names = [column[0] for column in answer.description or []]
    rows = [dict(zip(names, values, strict=True)) for values in answer.fetchall()]
    return [_document(row) for row in rows if everything or row["rank"] == 1]


def _document(row: dict[str, Any]) -> dict[str, Any]:
    chosen = row["rank"] == 1
    return {
        "sample_id": row["sample_id"], "lab_sample_id": row["lab_sample_id"], "location": row["location"],
        "medium": row["medium"], "depth_top": plain(row["depth_top"]), "depth_bottom": plain(row["depth_bottom"]),
        "depth_unit": row["depth_unit"], **{name: shown(row[name], row[f"{name}_known"]) for name in MOMENTS},
        "sample_kind": row["sample_kind"], "class": row["class"], "analyte": row["analyte"], "cas": row["cas"],
        "fraction": row["fraction"], "detected": row["detected"], "value": row["value_text"] or None,
        "limit": row["limit_text"] or None, "limit_from": row["limit_from"], "unit": row["unit"], "basis": row["basis"],
        "reporting_limit": plain(row["reporting_limit"]), "quantitation_limit": plain(row["quantitation_limit"]),
        "detection_limit": plain(row["detection_limit"]), "dilution": plain(row["dilution"]),
        "percent_solids": plain(row["percent_solids"]), "method": row["method"], "batch": row["batch"],
        "recovery": row["recovery"] or None, "lab_qualifiers": row["lab_qualifiers"], "review_qualifiers": row["review"] or "",
        "review_reasons": row["reasons"] or "",
        "chosen": chosen,
        "because": "" if chosen or row["rank"] is None
        else why_not(row["is_over_range"], row["is_rejected"], row["dilution"], row["chosen_dilution"], late=row["is_late"]),
        "decided_by_person": row["decision"] is not None,
        "source": {
            "deliverable": row["deliverable_id"], "file": row["file"], "sheet": row["sheet"], "row": row["row"],
            "column": row["column_letter"], "text": row["text"],
        },
    }  # fmt: skip
