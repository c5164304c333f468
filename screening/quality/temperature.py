"""Temperature on receipt: warm coolers, by what is analysed and in which material."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from screening.normal.values import read_number
from screening.quality.editions import Edition, Rule
from screening.quality.findings import ACTIONS, Checked, Finding, marked
from screening.quality.shown import counted, plain
from screening.quality.sorts import media_class, sorts_of

if TYPE_CHECKING:
    import duckdb

CHECK = "temperature"

_FOUND = """
SELECT sample_id, analyte, method, medium, received_temperature, detected, list(row_id ORDER BY row_id)
FROM known WHERE class = 'result' AND list_contains($warm, received_temperature)
GROUP BY ALL ORDER BY sample_id, analyte, detected
"""
_TEXTS = "SELECT DISTINCT received_temperature FROM known WHERE class = 'result'"
_SAMPLES = """
SELECT sample_id, bool_or(list_contains($read, received_temperature)), bool_and(list_contains($read, received_temperature))
FROM known WHERE class = 'result' GROUP BY sample_id
"""


def degrees(text: str) -> Decimal | None:
    """The number of a delivered temperature; None where it cannot be read, or is not in degrees Celsius."""
    bare = text.strip().rstrip(".").removesuffix("C").removesuffix("c").rstrip("°º ").removesuffix("deg").strip()
    found = read_number(bare, ".")
    return found.number if bare and found.problem is None else None


def picked(edition: Edition, analyte: str, method: str, medium: str, warmth: Decimal) -> Rule | None:
    """The criterion that this temperature breaks: of the group's own rows, else of all groups; the highest passed."""
    ways = [group for way in sorts_of(analyte, method) for group in way]
    rules = [rule for rule in edition.rules("temperature") if rule["media"] in ("any", media_class(medium))]
    own = [rule for rule in rules if rule["group"] in ways]
    fitting = own or [rule for rule in rules if not rule["group"]]
    broken = [rule for rule in fitting if warmth > rule.needed("above")]
    return max(broken, key=lambda rule: rule.needed("above"), default=None)


def check_temperature(connection: duckdb.DuckDBPyConnection, edition: Edition) -> Checked:
    """Every result with a temperature on receipt. Reads ``known``."""
    done = Checked(CHECK)
    texts = {row[0]: degrees(row[0]) for row in connection.execute(_TEXTS).fetchall()}
    lowest = min(rule.needed("above") for rule in edition.rules("temperature"))
    warm = [text for text, number in texts.items() if number is not None and number > lowest]
    for sample, analyte, method, medium, text, detected, rows in connection.execute(_FOUND, {"warm": warm}).fetchall():
        warmth = texts[text]
        rule = picked(edition, analyte, method, medium, warmth) if warmth is not None else None
        action = rule.action(detected=detected) if rule is not None else "none"
        if rule is None or action == "none":
            continue
        done.findings.append(
            Finding(
                CHECK,
                sample,
                analyte,
                f"not above {plain(rule.needed('above'))} °C on receipt",
                f"{text} °C" if "C" not in text else text,
                ACTIONS[action],
                marked(action),
                "warm",
                rule.basis,
                tuple(rows) if marked(action) else (),
            )
        )
    samples = connection.execute(_SAMPLES, {"read": [text for text, number in texts.items() if number is not None]}).fetchall()
    done.samples = {sample for sample, given, _ in samples if given}
    done.partly = {sample for sample, given, all_given in samples if given and not all_given}
    done.looked_at = f"temperature on receipt of {counted(len(done.samples), 'sample')}" if done.samples else ""
    if len(done.samples) < len(samples) or not samples:
        some = "" if not done.samples else f" of {len(samples) - len(done.samples)} of {len(samples)} samples"
        done.not_checkable.append(f"the deliverables hold no temperature on receipt{some}")
    unread = sorted(text for text, number in texts.items() if text and number is None)
    if unread:
        done.not_checkable.append(f"no temperature in degrees Celsius: {', '.join(repr(text) for text in unread[:3])}")
    return done
