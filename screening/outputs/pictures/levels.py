"""Results against their levels: one row an analyte, each result divided by its level on a logarithmic axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from screening.decision.contents import Contents
from screening.decision.words import amount_text
from screening.outputs.pictures.axes import LogAxis, across, log_axis
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, about, brief_foot, head
from screening.outputs.pictures.letters import cut
from screening.outputs.pictures.places import Told
from screening.outputs.pictures.signs import RANK, SIGNS, below, mark
from screening.outputs.pictures.svg import FAINT, Element, box, group, line, sheet, words

ROW, HIGH_ROW, DOT = 13.0, 24.0, 7.0
"""From one row to the next, that of rows whose dots must stand above each other, the size of a dot."""
MANY = 40
"""Results of a row from which its dots stand above each other."""
NAME, LEVEL, START, END = EDGE, 172.0, 262.0, 672.0
NEAR = (0.95, 1.05)
"""Where rounding and the comparison sign decide (own choice)."""


@dataclass(frozen=True)
class Row:
    """The outcomes of an analyte in one medium against one table; ``outweighed`` are the other sides of duplicate pairs."""

    medium: str
    analyte: str
    table: str
    items: tuple[Told, ...]
    outweighed: tuple[Told, ...] = ()

    @property
    def sign(self) -> str:
        """Its gravest outcome."""
        return min((str(item["outcome"]) for item in self.items), key=RANK.__getitem__)

    @property
    def measured(self) -> bool:
        """Whether any of its outcomes has a level: none has one that is not listed, or whose table was read only in part."""
        return any(item["level"] and item["outcome"] != "no_level" for item in self.items)

    @property
    def highest(self) -> Decimal:
        """The highest ratio among the results of the gravest outcome."""
        return max((Decimal(item["ratio"] or 0) for item in self.items if item["outcome"] == self.sign), default=Decimal(0))


def rows(contents: Contents) -> list[Row]:
    """The rows, by medium and worst first; those without any level last."""
    found: dict[tuple[str, str, str], list[Told]] = {}
    beside: dict[tuple[str, str, str], list[Told]] = {}
    for source, into in ((contents.answer["outcomes"], found), (contents.answer.get("outweighed", ()), beside)):
        for item in source:
            name = f"{item['analyte']}, {item['fraction']}" if item["fraction"] else item["analyte"]
            into.setdefault((item["medium"], name, item["table"]), []).append(item)
    made = [Row(*key, tuple(items), tuple(beside.get(key, ()))) for key, items in found.items()]
    return sorted(made, key=lambda row: (row.medium != "soil", row.medium, RANK[row.sign], -row.highest, row.analyte, row.table))


def dot_plot(contents: Contents) -> str:
    """The first sheet of the dot plot: soil where there is any, as many rows as fit, the worst first."""
    return dot_plots(contents)[0]


def dot_plots(contents: Contents) -> list[str]:
    """Every sheet: a medium begins a new one."""
    made = rows(contents)
    values = [float(item["ratio"]) for row in made for item in row.items if item["ratio"]]
    sheets: list[str] = []
    high = HIGH_ROW if any(len(row.items) > MANY for row in made) else ROW
    for medium in dict.fromkeys(row.medium for row in made) or [""]:
        with_level = [row for row in made if row.medium == medium and row.measured]
        without = [row for row in made if row.medium == medium and not row.measured]
        axis = log_axis(values, START, END)
        parts = _parts(with_level, without, high)
        for at, (measured, listed) in enumerate(parts):
            name = f"levels-{medium or 'none'}" + (f"-{at + 1}" if at else "")
            title = _title(medium, with_level, without) + (f" (sheet {at + 1} of {len(parts)})" if len(parts) > 1 else "")
            sheets.append(_sheet(contents, name, title, measured, listed, axis, high))
    return sheets


def _parts(measured: Sequence[Row], listed: Sequence[Row], high: float) -> list[tuple[Sequence[Row], Sequence[Row]]]:
    """The rows with and without a level, dealt out to sheets of a letter's height."""
    parts: list[tuple[Sequence[Row], Sequence[Row]]] = []
    while measured or listed or not parts:
        room = LETTER[1] - 150
        fits = int(room // high)
        spare = room - high * min(len(measured), fits) - (56 if measured else 0)
        more = max(0, int(spare // LINE)) if len(measured) <= fits else 0
        if measured and more < len(listed) <= room // LINE:  # whole on the next sheet, instead of its last few lines
            more = 0
        parts.append((measured[:fits], listed[:more]))
        measured, listed = measured[fits:], listed[more:]
    return parts


def _title(medium: str, with_level: Sequence[Row], without: Sequence[Row]) -> str:
    over = sum(row.sign == "exceeds" for row in with_level)
    unsure = sum(row.sign == "open" for row in (*with_level, *without))
    lead = f"{medium.replace('_', ' ').capitalize()}: " if medium else ""
    said = [f"{over} of {len(with_level)} analytes with a level {'exceeds' if over == 1 else 'exceed'} it somewhere" if over
            else f"none of {len(with_level)} analytes with a level is shown to exceed it"]  # fmt: skip
    if unsure:
        said.append(f"{unsure}{' more' if over else ''} {'is' if unsure == 1 else 'are'} open")
    unlisted = sum(row.sign == "no_level" for row in without)
    if unlisted:
        said.append(f"{unlisted} have no level" if unlisted > 1 else "1 has no level")
    text = lead + "; ".join(said)
    return text[0].upper() + text[1:]


def _sheet(
    contents: Contents, name: str, title: str, measured: Sequence[Row], listed: Sequence[Row], axis: LogAxis, high: float
) -> str:
    drawn, y = head(contents, title, about(contents))
    if measured:
        begin, end = y + 16, y + 16 + high * len(measured)
        drawn += [
            words(NAME, begin - 5, "analyte", 8, True), words(LEVEL, begin - 5, "level", 8, True),
            words(END + 10, begin - 5, "exceed, open, of all", 8, True),
            box(axis.at(NEAR[0]), begin, axis.at(NEAR[1]) - axis.at(NEAR[0]), end - begin, fill="#E4E7EB"),
            *across(axis, begin, end, "result divided by its level (logarithmic axis)"),
            line(axis.at(1), begin - 3, axis.at(1), end, stroke_width=1.6),
            words(axis.at(1), begin - 5, "level", 8, True, text_anchor="middle"),
        ]  # fmt: skip
        for at, row in enumerate(measured):
            drawn += _row(row, begin + high * (at + 0.5), axis, high)
        y = end + 22
    if listed:
        y += 14
        drawn.append(
            words(
                NAME, y, "Without a level in the tables used (a level that is not listed or not available is not a pass)", 8, True
            )
        )
        for row in listed:
            y += LINE
            drawn += _unlisted(row, y)
    drawn += _key(y + 18)
    foot, high = brief_foot(contents, y + 18 + LINE * 2)
    described = "; ".join(_told(row) for row in (*measured, *listed))
    whole = f"Results divided by their levels. {described}. The tables of the report hold the same results."[:4000]
    return sheet(name, LETTER[0], high, title, whole, [*drawn, *foot])


def _row(row: Row, y: float, axis: LogAxis, high: float) -> list[Element]:
    first = next(item for item in row.items if item["level"])
    counts = [sum(item["outcome"] == kind for item in row.items) for kind in ("exceeds", "open")]
    levels = dict.fromkeys(f"{item['level']} {item['level_unit']}" for item in row.items if item["level"])
    level = next(iter(levels)) if len(levels) == 1 else f"{len(levels)} levels"
    told = f"{counts[0] or '-'}, {counts[1] or '-'}, {len(row.items)}"
    drawn = [
        words(NAME, y + 2.8, cut(row.analyte, LEVEL - NAME - 6, 8, row.sign == "exceeds"), 8, row.sign == "exceeds"),
        words(LEVEL, y + 2.8, cut(level, START - LEVEL - 8), 8), words(END + 10, y + 2.8, told, 8),
        line(axis.start, y, axis.end, y, stroke="#C9CED4", stroke_width=0.4),
    ]  # fmt: skip
    drawn += [_tick(axis.at(other), y) for other in _others(first) if axis.low <= other <= axis.high]
    by_ratio = sorted(row.items, key=lambda item: (Decimal(item["ratio"] or 0), item["sample_id"]))
    up = {id(item): (at * 3 % 7 - 3) / 6 * (high - DOT) if high > ROW else 0.0 for at, item in enumerate(by_ratio)}
    for item in sorted(row.items, key=lambda item: -RANK[item["outcome"]]):
        drawn += _dot(item, y + up[id(item)], axis)
    for item in row.outweighed:
        mate = next((one for one in row.items if one["location"] == item["location"] and one["ratio"]), None)
        if mate and item["ratio"]:
            drawn.append(line(axis.at(float(item["ratio"])), y, axis.at(float(mate["ratio"])), y, stroke=FAINT, stroke_width=1.4))
    return [group(drawn, _told(row), data_analyte=row.analyte)]


def _others(item: Told) -> list[float]:
    """Levels of other rows of the law for the same result, as multiples of its own, where they can be laid on its axis."""
    own = _amount(item["level"])
    same = [one["level"] for one in item["beside"] if not one["governs"] and one["level_unit"] == item["level_unit"]]
    found = [amount for text in same if (amount := _amount(text)) is not None]
    return sorted({float(amount / own) for amount in found if amount != own}) if own else []


def _amount(text: str | None) -> Decimal | None:
    """A printed level above zero as a number; None where the law prints a word."""
    try:
        number = Decimal((text or "").replace(",", ""))
    except ArithmeticError:
        return None
    return number if number.is_finite() and number > 0 else None


def _tick(x: float, y: float) -> Element:
    return line(x, y - 4.5, x, y + 4.5, stroke=FAINT, stroke_width=1, stroke_dasharray="2 1")


def _dot(item: Told, y: float, axis: LogAxis) -> list[Element]:
    if not item["ratio"]:
        return []
    x = axis.at(float(item["ratio"]))
    drawn = [] if item["detected"] else [below(x, y, DOT, SIGNS[item["outcome"]].colour)]
    if item["detected"] and item["lower"] != item["upper"] and item["level_normal"] and Decimal(item["level_normal"]) > 0:
        low = axis.at(float(Decimal(item["lower"] or 0) / Decimal(item["level_normal"])))
        drawn.append(line(low, y, x, y, stroke=FAINT, stroke_width=2.5))
    if item["detected"] or item["outcome"] != "does_not_exceed":
        title = f"{item['sample_id']}: {amount_text(item, flag=True)}, {item['ratio']} × level"
        drawn.append(mark(item["outcome"], x, y, DOT, title))
    return drawn


def _unlisted(row: Row, y: float) -> list[Element]:
    return [
        mark(row.sign, NAME + 4, y - 3, 8), words(NAME + 12, y, cut(row.analyte, LEVEL - NAME + 60), 8),
        words(START, y, cut(_detections(row), LETTER[0] - EDGE - START), 8),
    ]  # fmt: skip


def _detections(row: Row) -> str:
    seen = [item for item in row.items if item["detected"]]
    if not seen:
        return f"not detected in {len(row.items)}"
    highest = max(seen, key=lambda item: Decimal(item["value"] or 0))
    return f"detected in {len(seen)} of {len(row.items)}, highest {amount_text(highest, flag=True)} at {highest['location']}"


def _told(row: Row) -> str:
    if not row.measured:
        return f"{row.analyte}: {SIGNS[row.sign].words}, {_detections(row)}"
    counts = {kind: sum(item["outcome"] == kind for item in row.items) for kind in SIGNS}
    told = [f"{count} {SIGNS[kind].words}" for kind, count in counts.items() if count]
    return f"{row.analyte}: {', '.join(told)}, highest {row.highest} × level"


def _key(y: float) -> list[Element]:
    drawn: list[Element] = []
    x = NAME
    parts: list[tuple[list[Element], str, float]] = [
        ([mark("exceeds", x + 4, y - 3, DOT)], "exceeds", 60), ([mark("open", 0, y - 3, DOT)], "open", 46),
        ([mark("does_not_exceed", 0, y - 3, DOT)], "does not exceed", 84),
        ([below(0, y - 3, DOT, SIGNS["does_not_exceed"].colour)], "not detected: its limit, the truth lies to the left", 196),
        ([line(-6, y - 3, 4, y - 3, stroke=FAINT, stroke_width=2.5)], "a sum: from its lower to its upper bound", 172),
        ([_tick(0, y - 3)], "level of another condition", 120),
    ]  # fmt: skip
    parts[0] = ([mark("exceeds", 0, y - 3, DOT)], "exceeds", 52)
    for signs, text, wide in parts:
        drawn += [group(signs, transform=f"translate({x + 8:.1f} 0)"), words(x + 15, y, text, 8)]
        x += wide
    drawn.append(words(NAME, y + LINE, f"Shaded: {NEAR[0]:g} to {NEAR[1]:g}, look at rounding and the comparison sign. What lies beyond the axis stands at its end. Grey bar with an end: the other sample of a duplicate pair.", 8))  # fmt: skip
    return drawn
