"""Limits made again from the amounts taken: limit x amount taken x solids / (dilution x final volume) is the method's own.

It is the same for all samples of one method, within the printed figures of each limit. A sample for which it is not has a
limit that was not adjusted for its mass, volume, dilution or solids. The unit of amounts and volumes cancels; rows of
different units are not compared.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.normal.values import read_number
from screening.quality.dry import REPORTED_SOLIDS
from screening.quality.editions import Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.printed import Interval, common, printed
from screening.quality.sample_limits import Handling
from screening.quality.shown import counted, figures, plain

if TYPE_CHECKING:
    import duckdb

CHECK = "adjusted_limits"
FEWEST = 3
"""So many samples of one method must agree before another is said not to (own choice, no source)."""

_ROWS = f"""
SELECT k.delivery, k.method, k.analyte, k.basis, k.medium IN ('soil', 'sediment') AS is_solid, k.unit, k.row_id, k.sample_id, k.detected,
    k.nondetect_limit, coalesce(k.dilution, 1) AS dilution, coalesce(k.percent_solids, s.percent_solids) AS solids,
    coalesce(k.reporting_limit, k.quantitation_limit) AS bound,
    CASE WHEN k.reporting_limit IS NOT NULL THEN v.reporting_limit ELSE v.quantitation_limit END AS delivered_limit,
    v.amount_taken, v.final_volume
FROM delivered AS v JOIN known AS k USING (row_id) LEFT JOIN ({REPORTED_SOLIDS}) AS s USING (row_id)
WHERE v.amount_taken <> '' AND k.class = 'result' AND k.unit IN ('mg/kg', 'ug/L') AND k.fraction <> 'leachate'
ORDER BY k.delivery, k.method, k.analyte, k.sample_id, k.row_id
"""
_QUANTITY = re.compile(r"([\d.,]+) ?([A-Za-z]*)")


@dataclass(frozen=True)
class Made:
    """One row: its limit as an interval, and what the limit of the method would be with the solids and without."""

    row: dict[str, Any]
    handling: Handling
    limit: Interval

    @property
    def dry(self) -> Interval:
        """The interval of the method's limit, where solids were counted."""
        return _times_inverse(self.limit, self.handling)

    @property
    def wet(self) -> Interval:
        """The interval of the method's limit, where they were not."""
        return self.dry.times(100 / self.handling.percent_solids)


def recompute(connection: duckdb.DuckDBPyConnection, done: Checked, rule: Rule) -> None:
    """Add to ``done`` what limits and amounts taken say. Reads ``known`` and ``delivered``."""
    answer = connection.execute(_ROWS)
    names = [column[0] for column in answer.description or []]
    groups: dict[tuple[Any, ...], list[Made]] = defaultdict(list)
    unread = 0
    for values in answer.fetchall():
        row = dict(zip(names, values, strict=True))
        made = _made(row)
        if made is None:
            unread += 1
            continue
        units = tuple(_quantity(row[name])[1] for name in ("amount_taken", "final_volume"))
        key = (row["delivery"], row["method"], row["analyte"], row["basis"], row["unit"], *units, bool(row["final_volume"]))
        groups[key].append(made)
    unlike = 0
    for rows in groups.values():
        if len({one.row["sample_id"] for one in rows}) < 2:
            continue
        unlike += not _judge(done, rule, rows)
    if unread:
        done.not_checkable.append(
            f"{counted(unread, 'limit')} with an amount taken that cannot be made again: amount, solids or limit is missing"
        )
    if unlike:
        done.not_checkable.append(
            f"the limits of {counted(unlike, 'analyte')} follow no amount taken, so none can be told to be wrong"
        )


def _judge(done: Checked, rule: Rule, rows: Sequence[Made]) -> bool:
    """Findings of one analyte by one method; False where nothing can be told."""
    if common([one.dry for one in rows]) is not None:
        done.samples |= {one.row["sample_id"] for one in rows}
        return True
    is_dry = rows[0].row["is_solid"] and rows[0].row["basis"] == "dry"
    if is_dry and (base := common([one.wet for one in rows])) is not None:
        done.findings += [_apart(rule, one, base.high, "percent solids") for one in rows]
        done.samples |= {one.row["sample_id"] for one in rows}
        return True
    most = max(([other for other in rows if other.dry.meets(one.dry)] for one in rows), key=len)
    base = common([one.dry for one in most])
    if base is None or len(most) < max(FEWEST, len(rows) * 2 // 3):
        return False
    done.findings += [_apart(rule, one, base.high, "amount taken, solids or dilution") for one in rows if not base.meets(one.dry)]
    done.samples |= {one.row["sample_id"] for one in rows}
    return True


def _apart(rule: Rule, one: Made, base: Decimal, what: str) -> Finding:
    """A limit that is not the sample's own; ``base`` is the method's limit that the others agree on, at its highest."""
    row, unit = one.row, one.row["unit"]
    wanted = (base * one.handling.factor).quantize(Decimal(1).scaleb(-18))
    below = wanted > row["bound"]
    action = rule.action(detected=row["detected"]) if below else "none"
    concerned = bool(marked(action)) and not row["detected"]
    solids = f", {plain(row['solids'])} % solids" if row["is_solid"] else ""
    volume = f", final volume {row['final_volume']}" if row["final_volume"] else ""
    told = f"{ACTIONS[action]}; open where a level lies below {figures(wanted)} {unit}" if concerned else "ask the laboratory"
    return Finding(
        CHECK, row["sample_id"], row["analyte"], f"the limit follows {what} as those of the other samples do",
        f"{plain(row['bound'])} {unit} where {figures(wanted)} is expected (amount {row['amount_taken']}{volume}, dilution "
        f"{plain(row['dilution'])}{solids})",
        told, marked(action) if concerned else "", "limit_unadjusted", rule.basis, (row["row_id"],) if concerned else (),
        limit=wanted if concerned else None,
    )  # fmt: skip


def _made(row: dict[str, Any]) -> Made | None:
    amount, volume = _quantity(row["amount_taken"])[0], _quantity(row["final_volume"])[0] if row["final_volume"] else Decimal(1)
    limit = read_number(row["delivered_limit"] or "", ".").number
    solids = row["solids"] if row["is_solid"] and row["basis"] == "dry" else Decimal(100)
    if not amount or not volume or not limit or not row["bound"] or solids is None:
        return None
    handling = Handling(dilution=row["dilution"], amount_taken=amount, final_volume=volume, percent_solids=solids)
    return Made(row, handling, printed(limit).times(row["bound"] / limit))


def _quantity(text: str) -> tuple[Decimal | None, str]:
    match = _QUANTITY.fullmatch(text.strip())
    return (read_number(match[1], ".").number, match[2].lower()) if match else (None, "")


def _times_inverse(limit: Interval, handling: Handling) -> Interval:
    return limit.times(1 / handling.factor)
