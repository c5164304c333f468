"""Pairs of matrix spikes and of control samples: how far the two of a pair lie apart, by amount or by recovery."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from screening.quality.controls import OF_BATCH, OF_PARENT
from screening.quality.duplicates import criterion_of
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.pairs import relative_difference
from screening.quality.recoveries import Recovery, recoveries
from screening.quality.shown import figures, plain

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
    by_amount = by_recovery = bare = 0
    for one, two in pairs:
        rule = criterion_of(edition, kind, two.more["medium"])
        measured = _measured(one, two)
        if rule is None or measured is None:
            bare += 1
            continue
        what, a, b = measured
        by_amount, by_recovery = by_amount + (what == "amounts"), by_recovery + (what == "recoveries")
        rows = connection.execute(reach, {"row": two.row_id}).fetchall()
        done.samples |= {row[1] for row in rows}
        if a + b and abs(a - b) * 200 > rule.needed("rpd_above") * (a + b):
            done.findings += _apart(kind, words, one, two, (what, a, b), rule, rows)
    done.looked_at = f"{by_amount + by_recovery} pairs of {words}s ({by_amount} by amounts, {by_recovery} by recoveries)"
    if bare:
        done.not_checkable.append(f"{bare} pairs of {words}s state neither two amounts nor two recoveries")
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


def _measured(one: Recovery, two: Recovery) -> tuple[str, Any, Any] | None:
    amounts = [side.more["value"] if side.more["detected"] else None for side in (one, two)]
    if None not in amounts and one.more["unit"] != "percent":
        return ("amounts", amounts[0], amounts[1])
    if one.percent is not None and two.percent is not None:
        return ("recoveries", one.percent, two.percent)
    return None


def _apart(
    kind: str, words: str, one: Recovery, two: Recovery, measured: tuple[str, Any, Any], rule: Rule, rows: Sequence[Sequence[Any]]
) -> list[Finding]:
    what, a, b = measured
    unit = one.more["unit"] if what == "amounts" else "%"
    spiked = "" if what == "amounts" else "; comparable only where both were spiked alike"
    criterion = f"relative difference of two {words}s at most {rule['rpd_above']} %, by {what}{spiked}"
    observed = f"{plain(a)} and {plain(b)} {unit}: {figures(relative_difference(a, b))} %"
    reason = f"{kind}s_differ"
    made = []
    for row_id, sample, analyte, detected in (row[:4] for row in rows):
        action = rule.action(detected=detected)
        if marked(action):
            made.append(
                Finding(
                    kind, sample, analyte, criterion, observed, ACTIONS[action], marked(action), reason, rule.basis, (row_id,)
                )
            )
    own = Finding(
        kind, two.sample_id, two.analyte, criterion, observed, f"{len(made)} result{'' if len(made) == 1 else 's'} marked", "", reason, rule.basis,
    )  # fmt: skip
    return [own, *made]
