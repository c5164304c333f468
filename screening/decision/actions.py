"""What to do so that nothing stays open: which sample, which analyte, which limit to ask of the laboratory, each once."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from screening.closure.findings import Gap
from screening.screen.outcomes import Outcome
from screening.store.snapshot import WaitingRow


def actions(
    outcomes: Sequence[Outcome], waiting: Sequence[WaitingRow], asked: Sequence[str], gaps: Sequence[Gap]
) -> tuple[str, ...]:
    """The acts that would close open outcomes, held rows, requests not answered and gaps; alike ones are one act."""
    acts = _of_outcomes([item for item in outcomes if item.outcome == "open"])
    if waiting:
        acts.append(f"decide the {len(waiting)} row{'' if len(waiting) == 1 else 's'} held back: screening held list")
    if asked:
        acts.append("ask the laboratory for what the custody record asked for: screening custody match")
    return tuple(dict.fromkeys([*acts, *(gap.action for gap in gaps)]))


def _of_outcomes(items: Sequence[Outcome]) -> list[str]:
    grouped: dict[str, list[str]] = {}
    for item in items:
        grouped.setdefault(_act(item), []).append(item.sample_id)
    return [act.replace("{samples}", ", ".join(dict.fromkeys(samples))) for act, samples in grouped.items()]


def _act(item: Outcome) -> str:
    if "only the total is reported" in item.because:
        return f"have {{samples}} analysed for {item.analyte} itself"
    if not item.detected and item.limit and item.level_normal and Decimal(item.limit) > Decimal(item.level_normal):
        return f"ask the laboratory for a limit of at most {item.level} {item.level_unit} for {item.analyte} in {{samples}}"
    return f"settle {item.analyte} in {{samples}}: {item.because}"
