"""What stands around every picture: title, whose data of which run, the caution, and columns of lines that flow over sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from screening.decision.contents import STALE, Contents
from screening.outputs.pictures.labels import Box
from screening.outputs.pictures.letters import cut, width, wrap
from screening.outputs.pictures.svg import FAINT, INK, PAPER, Element, box, line, words

LETTER = (792.0, 612.0)
"""A letter sheet on its side, in points; it also fits A4, at 97 %."""
EDGE = 26.0
LINE = 10.2
"""From one line of 8 points to the next."""


def whole_caution(contents: Contents) -> str:
    """The caution of the recommendation."""
    return str(contents.answer["recommendation"]["caution"])


def head(contents: Contents, title: str, told: Iterable[str], across: float = LETTER[0]) -> tuple[list[Element], float]:
    """Title, lines below it, and the data state; also where the next thing can begin."""
    room = across - 2 * EDGE
    drawn = [words(EDGE, EDGE + 12, cut(title, room, 13, True), 13, True)]
    y = EDGE + 25
    for text in told:
        drawn.append(words(EDGE, y, cut(text, room), 8))
        y += LINE
    if contents.stale:
        text = STALE.upper()[:5] + STALE[5:]
        drawn += [
            box(EDGE, y - 6, width(text, 8.5, True) + 10, 14, fill=INK),
            words(EDGE + 5, y + 4, text, 8.5, True, fill=PAPER),
        ]
        y += 16
    return drawn, y


@lru_cache(maxsize=2)
def about(contents: Contents) -> list[str]:
    """Whose data, which run, which levels: the two lines below a title."""
    answer, site = contents.answer, contents.site.site
    days = sorted({item["sampled_at"][:10] for item in answer["outcomes"] if item["sampled_at"]})
    sampled = f"; sampled {days[0]}" + (f" to {days[-1]}" if days[-1] != days[0] else "") if days else ""
    levels = ", ".join(f"{one['table']} of {one['version']}" for one in answer["levels"])
    return [
        f"{site.name} (site {site.id}, {site.place}){sampled}",
        f"run {answer['run']}, data state {answer['data']}, drawn as of {contents.today.isoformat()}; levels: {levels or 'none'}",
    ]


def foot(contents: Contents, across: float = LETTER[0], high: float = LETTER[1]) -> tuple[list[Element], float]:
    """The caution along the lower edge; also where the room above it ends."""
    lines = wrap(whole_caution(contents), across - 2 * EDGE, 8)
    top = high - EDGE - LINE * len(lines)
    drawn = [line(EDGE, top, across - EDGE, top, stroke=FAINT, stroke_width=0.5)]
    drawn += [words(EDGE, top + 9 + LINE * at, text, 8) for at, text in enumerate(lines)]
    return drawn, top - 6


def brief_foot(contents: Contents, y: float, across: float = LETTER[0]) -> tuple[list[Element], float]:
    """The caution's first sentence below what is drawn; also how high the whole picture becomes."""
    text = whole_caution(contents).partition(". ")[0] + "."
    lines = wrap(text, across - 2 * EDGE, 8)
    drawn = [line(EDGE, y, across - EDGE, y, stroke=FAINT, stroke_width=0.5)]
    drawn += [words(EDGE, y + 10 + LINE * at, row, 8) for at, row in enumerate(lines)]
    return drawn, y + 10 + LINE * len(lines) + EDGE - 10


@dataclass(frozen=True)
class Entry:
    """A line of a list: a sign in front (drawn by the caller's hand), words that may take several lines."""

    text: str
    sign: str = ""
    number: int | None = None
    bold: bool = False
    most: int = 4

    def lines(self, room: float) -> list[str]:
        """Its words, broken."""
        return wrap(self.text, room - self.indent, 8, self.bold, self.most) or [""]

    @property
    def indent(self) -> float:
        """How far its words stand in."""
        return (13.0 if self.sign else 0.0) + (17.0 if self.number is not None else 0.0)


def flow(entries: Sequence[Entry], columns: Sequence[Box]) -> tuple[list[tuple[Entry, float, float, float]], list[Entry]]:
    """Entries with the place of their first baseline and the room they have; those for which there was no room."""
    placed: list[tuple[Entry, float, float, float]] = []
    waiting = list(entries)
    for column in columns:
        y = column.y + 8
        while waiting:
            entry = waiting[0]
            lines = entry.lines(column.width)
            if y + LINE * (len(lines) - 1) + 2 > column.y + column.height:
                break
            if entry.bold and len(waiting) > 1 and y + LINE * 2 > column.y + column.height:
                break  # a heading stays with what it heads
            placed.append((entry, column.x, y, column.width))
            y += LINE * len(lines) + (2.5 if entry.bold else 1)
            waiting.pop(0)
    return placed, waiting
