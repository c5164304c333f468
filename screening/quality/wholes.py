"""Wholes and their parts: dissolved against total, isomers and parts against their sum, species against their total."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.quality.editions import Edition
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.printed import half_unit
from screening.quality.shown import counted, plain
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb

_LIMIT = "coalesce({0}.reporting_limit, {0}.quantitation_limit, {0}.nondetect_limit)"
_FRACTIONS = f"""
SELECT t.sample_id, t.analyte, t.unit, t.row_id, t.detected, t.value, {_LIMIT.format("t")}, d.row_id, d.detected, d.value, {_LIMIT.format("d")}
FROM ranked AS t
JOIN ranked AS d
    ON d.rank = 1 AND d.fraction = 'dissolved' AND d.sample_id = t.sample_id AND d.sample_kind = t.sample_kind AND d.analyte = t.analyte
    AND d.location = t.location AND d.medium = t.medium AND d.unit = t.unit AND d.depth_top IS NOT DISTINCT FROM t.depth_top
WHERE t.rank = 1 AND t.fraction IN ('total', '')
ORDER BY t.sample_id, t.analyte, t.row_id
"""
_WANTED = """
SELECT sample_id, sample_kind, location, medium, depth_top, fraction, unit, analyte, row_id, detected, value, nondetect_limit, value_text, sign
FROM ranked
WHERE rank = 1 AND sample_id IN (SELECT sample_id FROM ranked WHERE rank = 1 AND list_contains($wholes, analyte))
  AND list_contains($names, analyte) AND unit IN ('mg/kg', 'ug/L')
ORDER BY ALL
"""


@dataclass(frozen=True)
class Amount:
    """One reported amount: its bounds and half a unit of its last printed figure."""

    analyte: str
    row_id: int
    detected: bool
    lower: Decimal
    upper: Decimal | None
    slack: Decimal
    unit: str


def check_fractions(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Dissolved amounts above the total of the same sample. Reads ``ranked``."""
    done = Checked("total_and_dissolved")
    percent, times = edition.rule("below_dissolved_percent"), edition.rule("below_dissolved_times")
    high = edition.rule("high_times_limit").needed()
    bare = 0
    for row in connection.execute(_FRACTIONS).fetchall():
        sample, analyte, unit = row[:3]
        total, dissolved = (row[5] if row[4] else row[6]), (row[9] if row[8] else row[10])
        if None in (total, dissolved, row[6], row[10]):
            bare += 1
            continue
        done.samples.add(sample)
        both_high = row[4] and row[8] and total > high * row[6] and dissolved > high * row[10]
        if both_high:
            rule, broken = percent, dissolved * 100 > total * (100 + percent.needed())
            criterion = f"dissolved at most {percent['number']} % above total (both above {plain(high)} times their limit)"
        else:
            allowed = times.needed() * max(row[6], row[10])
            rule, broken = times, dissolved - total > allowed
            criterion = f"dissolved at most {plain(allowed)} {unit} above total ({times['number']} times the higher limit)"
        if not broken:
            continue
        observed = f"dissolved {'' if row[8] else '<'}{plain(dissolved)}, total {'' if row[4] else '<'}{plain(total)} {unit}"
        for row_id, detected in ((row[3], row[4]), (row[7], row[8])):
            action = rule.action(detected=detected)
            done.findings.append(
                Finding(
                    done.check,
                    sample,
                    analyte,
                    criterion,
                    observed,
                    ACTIONS[action],
                    marked(action),
                    "dissolved_above_total",
                    rule.basis,
                    (row_id,) if marked(action) else (),
                )
            )
    if done.samples:
        done.looked_at = f"dissolved and total amounts of {counted(len(done.samples), 'sample')}"
    else:
        done.not_checkable.append("the deliverables hold no analyte both total and dissolved")
    if bare:
        done.not_checkable.append(f"{bare} pairs of total and dissolved come without a limit")
    return done


def check_sums(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Sums with their isomers or parts, and totals with their species, within the printed figures. Reads ``ranked``."""
    done, rule = Checked("sums"), edition.rule("parts_above_total")
    vocabulary = Vocabulary.load()
    sums = dict(vocabulary.sums())
    species = {item.name: item.species_of for item in vocabulary if item.species_of}
    names = {*sums, *(part for ways in sums.values() for way in ways for part in way), *species, *species.values()}
    for sample, amounts in _by_sample(connection, sorted(names), sorted({*sums, *species})).items():
        for total, alternatives in sums.items():
            for parts in alternatives:
                if total in amounts and all(part in amounts for part in parts):
                    done.samples.add(sample[0])
                    found = _disagree(amounts[total], [amounts[part] for part in parts])
                    if found:
                        done.findings += _told(done.check, rule, sample[0], [amounts[total]], found, "parts_and_sum")
        for one, whole in species.items():
            if one in amounts and whole in amounts:
                done.samples.add(sample[0])
                found = _above(amounts[whole], [amounts[one]])
                if found:
                    done.findings += _told(
                        done.check, rule, sample[0], [amounts[whole], amounts[one]], found, "species_above_total"
                    )
    if done.samples:
        done.looked_at = f"sums and their parts in {counted(len(done.samples), 'sample')}"
    else:
        done.not_checkable.append("the deliverables hold no sum together with all its parts")
    return done


def _by_sample(
    connection: duckdb.DuckDBPyConnection, names: Sequence[str], wholes: Sequence[str]
) -> Mapping[tuple[Any, ...], dict[str, Amount]]:
    found: dict[tuple[Any, ...], dict[str, Amount]] = {}
    for row in connection.execute(_WANTED, {"names": list(names), "wholes": list(wholes)}).fetchall():
        analyte, row_id, detected, value, limit, text, sign = row[7:]
        upper = (value if not sign else None) if detected else limit
        lower = value if detected and value is not None else Decimal(0)
        found.setdefault(tuple(row[:7]), {})[analyte] = Amount(
            analyte, row_id, detected, lower, upper, half_unit(Decimal(text)) if text else Decimal(0), row[6]
        )
    return found


def _above(total: Amount, parts: Sequence[Amount]) -> str:
    """The words for parts that add up to more than the total; '' where they do not."""
    least = sum((part.lower for part in parts), Decimal(0))
    slack = sum((part.slack for part in parts), total.slack)
    if total.upper is None or least <= total.upper + slack:
        return ""
    return f"{_words(parts)} add up to {plain(least)}, {_words([total])}, {total.unit}"


def _disagree(total: Amount, parts: Sequence[Amount]) -> str:
    uppers = [part.upper for part in parts]
    slack = sum((part.slack for part in parts), total.slack)
    if all(upper is not None for upper in uppers):
        most = sum((upper for upper in uppers if upper is not None), Decimal(0))
        if total.lower > most + slack:
            return f"{_words(parts)} add up to at most {plain(most)}, {_words([total])}, {total.unit}"
    return _above(total, parts)


def _words(amounts: Sequence[Amount]) -> str:
    return " + ".join(
        f"{one.analyte} {'' if one.detected else '<'}{plain(one.upper if one.upper is not None else one.lower)}"
        for one in amounts
    )


def _told(check: str, rule: Any, sample: str, marked_ones: Sequence[Amount], observed: str, reason: str) -> list[Finding]:
    made = []
    for one in marked_ones:
        action = rule.action(detected=one.detected)
        made.append(
            Finding(
                check,
                sample,
                one.analyte,
                "a total and its parts agree within their printed figures",
                observed,
                ACTIONS[action],
                marked(action),
                reason,
                rule.basis,
                (one.row_id,) if marked(action) else (),
            )
        )
    return made
