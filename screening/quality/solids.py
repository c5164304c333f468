"""Percent solids: results of solids that were mostly water."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.quality.editions import Edition
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.shown import counted, plain

if TYPE_CHECKING:
    import duckdb

CHECK = "percent_solids"

_SOLIDS = """
WITH own AS (
    SELECT sample_id, max(CASE WHEN analyte = 'Percent solids' THEN value ELSE 100 - value END) AS solids
    FROM known WHERE class = 'result' AND analyte IN ('Percent solids', 'Percent moisture') AND value > 0 AND value < 100
    GROUP BY sample_id
)
SELECT k.sample_id, k.analyte, coalesce(k.percent_solids, o.solids) AS solids, k.detected, list(k.row_id ORDER BY k.row_id)
FROM known AS k LEFT JOIN own AS o USING (sample_id)
WHERE k.class = 'result' AND k.medium IN ('soil', 'sediment') AND k.unit = 'mg/kg' AND k.fraction <> 'leachate'
  AND coalesce(k.percent_solids, o.solids) < CAST($most AS DECIMAL(38, 18))
GROUP BY ALL ORDER BY k.sample_id, k.analyte, k.detected
"""
_SAMPLES = """
SELECT k.sample_id, bool_or(k.percent_solids IS NOT NULL OR k.analyte IN ('Percent solids', 'Percent moisture'))
FROM known AS k WHERE k.class = 'result' AND k.medium IN ('soil', 'sediment') GROUP BY k.sample_id
"""


def check_solids(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Solids below the floors of the edition. Reads ``known``."""
    done = Checked(CHECK)
    floors = sorted(edition.rules("solids"), key=lambda rule: rule.needed("below"))
    most = str(floors[-1].needed("below")) if floors else "0"
    for sample, analyte, solids, detected, rows in connection.execute(_SOLIDS, {"most": most}).fetchall():
        rule = next(rule for rule in floors if solids < rule.needed("below"))
        action = rule.action(detected=detected)
        done.findings.append(
            Finding(
                CHECK,
                sample,
                analyte,
                f"not below {rule['below']} % solids",
                f"{plain(solids)} % solids",
                ACTIONS[action],
                marked(action),
                "wet_solid",
                rule.basis,
                tuple(rows) if marked(action) else (),
            )
        )
    samples = connection.execute(_SAMPLES).fetchall()
    done.samples = {sample for sample, given in samples if given}
    if not samples:
        done.not_checkable.append("the deliverables hold no solid")
    elif not done.samples:
        done.not_checkable.append("the deliverables hold no percent solids")
    else:
        done.looked_at = f"percent solids of {counted(len(done.samples), 'sample')}"
        if len(done.samples) < len(samples):
            done.not_checkable.append(f"{len(samples) - len(done.samples)} of {len(samples)} solids come without percent solids")
    return done
