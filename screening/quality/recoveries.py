"""Recoveries: control samples, matrix spikes and surrogates against the laboratory's own limits, or the edition's.

The laboratory's limits go first; the edition's percentages stand where it states none, and its floor always.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.normal.values import read_number
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.shown import plain
from screening.quality.sorts import is_inorganic

if TYPE_CHECKING:
    import duckdb

_ROWS = """
SELECT k.row_id, k.sample_id, k.sample_kind, k.analyte, k.method, k.batch, k.recovery, k.recovery_low, k.recovery_high, k.unit,
    k.medium, k.spike_amount, v.unit AS delivered_unit, k.dilution, k.parent_sample, k.lab_sample_id, k.detected, k.value, k.fraction
FROM known AS k JOIN delivered AS v USING (row_id)
WHERE list_contains($kinds, k.sample_kind) ORDER BY k.sample_id, k.analyte, k.dilution, k.row_id
"""


@dataclass(frozen=True)
class Recovery:
    """One recovery with the limits stated beside it; a number is None where it is not stated or cannot be read."""

    row_id: int
    sample_id: str
    kind: str
    analyte: str
    method: str
    batch: str
    percent: Decimal | None
    low: Decimal | None
    high: Decimal | None
    more: Mapping[str, Any]


@dataclass(frozen=True)
class Outside:
    """A recovery outside its limits: the criterion broken and its words."""

    rule: Rule
    criterion: str
    is_low: bool


def number(text: str) -> Decimal | None:
    """A delivered percentage; None where it is blank or no number."""
    return read_number(text, ".").number if text.strip() else None


def recoveries(connection: duckdb.DuckDBPyConnection, kinds: Sequence[str]) -> list[Recovery]:
    """The recoveries of these sample kinds. Reads ``known``."""
    answer = connection.execute(_ROWS, {"kinds": list(kinds)})
    names = [column[0] for column in answer.description or []]
    made = []
    for values in answer.fetchall():
        row = dict(zip(names, values, strict=True))
        made.append(
            Recovery(
                row["row_id"],
                row["sample_id"],
                row["sample_kind"],
                row["analyte"],
                row["method"],
                row["batch"],
                number(row["recovery"]),
                number(row["recovery_low"]),
                number(row["recovery_high"]),
                row,
            )
        )
    return made


def outside(edition: Edition, kind: str, one: Recovery) -> Outside | None:
    """What a recovery breaks: the floor, the lower limit, the upper limit, or nothing. A recovery at its limit keeps it."""
    if one.percent is None:
        return None
    sort = "inorganic" if is_inorganic(one.analyte, one.method) else "organic"
    rules = {
        rule["when"]: rule for rule in edition.rules("recoveries") if rule["kind"] == kind and rule["substances"] in ("any", sort)
    }
    floor, lower, upper = rules.get("below_floor"), rules.get("below_lower"), rules.get("above_upper")
    if floor is not None and one.percent < floor.needed("percent"):
        return Outside(floor, f"not below {floor['percent']} %", True)
    for rule, limit, is_low in ((lower, one.low, True), (upper, one.high, False)):
        if rule is None:
            continue
        own, percent = limit is not None, limit if limit is not None else rule.number("percent")
        if percent is not None and (one.percent < percent if is_low else one.percent > percent):
            whose = "the laboratory's limit" if own else "the edition's limit, the laboratory states none"
            return Outside(rule, f"{'not below' if is_low else 'not above'} {plain(percent)} % ({whose})", is_low)
    return None


def has_limits(edition: Edition, kind: str, one: Recovery) -> bool:
    """Whether both limits are known, the laboratory's or the edition's."""
    sort = "inorganic" if is_inorganic(one.analyte, one.method) else "organic"
    stated = {
        rule["when"]
        for rule in edition.rules("recoveries")
        if rule["kind"] == kind and rule["substances"] in ("any", sort) and rule["percent"]
    }
    return (one.low is not None or "below_lower" in stated) and (one.high is not None or "above_upper" in stated)


def spoken_for(
    check: str, one: Recovery, broken: Outside, rows: Sequence[Sequence[Any]], extra: str = "", *, unsure: bool = False
) -> list[Finding]:
    """A finding for the recovery itself, and one for each sample and analyte that it speaks for.

    Where it is ``unsure`` whether the recovery means anything, no result is rejected because of it.
    """
    name = check.replace("_", " ")
    at = f" of {one.analyte}" if check == "surrogate" else ""
    assert one.percent is not None
    observed = f"recovery{at} {plain(one.percent)} % in {one.sample_id}{extra}"
    made = []
    for row_id, sample, analyte, detected in rows:
        action = broken.rule.action(detected=detected)
        action = "estimated" if unsure and action == "rejected" else action
        if marked(action):
            made.append(
                Finding(
                    check,
                    sample,
                    analyte,
                    f"{name} recovery {broken.criterion}",
                    observed,
                    ACTIONS[action],
                    marked(action),
                    f"{check}_{'low' if broken.is_low else 'high'}",
                    broken.rule.basis,
                    (row_id,),
                )
            )
    action = f"{len(made)} result{'' if len(made) == 1 else 's'} marked"
    if not rows:
        action = "none of the results delivered belongs to it"
    own = Finding(
        check, one.sample_id, one.analyte, f"{name} recovery {broken.criterion}", f"recovery {plain(one.percent)} %{extra}", action, "",
        f"{check}_{'low' if broken.is_low else 'high'}", broken.rule.basis,
    )  # fmt: skip
    return [own, *made]


def told(done: Checked, edition: Edition, kind: str, found: Sequence[Recovery], words: str) -> None:
    """What was looked at and what could not be, into ``done``."""
    read = [one for one in found if one.percent is not None]
    if not found:
        done.not_checkable.append(f"the deliverables hold no {words}")
        return
    done.looked_at = f"{len(read)} recoveries of {words}s"
    if len(read) < len(found):
        done.not_checkable.append(f"{len(found) - len(read)} of {len(found)} {words} rows state no recovery")
    bare = sum(not has_limits(edition, kind, one) for one in read)
    if bare:
        done.not_checkable.append(
            f"{bare} of {len(read)} {words} recoveries come without limits: only the edition's fixed percentages were held against them"
        )
