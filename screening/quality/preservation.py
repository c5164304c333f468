"""Preservation: what the laboratory's remarks say of it, and the shorter time of volatiles in water that was not acidified.

A deliverable has no field for preservation; only a remark can tell.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from screening.quality.association import local_day
from screening.quality.editions import Edition
from screening.quality.findings import LATE, Checked, Finding, marked
from screening.quality.shown import counted, plain
from screening.quality.sorts import media_class, sorts_of

if TYPE_CHECKING:
    import duckdb

CHECK = "preservation"
NOT_PRESERVED = re.compile(
    r"\bun-?preserved\b|\bnot (properly )?(preserved|acidified)\b|\bunacidified\b|\bpH ?(>|above|over) ?2\b", re.IGNORECASE
)
"""Words of a remark that say that a sample was not preserved (common practice, no source)."""

PRESERVED = re.compile(r"\b(acid[- ]?)?preserved\b|\bacidified\b|\bpH ?(<|below|under) ?2\b", re.IGNORECASE)
"""Words of a remark that say that it was (common practice, no source)."""

_REMARKS = "SELECT DISTINCT comment FROM known WHERE class = 'result' AND comment <> ''"
_FOUND = f"""
SELECT row_id, sample_id, analyte, method, medium, detected, comment, date_diff('day', {local_day("sampled_at")}, {local_day("analysed_at")})
FROM known WHERE class = 'result' AND list_contains($remarks, comment) ORDER BY sample_id, analyte, row_id
"""
_KEPT = "SELECT DISTINCT sample_id FROM known WHERE class = 'result' AND list_contains($remarks, comment)"


def check_preservation(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Results whose remark says that they were not preserved. Reads ``known``."""
    done = Checked(CHECK)
    late, gross = edition.rule("unpreserved_days"), edition.rule("unpreserved_gross_days")
    all_remarks = [row[0] for row in connection.execute(_REMARKS).fetchall()]
    remarks = [remark for remark in all_remarks if NOT_PRESERVED.search(remark)]
    for row_id, sample, analyte, method, medium, detected, remark, days in connection.execute(
        _FOUND, {"remarks": remarks}
    ).fetchall():
        done.samples.add(sample)
        volatile = media_class(medium) == "water" and any("VOC" in way for way in sorts_of(analyte, method))
        rule = gross if volatile and days is not None and days > gross.needed() else late
        broken = volatile and days is not None and days > rule.needed()
        qualifier = marked(rule.action(detected=detected)) if broken else ""
        criterion = (
            f"at most {plain(rule.needed())} days for volatiles in water that was not acidified"
            if volatile
            else "preserved as the method asks"
        )
        action = "told: the holding time assumes a preserved sample"
        if broken:
            action = (
                "counts, marked as estimated"
                if detected
                else "rejected: takes no part in a pass"
                if qualifier == "rejected"
                else LATE
            )
        waited = f"; {days} days to analysis" if days is not None else "; no dates"
        done.findings.append(
            Finding(
                CHECK,
                sample,
                analyte,
                criterion,
                f"remark '{remark}'{waited}",
                action,
                qualifier,
                "not_preserved",
                rule.basis,
                (row_id,) if broken else (),
                late=broken and not detected,
            )
        )
    kept = [remark for remark in all_remarks if PRESERVED.search(remark) and remark not in remarks]
    done.samples |= {row[0] for row in connection.execute(_KEPT, {"remarks": kept}).fetchall()}
    if done.samples:
        done.looked_at = f"remarks on preservation of {counted(len(done.samples), 'sample')}"
    done.not_checkable.append("the deliverables hold no field for preservation (the laboratory's receipt record tells it)")
    return done
