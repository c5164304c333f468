"""Recoveries: control samples, matrix spikes and surrogates against the laboratory's own limits, or the edition's.

The laboratory's limits go first; the edition's percentages stand where it states none, and its floor always. A control
sample without a recovery but with the amounts found and added has the one of the two.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from typing import TYPE_CHECKING, Any

from screening.normal.values import read_number
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.shown import counted, marked_results, plain
from screening.quality.sorts import is_inorganic
from screening.vocabulary.units import read_unit

if TYPE_CHECKING:
    import duckdb

CONTROLS = ("lab_control", "lab_control_duplicate")
_WIDE = Context(prec=28)
_RANGE = re.compile(r"(\d+(?:\.\d+)?) ?%? ?[-–] ?(\d+(?:\.\d+)?) ?%?")
_ROWS = """
SELECT k.row_id, k.sample_id, k.sample_kind, k.analyte, k.method, k.batch, k.recovery, k.recovery_low, k.recovery_high, k.unit,
    k.medium, k.spike_amount, v.rpd_limit, v.unit AS delivered_unit, k.dilution, k.parent_sample, k.lab_sample_id, k.detected, k.value, k.fraction
FROM known AS k JOIN delivered AS v USING (row_id)
WHERE list_contains($kinds, k.sample_kind) ORDER BY k.sample_id, k.analyte, k.dilution, k.row_id
"""


@dataclass(frozen=True)
class Recovery:
    """One recovery with the limits stated beside it; a number is None where it is not stated or cannot be read.

    ``below`` is true where the recovery is stated as less than the number (``<10``).
    """

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
    below: bool = False


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
        low, high = _limits(row["recovery_low"], row["recovery_high"])
        made.append(
            Recovery(
                row["row_id"], row["sample_id"], row["sample_kind"], row["analyte"], row["method"], row["batch"], _percent(row), low, high,
                row, row["recovery"].strip().startswith("<"),
            )
        )  # fmt: skip
    return made


def added(more: Mapping[str, Any]) -> Decimal | None:
    """The amount added in the normal unit; None where it is not stated."""
    stated = read_number(more["spike_amount"], ".")
    amount = stated.number
    if amount is None or stated.problem is not None:
        return None
    unit = read_unit(more["delivered_unit"], more["medium"] or None)
    return None if unit.problem or unit.unit != more["unit"] else unit.convert(amount)


def _percent(row: Mapping[str, Any]) -> Decimal | None:
    stated = number(row["recovery"])
    if stated is not None or row["recovery"].strip() or row["sample_kind"] not in CONTROLS or not row["detected"]:
        return stated
    amount = added(row)
    return _WIDE.divide(row["value"] * 100, amount) if amount and row["value"] is not None else None


def _limits(low: str, high: str) -> tuple[Decimal | None, Decimal | None]:
    """Both limits; of a range written into one cell ("70-130") its two ends."""
    one, two = number(low), number(high)
    both = next((found for text in (low, high) if (found := _RANGE.fullmatch(text.strip()))), None)
    if both is not None and one is None and two is None:
        return Decimal(both[1]), Decimal(both[2])
    return one, two


def outside(edition: Edition, kind: str, one: Recovery) -> Outside | None:
    """What a recovery breaks: the floor, the lower limit, the upper limit, or nothing. A recovery at its limit keeps it."""
    if one.percent is None:
        return None
    sort = "inorganic" if is_inorganic(one.analyte, one.method) else "organic"
    rules = {
        rule["when"]: rule for rule in edition.rules("recoveries") if rule["kind"] == kind and rule["substances"] in ("any", sort)
    }
    floor, lower, upper = rules.get("below_floor"), rules.get("below_lower"), rules.get("above_upper")
    if floor is not None and _under(one, floor.needed("percent")):
        return Outside(floor, f"not below {floor['percent']} %", True)
    for rule, limit, is_low in ((lower, one.low, True), (upper, one.high, False)):
        if rule is None:
            continue
        own, percent = limit is not None, limit if limit is not None else rule.number("percent")
        if percent is not None and (_under(one, percent) if is_low else one.percent > percent):
            whose = "the laboratory's limit" if own else "the edition's limit, the laboratory states none"
            return Outside(rule, f"{'not below' if is_low else 'not above'} {plain(percent)} % ({whose})", is_low)
    return None


def _under(one: Recovery, limit: Decimal) -> bool:
    return one.percent is not None and (one.percent < limit or (one.below and one.percent <= limit))


def has_limits(edition: Edition, kind: str, one: Recovery) -> bool:
    """Whether both limits are known, the laboratory's or the edition's."""
    sort = "inorganic" if is_inorganic(one.analyte, one.method) else "organic"
    stated = {
        rule["when"]
        for rule in edition.rules("recoveries")
        if rule["kind"] == kind and rule["substances"] in ("any", sort) and rule["percent"]
    }
    return (one.low is not None or "below_lower" in stated) and (one.high is not None or "above_upper" in stated)


def percent_of(one: Recovery) -> str:
    """The recovery as delivered, or to a tenth of a percent where it was worked out."""
    assert one.percent is not None
    shown = plain(one.percent if one.more["recovery"].strip() else one.percent.quantize(Decimal(1).scaleb(-1)))
    return f"{'<' if one.below else ''}{shown}"


def spoken_for(
    check: str, one: Recovery, broken: Outside, rows: Sequence[Sequence[Any]], extra: str = "", *, unsure: bool = False
) -> list[Finding]:
    """A finding for the recovery itself, and one for each sample and analyte that it speaks for.

    Where it is ``unsure`` whether the recovery means anything, no result is rejected because of it.
    """
    name = check.replace("_", " ")
    at = f" of {one.analyte}" if check == "surrogate" else ""
    observed = f"recovery{at} {percent_of(one)} % in {one.sample_id}{extra}"
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
    action = marked_results(len(made))
    if not rows:
        action = "none of the results delivered belongs to it"
    own = Finding(
        check, one.sample_id, one.analyte, f"{name} recovery {broken.criterion}", f"recovery {percent_of(one)} %{extra}", action, "",
        f"{check}_{'low' if broken.is_low else 'high'}", broken.rule.basis,
    )  # fmt: skip
    return [own, *made]


def told(done: Checked, edition: Edition, kind: str, found: Sequence[Recovery], words: str) -> None:
    """What was looked at and what could not be, into ``done``."""
    read = [one for one in found if one.percent is not None]
    if not found:
        done.not_checkable.append(f"the deliverables hold no {words}")
        return
    done.looked_at = f"{counted(len(read), 'recovery', 'recoveries')} of {words}s" if read else ""
    if len(read) < len(found):
        done.not_checkable.append(f"{len(found) - len(read)} of {len(found)} {words} rows state no recovery that can be read")
    bare = sum(not has_limits(edition, kind, one) for one in read)
    if bare:
        done.not_checkable.append(
            f"{bare} of {counted(len(read), f'{words} recovery', f'{words} recoveries')} {'comes' if bare == 1 else 'come'} without both "
            "limits: only what is stated and the edition's fixed percentages were held against them"
        )
