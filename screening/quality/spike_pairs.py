"""Pairs of matrix spikes and of control samples: how far the two of a pair lie apart, by amount or by recovery.

Amounts go first. Where the two were spiked unlike, their amounts must differ, so recoveries are compared instead (common
practice, no source); recoveries stand as well where amounts are not delivered. The laboratory's own limit of the relative
difference goes before the edition's; where two limits are stated, the lower one stands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.association import OF_BATCH, OF_PARENT, reached, samples_reached
from screening.quality.duplicates import OWN_LIMIT, criterion_of, own_limit
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.pairs import relative_difference
from screening.quality.recoveries import Recovery, number, percent_of, recoveries
from screening.quality.shown import beside, counted, figures, marked_results, plain

if TYPE_CHECKING:
    import duckdb

PAIRS = {
    "matrix_spike_duplicate": ("matrix_spike", "matrix spike", OF_PARENT),
    "lab_control_duplicate": ("lab_control", "control sample", OF_BATCH),
}
"""The second of a pair: the first, its name, and the results it speaks for."""


def check_spike_pairs(connection: duckdb.DuckDBPyConnection, edition: Edition) -> list[Checked]:
    """One check a kind of pair. Reads ``known``."""
    return [_check(connection, edition, kind) for kind in PAIRS]


def _check(connection: duckdb.DuckDBPyConnection, edition: Edition, kind: str) -> Checked:
    first, words, reach = PAIRS[kind]
    done = Checked(kind)
    ones, twos = recoveries(connection, (first,)), recoveries(connection, (kind,))
    if not twos:
        done.not_checkable.append(f"the deliverables hold no second {words}")
        return done
    pairs = _paired(ones, twos)
    by_amount = by_recovery = bare = owned = 0
    apart, held = [], []
    for one, two in pairs:
        rule = criterion_of(edition, kind, two.more["medium"])
        measured = _measured(one, two)
        if rule is None or measured is None:
            bare += 1
            continue
        held.append(two.row_id)
        what, a, b = measured
        by_amount, by_recovery = by_amount + (what == "amounts"), by_recovery + (what == "recoveries")
        allowed = own_limit(one.more["rpd_limit"], two.more["rpd_limit"])
        owned += allowed is not None
        limit = allowed if allowed is not None else rule.needed("rpd_above")
        if a + b and abs(a - b) * 200 > limit * (a + b):
            apart.append((one, two, measured, rule, limit, allowed is not None))
    done.samples |= samples_reached(connection, reach, held)
    rows = reached(connection, reach, [two.row_id for _, two, *_ in apart])
    for one, two, measured, rule, limit, is_own in apart:
        done.findings += _apart(kind, words, one, two, measured, rule, rows[two.row_id], limit, owned=is_own)
    by_lab = f", {owned} against the laboratory's own limit" if owned else ""
    done.looked_at = (
        f"{counted(by_amount + by_recovery, 'pair')} of {words}s ({by_amount} by amounts, {by_recovery} by recoveries{by_lab})"
    )
    if bare:
        done.not_checkable.append(
            f"{counted(bare, 'pair')} of {words}s {'states' if bare == 1 else 'state'} neither two amounts nor two recoveries"
        )
    if len(pairs) < len(twos):
        done.not_checkable.append(f"{len(twos) - len(pairs)} of {len(twos)} second {words}s have no first one that can be told")
    return done


def _paired(ones: Sequence[Recovery], twos: Sequence[Recovery]) -> list[tuple[Recovery, Recovery]]:
    """Each second with its first: the only one of its analyte, batch and run, or the one of the same sample."""
    firsts: dict[tuple[Any, ...], list[Recovery]] = defaultdict(list)
    seconds: dict[tuple[Any, ...], list[Recovery]] = defaultdict(list)
    for group, rows in ((firsts, ones), (seconds, twos)):
        for row in rows:
            group[_series(row)].append(row)
    pairs = []
    for series, later in seconds.items():
        earlier = firsts.get(series, [])
        for two in later:
            same = [one for one in earlier if _sample(one) == _sample(two)]
            chosen = earlier if len(earlier) == len(later) == 1 else same
            if len(chosen) == 1:
                pairs.append((chosen[0], two))
    return pairs


def _series(row: Recovery) -> tuple[Any, ...]:
    return (row.analyte, row.more["fraction"], row.batch, row.method, row.more["dilution"], row.more["unit"])


def _sample(row: Recovery) -> str:
    return str(row.more["parent_sample"] or row.sample_id)


def _measured(one: Recovery, two: Recovery) -> tuple[str, Decimal, Decimal] | None:
    amounts = [side.more["value"] if side.more["detected"] else None for side in (one, two)]
    percents = [side.percent for side in (one, two)]
    unlike = _spiked_unlike(one, two)
    if amounts[0] is not None and amounts[1] is not None and one.more["unit"] != "percent" and not unlike:
        return ("amounts", amounts[0], amounts[1])
    if percents[0] is not None and percents[1] is not None:
        return ("recoveries", percents[0], percents[1])
    return None


def _spiked_unlike(one: Recovery, two: Recovery) -> bool:
    """Whether two different amounts are stated as added."""
    first, second = number(one.more["spike_amount"]), number(two.more["spike_amount"])
    return first is not None and second is not None and first != second


def _apart(
    kind: str, words: str, one: Recovery, two: Recovery, measured: tuple[str, Decimal, Decimal], rule: Rule,
    rows: Sequence[Sequence[Any]], limit: Decimal, *, owned: bool,
) -> list[Finding]:  # fmt: skip
    what, a, b = measured
    unit = one.more["unit"] if what == "amounts" else "%"
    whose = "the laboratory's limit" if owned else "the edition's limit"
    criterion = f"relative difference of two {words}s at most {plain(limit)} % ({whose}), by {what}"
    sides = f"{plain(a)} and {plain(b)}" if what == "amounts" else f"{percent_of(one)} and {percent_of(two)}"
    observed = f"{sides} {unit}: {beside(relative_difference(a, b), limit)} %"
    if what == "recoveries":
        if _spiked_unlike(one, two):
            criterion += ", as the two were spiked unlike"
        elif None in (number(one.more["spike_amount"]), number(two.more["spike_amount"])):
            criterion += "; comparable only where both were spiked alike"
    elif one.percent is not None and two.percent is not None and one.percent + two.percent:
        observed += f" (by recoveries {figures(relative_difference(one.percent, two.percent))} %)"
    reason, basis = f"{kind}s_differ", OWN_LIMIT.with_(rule.basis) if owned else rule.basis
    made = []
    for row_id, sample, analyte, detected in (row[:4] for row in rows):
        action = rule.action(detected=detected)
        if marked(action):
            made.append(
                Finding(kind, sample, analyte, criterion, observed, ACTIONS[action], marked(action), reason, basis, (row_id,))
            )
    told = marked_results(len(made))
    own = Finding(kind, two.sample_id, two.analyte, criterion, observed, told, "", reason, basis)
    return [own, *made]
