"""The grid of quality checks: samples down, checks across, the worst samples first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from screening.decision.contents import Contents
from screening.decision.review_site import STATES
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, about, brief_foot, head
from screening.outputs.pictures.letters import cut, width, wrap
from screening.outputs.pictures.signs import mark
from screening.outputs.pictures.svg import FAINT, INK, PAPER, Element, box, circle, group, line, sheet, words
from screening.outputs.texts import natural

WORDS = {
    "rejected": "rejected", "not_detected_at_limit": "not detected at its limit", "open": "open", "biased_low": "likely too low",
    "biased_high": "likely too high", "estimated": "estimated", "note": "told, not marked", "ok": "fine", "partly": "looked at in part", "not_checked": "not checked",
}  # fmt: skip
ROW, SIZE, NAME = 11.5, 8.0, 118.0
UNMARKED = ("ok", "partly", "not_checked", "note")
FULL, GAP = 36, 40.0
"""Samples below each other, and the room between two blocks of them."""
MOST_BLOCKS, WIDE, TIGHT = 3, 42.0, 14.0
"""Blocks side by side, and from one check to the next at most and at least."""


def grid(contents: Contents) -> str:
    """The first sheet of the grid."""
    return grids(contents)[0]


def grids(contents: Contents) -> list[str]:
    """The grid, so many samples a sheet; the worst first."""
    found = contents.review["grid"]
    checks = [
        name for name in (found[0]["checks"] if found else {}) if any(row["checks"][name] != "not_checked" for row in found)
    ]
    rank = {state: at for at, state in enumerate(STATES)}
    rows = sorted(found, key=lambda row: (sorted(rank[state] for state in row["checks"].values()), natural(row["sample_id"])))
    clean = sum(not _marked(row) for row in rows)
    title = f"Quality checks: {len(rows) - clean} of {len(rows)} samples {'bears' if len(rows) - clean == 1 else 'bear'} a mark"
    unchecked = [name for name in (found[0]["checks"] if found else {}) if name not in checks]
    blocks, step = _blocks(len(rows), len(checks))
    full = FULL * blocks
    parts = [rows[at : at + full] for at in range(0, len(rows), full)] or [[]]
    return [
        _sheet(
            contents,
            f"checks-{at}",
            title + (f" (sheet {at} of {len(parts)})" if len(parts) > 1 else ""),
            part,
            checks,
            step,
            unchecked,
        )
        for at, part in enumerate(parts, start=1)
    ]


def _blocks(rows: int, checks: int) -> tuple[int, float]:
    """How many blocks stand side by side, and from one check to the next."""
    room = LETTER[0] - 2 * EDGE
    for blocks in range(min(MOST_BLOCKS, -(-rows // FULL)), 1, -1):
        step = (room / blocks - GAP - NAME) / max(1, checks)
        if step >= TIGHT:
            return blocks, min(WIDE, step)
    return 1, min(WIDE, (room - NAME - GAP) / max(1, checks))


def _marked(row: dict[str, Any]) -> bool:
    return any(state not in UNMARKED for state in row["checks"].values())


def _sheet(
    contents: Contents,
    name: str,
    title: str,
    rows: Sequence[dict[str, Any]],
    checks: Sequence[str],
    step: float,
    unchecked: Sequence[str],
) -> str:
    edition = contents.review["edition"]
    told = f"review edition {edition['edition']} of {edition['version']}" if edition.get("edition") else "no review edition"
    drawn, y = head(contents, title, [*about(contents), told])
    slant = max((width(check.replace("_", " ")) for check in checks), default=0) * 0.75
    y += slant + 4
    for block in range(0, len(rows), FULL):
        left = EDGE + block // FULL * (NAME + step * len(checks) + GAP)
        drawn += _block(rows[block : block + FULL], checks, left, y, step)
    y += ROW * min(len(rows), FULL) + 16
    x = EDGE
    for state, text in WORDS.items():
        if state != "not_checked":
            drawn += [cell(state, x + 5, y - 3, ""), words(x + 13, y, text)]
            x += width(text) + 24
    drawn.append(words(x, y, "blank: not checked"))
    if unchecked:
        y += LINE
        text = f"Not checkable with what was delivered: {', '.join(check.replace('_', ' ') for check in unchecked)}"
        for row in wrap(text, LETTER[0] - 2 * EDGE):
            drawn.append(words(EDGE, y, row))
            y += LINE
        y -= LINE
    foot, high = brief_foot(contents, y + 8)
    return sheet(name, LETTER[0], high, title, _described(rows), [*drawn, *foot])


def _block(rows: Sequence[dict[str, Any]], checks: Sequence[str], left: float, y: float, step: float) -> list[Element]:
    """Samples below each other, under the names of the checks."""
    drawn: list[Element] = []
    for at, check in enumerate(checks):
        x = left + NAME + step * (at + 0.5)
        drawn.append(words(x - 2, y - 3, check.replace("_", " "), 8, transform=f"rotate(-48 {x - 2:.2f} {y - 3:.2f})"))
    for number, row in enumerate(rows):
        at_y = y + ROW * (number + 0.5)
        if number % 2 == 0:
            drawn.append(box(left, at_y - ROW / 2, NAME + step * len(checks), ROW, fill="#F3F4F6"))
        marked = _marked(row)
        drawn.append(words(left + 2, at_y + 2.8, cut(row["sample_id"], NAME - 6, 8, marked), 8, marked))
        cells = [
            cell(row["checks"][check], left + NAME + step * (at + 0.5), at_y, f"{row['sample_id']}, {check.replace('_', ' ')}")
            for at, check in enumerate(checks)
        ]
        drawn.append(group(cells, data_sample=row["sample_id"]))
    return drawn


def cell(state: str, x: float, y: float, of: str) -> Element:
    """The sign of a state, around a point; nothing where a check did not look."""
    half = SIZE / 2
    if state == "rejected":
        drawn = [
            box(x - half, y - half, SIZE, SIZE, fill=INK), line(x - 2, y - 2, x + 2, y + 2, stroke=PAPER, stroke_width=1.2),
            line(x - 2, y + 2, x + 2, y - 2, stroke=PAPER, stroke_width=1.2),
        ]  # fmt: skip
    elif state == "open":
        drawn = [mark("open", x, y, SIZE)]
    elif state in _LETTERS:
        drawn = [words(x, y + 3.2, _LETTERS[state], 9, True, text_anchor="middle")]
    elif state == "note":
        drawn = [circle(x, y, half * 0.55, stroke=FAINT, stroke_width=0.9)]
    elif state == "partly":
        drawn = [line(x - 2.2, y, x + 2.2, y, stroke_width=1.1)]
    elif state == "ok":
        drawn = [circle(x, y, 1.1, fill=INK)]
    else:
        drawn = []
    return group(drawn, f"{of}: {WORDS[state]}" if of and drawn else "", data_state=state)


_LETTERS = {"not_detected_at_limit": "<", "biased_low": "↓", "biased_high": "↑", "estimated": "~"}


def _described(rows: Sequence[dict[str, Any]]) -> str:
    told = [
        f"{row['sample_id']}: "
        + ", ".join(
            f"{check.replace('_', ' ')} {WORDS[state]}"
            for check, state in row["checks"].items()
            if state not in ("ok", "partly", "not_checked")
        )
        for row in rows
        if any(state not in ("ok", "partly", "not_checked") for state in row["checks"].values())
    ]
    return (
        f"Samples by quality checks. {'; '.join(told) or 'Nothing was found'}. The findings stand in the tables of the report."[
            :4000
        ]
    )
