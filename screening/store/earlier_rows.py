"""Rows taken, kept or rejected before that a newly taught name or word would read otherwise. They are told, not changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from screening.normal.values import read_reported
from screening.store.taught import is_same_text
from screening.vocabulary.headings import FIELDS
from screening.vocabulary.qualifiers import read_qualifiers

if TYPE_CHECKING:
    import duckdb

SETTLED = """
SELECT d.id, d.file, v.sheet, v.row, v.sample_id, v.analyte, v.class, coalesce(r.analyte, ''), v.result, v.qualifiers, v.{field},
    (SELECT arg_max(CASE c.kind WHEN 'held_rejected' THEN 'rejected' ELSE 'accepted as ' || c.new_text END, c.number)
     FROM held AS h JOIN decision AS c ON c.subject = h.id
     WHERE h.row_id = v.row_id AND h.field = $field AND c.kind IN ('held_accepted', 'held_rejected'))
FROM delivered AS v
JOIN deliverable AS d ON d.number = v.deliverable
LEFT JOIN result AS r ON r.row_id = v.row_id
WHERE ($all_sites OR d.site = $site) AND ($deliverable = '' OR d.id = $deliverable)
  AND v.class IN ('quality_control', 'held') AND NOT list_contains($answered, v.row_id)
ORDER BY v.row_id
"""


def read_otherwise(
    connection: duckdb.DuckDBPyConnection, site: str, of_field: str, text: str, value: str, *,
    answered: list[int], deliverable: str = "", all_sites: bool = False,
) -> list[dict[str, Any]]:  # fmt: skip
    """Rows with the same text in a field that stand otherwise: quality control kept as delivered, rows accepted as
    something else or rejected. ``deliverable`` keeps to one (qualifiers); ``answered`` are the rows of this act."""
    if of_field not in FIELDS:
        return []
    rows = connection.execute(
        SETTLED.format(field=of_field),
        {"field": of_field, "site": site, "all_sites": all_sites, "deliverable": deliverable, "answered": answered},
    ).fetchall()
    found = []
    for identity, file, sheet, row, sample, analyte, kind, read_as, result, qualifiers, delivered, decided in rows:
        if of_field == "qualifiers":
            inside = read_reported(result).letters
            same = bool(set(text.upper().split(", ")) & set(read_qualifiers(f"{inside} {qualifiers}").unknown))
        else:
            same = bool(delivered) and is_same_text(of_field, delivered, text)
        now = "quality control, kept as delivered" if kind == "quality_control" else decided
        right = read_as == value if of_field == "analyte" else decided == f"accepted as {value}"
        if same and now is not None and not right:
            found.append(
                {
                    "deliverable": identity,
                    "file": file,
                    "sheet": sheet,
                    "row": row,
                    "sample_id": sample,
                    "analyte": analyte,
                    "now": now,
                }
            )
    return found
