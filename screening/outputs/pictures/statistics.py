"""Pictures of statistics: the distribution of an analyte with the limit of its mean, and the trend of a well."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal
from statistics import median
from typing import Any

from scipy import stats

from screening.decision.contents import Contents
from screening.decision.sample_groups import Group, One, groups_of
from screening.decision.statistics import LIMIT_OF_MEAN, NO_RULE, NOT_ALLOWED, TREND
from screening.outputs.pictures.axes import LogAxis, PlainAxis, log_axis, upward
from screening.outputs.pictures.frame import EDGE, LETTER, LINE, about, brief_foot, head
from screening.outputs.pictures.labels import Box, Room
from screening.outputs.pictures.letters import width, wrap
from screening.outputs.pictures.signs import SIGNS, below, mark
from screening.outputs.pictures.svg import FAINT, INK, Element, box, line, sheet, slug, words
from screening.outputs.pictures.wells import panel, series
from screening.screen.statistics.order_statistics import positions

Told = Mapping[str, Any]
HIGH, TEXT = 330.0, 272.0
PERCENTS = (1, 5, 10, 25, 50, 75, 90, 95, 99)
ANSWERS = {True: "met", False: "NOT met", None: "open"}
ALIKE = ("table", "version", "medium", "fraction", "location", "level")
YEAR = 365.25
MOST_TRENDS = 4


def distributions(contents: Contents, document: Told) -> list[str]:
    """A picture of each group of a document of `statistics` for which a rule allows a test, or of which a limit could be worked out
    and that is no series of rounds."""
    made = []
    for at, group in enumerate(groups_of(contents.answer, {document["analyte"].casefold()}, "medium")):
        tests = _tests(document, group)
        allowed, worked_out = any(one["allowed"] for one in tests), any(one["limit"] for one in tests)
        if any(one.counts for one in group.samples) and (allowed or (worked_out and not _rounds(group))):
            made.append(distribution(contents, document, group, f"distribution-{slug(document['analyte'])}-{at + 1}"))
    return made


def distribution(contents: Contents, document: Told, group: Group, name: str = "distribution") -> str:
    """The samples of a group on probability paper, with their level, their mean and its limit; words beside it."""
    tests = _tests(document, group)
    shown = next((one for one in tests if one["allowed"] and one["limit"]), None) or next(
        (one for one in tests if one["limit"]), None
    )
    title = _title(document, group, shown)
    drawn, y = head(contents, title, about(contents))
    allowed = any(one["allowed"] for one in tests)
    if not allowed:
        drawn.append(words(EDGE, y + 2, f"{NOT_ALLOWED[0].upper()}{NOT_ALLOWED[1:]}.", 9, True))
        y += 14
    kind, stated = _kind(document, group)
    left, right = EDGE + 46, LETTER[0] - EDGE - TEXT - 16
    drawn += _paper(contents, document, group, kind, shown, Box(left, y + 18, right - left, HIGH - 40))
    drawn += _text(document, group, tests, stated, Box(LETTER[0] - EDGE - TEXT, y + 4, TEXT, HIGH))
    y += HIGH + 14
    x = EDGE
    for sign, text in (
        ("exceeds", "exceeds"),
        ("open", "open"),
        ("does_not_exceed", "does not exceed"),
        ("no_level", "no level"),
    ):
        drawn += [mark(sign, x + 4, y - 3, 7), words(x + 11, y, text)]
        x += width(text) + 20
    drawn += [
        below(x + 4, y - 6, 7, FAINT, turned=True),
        words(x + 12, y, "not detected: its limit, at the place that its rank gives it"),
    ]
    y += 8
    for part in wrap(document["caution"], LETTER[0] - 2 * EDGE):
        y += LINE
        drawn.append(words(EDGE, y, part))
    foot, high = brief_foot(contents, y + 6)
    described = f"{title}. {'' if allowed else NOT_ALLOWED + '. '}{_counts(group)}. " + " ".join(
        f"{one['name'].replace('_', ' ')}: {_said(one)}." for one in tests if one["limit"]
    )
    return sheet(name, LETTER[0], high, title, described[:4000], [*drawn, *foot])


def _title(document: Told, group: Group, shown: Told | None) -> str:
    where = f"{document['analyte']}{', ' + group.fraction if group.fraction else ''} in {group.medium.replace('_', ' ')}"
    if shown is None:
        return f"{where}: no limit of the mean could be worked out"
    side = {True: "does not exceed", False: "exceeds", None: "beside"}[shown["holds"]]
    return f"{where}: limit of the mean {shown['limit']} {group.unit} {side} {group.printed}"


def _tests(document: Told, group: Group) -> list[Told]:
    """The tests of a group: those that the rule allows, else the limit of the mean alone."""
    key = (group.table, group.version, group.medium, group.fraction, group.place, group.printed)
    own = [one for one in document["tests"] if one["name"] != TREND and tuple(one[part] for part in ALIKE) == key]
    return [one for one in own if one["allowed"]] or [one for one in own if one["name"] == LIMIT_OF_MEAN]


def _rounds(group: Group) -> bool:
    """Whether the samples are rounds of the same places rather than places of one round."""
    return len(group.samples) >= 3 * len({one.location for one in group.samples})


def _described(document: Told, group: Group) -> Told:
    key = (group.table, group.version, group.medium, group.fraction, group.place, group.printed)
    return next((one for one in document["groups"] if tuple(one[part] for part in ALIKE) == key), {})


def _kind(document: Told, group: Group) -> tuple[str, str]:
    """Normal or lognormal paper: the first that no test rejects, lognormal where all are; with the words for it."""
    tested = _described(document, group).get("distributions", ())
    for kind in ("normal", "lognormal"):
        own = [one for one in tested if one["distribution"] == kind]
        if own and not any(one["rejects"] for one in own):
            return kind, f"{kind} not rejected by {', '.join(one['test'] for one in own)}: drawn on {kind} paper"
    return (
        "lognormal",
        "neither normal nor lognormal is shown to fit: drawn on lognormal paper"
        if tested
        else "too few detections to test a distribution",
    )


def _paper(contents: Contents, document: Told, group: Group, kind: str, shown: Told | None, at: Box) -> list[Element]:
    observed = group.observed
    level = float(group.level) if group.level is not None else None
    limit = float(shown["limit"]) if shown and shown["limit"] else None
    estimate = float(shown["estimate"]) if shown and shown["estimate"] else None
    numbers = [*observed.values, *(one for one in (level, limit, estimate) if one is not None)]
    top, bottom = at.y, at.y + at.height
    up: LogAxis | PlainAxis
    if kind == "lognormal" and min(observed.values) > 0:
        up = log_axis(numbers, bottom, top, least=(min(one for one in numbers if one > 0), max(numbers)))
    else:
        up = PlainAxis(min(0.0, *numbers), max(numbers) * 1.06 or 1.0, bottom, top)
    edge = max(2.5, float(stats.norm.ppf(1 - 0.4 / observed.n)))
    flat = PlainAxis(-edge, edge, at.x, at.x + at.width)
    drawn = [*upward(up, at.x, at.x + at.width, f"{group.unit}" + (" (logarithmic axis)" if isinstance(up, LogAxis) else ""))]
    for percent in PERCENTS:
        x = flat.at(float(stats.norm.ppf(percent / 100)))
        drawn += [
            line(x, top, x, bottom, stroke="#C9CED4", stroke_width=0.4),
            words(x, bottom + 9.5, str(percent), 8, text_anchor="middle"),
        ]
    drawn.append(
        words(
            at.x + at.width / 2, bottom + 20, f"percent of samples not above, {kind} paper", 8, fill=FAINT, text_anchor="middle"
        )
    )
    drawn.append(box(at.x, top, at.width, at.height, stroke=INK, stroke_width=0.6))
    room = Room(Box(at.x + 1, top + 1, at.width - 2, at.height - 2))
    dots, boxes = _dots(contents, document, group, flat, up)
    for one in boxes:
        room.take(one)
    lines: list[tuple[float, str, dict[str, str | float]]] = []
    if level is not None:
        lines.append((level, f"level {group.printed}", {"stroke_width": 1.8}))
    if limit is not None and shown:
        lines.append(
            (limit, f"limit of the mean {shown['limit']} {group.unit}", {"stroke_width": 1.2, "stroke_dasharray": "7 3"})
        )
    if estimate is not None and shown:
        lines.append((estimate, f"mean {shown['estimate']} {group.unit}", {"stroke_width": 1, "stroke_dasharray": "1.5 2.5"}))
    for value, _, style in lines:
        drawn.append(line(at.x, up.at(value), at.x + at.width, up.at(value), **style))
        room.avoid([(at.x, up.at(value)), (at.x + at.width, up.at(value))])
    for value, text, _ in lines:
        anchor = Box(at.x + 8, up.at(value) - 1, at.width - 16, 2)
        found = room.place(anchor, width(text), LINE - 1, 42)
        if found:
            room.put(anchor, found[0])
            drawn.append(words(found[0].x, found[0].y + 7.4, text))
    return [*drawn, *dots]


def _dots(
    contents: Contents, document: Told, group: Group, flat: PlainAxis, up: LogAxis | PlainAxis
) -> tuple[list[Element], list[Box]]:
    outcomes = {
        item["sample_id"]: str(item["outcome"])
        for source in ("outweighed", "outcomes")
        for item in contents.answer.get(source, ())
        if (item["analyte"], item["table"], item["medium"], item["fraction"])
        == (document["analyte"], group.table, group.medium, group.fraction)
    }
    waiting: dict[tuple[float, bool], list[One]] = {}
    for one in group.samples:
        if one.bounds.upper is not None:
            waiting.setdefault((float(one.bounds.upper), one.censored), []).append(one)
    drawn: list[Element] = []
    boxes: list[Box] = []
    for value, position, hidden in positions(group.observed):
        sample = waiting[value, hidden].pop(0)
        x, y = flat.at(float(stats.norm.ppf(min(max(position, 0.001), 0.999)))), up.at(value)
        sign = outcomes[sample.sample_id]
        boxes.append(Box(x - 4, y - 4, 8, 12 if hidden else 8))
        title = f"{sample.sample_id}: {'<' if hidden else ''}{sample.bounds.upper} {group.unit}, {SIGNS[sign].words}"
        if hidden:
            drawn.append(below(x, y, 7, SIGNS[sign].colour, turned=True))
        if not hidden or sign == "open":
            drawn.append(mark(sign, x, y, 7, title))
    return drawn, boxes


def _counts(group: Group) -> str:
    counts = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in group.outcomes.items())
    return f"{len(group.samples)} samples, {group.detected} detected; sample by sample: {counts}"


def _said(one: Told) -> str:
    amount = f"{one['limit']} {one['unit']}" if one["limit"] else ""
    answer = ANSWERS[one["passes"]] if one["allowed"] else ""
    return "; ".join(filter(None, (amount, answer, one["note"])))


def _text(document: Told, group: Group, tests: Sequence[Told], stated: str, at: Box) -> list[Element]:
    """What the numbers say, in the words of the statistics themselves."""
    parts: list[tuple[str, bool, int]] = [(_counts(group), True, 3), (stated, False, 4)]
    parts += [(note, False, 4) for note in group.notes]
    for one in tests:
        parts += [(one["name"].replace("_", " "), True, 1), (_said(one), False, 12)]
        parts += [(one["citation"], False, 3)] if one["citation"] else []
    outliers = _described(document, group).get("outliers") or []
    parts += [(f"outliers flagged, none removed: {', '.join(outliers)}", False, 3)] if outliers else []
    drawn: list[Element] = []
    y = at.y + 8
    for text, bold, most in parts:
        for part in wrap(text, at.width, 8, bold, most):
            if y > at.y + at.height:
                return drawn
            drawn.append(words(at.x, y, part, 8, bold))
            y += LINE
        y += 3
    return drawn


def trends(contents: Contents, document: Told) -> list[str]:
    """A picture of each trend that the test shows, the surest first, at most so many; the series hold the other wells."""
    shown = [one for one in document["trends"] if one["direction"] != "not shown"]
    shown.sort(key=lambda one: (Decimal(one["p_one_sided"]), one["location"]))
    return [
        trend(contents, document, one, f"trend-{slug(document['analyte'])}-{at}")
        for at, one in enumerate(shown[:MOST_TRENDS], start=1)
    ]


def trend(contents: Contents, document: Told, one: Told, name: str = "trend") -> str:
    """The rounds of a well with the level, and the slope of Theil and Sen where the test shows a trend; words beside it."""
    found = next(
        each for each in series(contents)
        if (each.location, each.analyte, each.fraction, each.medium) == (one["location"], document["analyte"], one["fraction"], one["medium"])
    )  # fmt: skip
    shown = one["direction"] != "not shown" and one["slope_a_year"] is not None
    title = f"{found.name}: " + (
        f"{one['direction']} by {one['slope_a_year']} {one['unit']} a year" if shown else "no trend is shown"
    )
    drawn, y = head(contents, title, about(contents))
    points = [
        (day, float(Decimal(item["upper"])))
        for day, item in found.rounds
        if item["upper"] is not None and item["version"] == one["version"]
    ]
    drawn += panel(
        found, Box(EDGE, y + 4, LETTER[0] - 2 * EDGE, 260), _slope(points, float(one["slope_a_year"])) if shown else ()
    )
    y += 282
    slope = (
        f"slope {one['slope_a_year']} ({one['slope_low']} to {one['slope_high']}) {one['unit']} a year; "
        if one["slope_a_year"]
        else ""
    )
    told = (
        f"{NO_RULE[0].upper()}{NO_RULE[1:]}. Mann-Kendall: {one['rounds']} rounds, {one['detected']} detected, S {one['s']}, one-sided p {one['p_one_sided']}: "
        f"{one['direction']}; {slope}{one['note']}"
    )
    for text in (told.rstrip("; "), one["citation"], document["caution"]):
        for part in wrap(text, LETTER[0] - 2 * EDGE):
            drawn.append(words(EDGE, y, part))
            y += LINE
        y += 2
    foot, high = brief_foot(contents, y)
    return sheet(name, LETTER[0], high, title, f"{told}. {one['citation']}"[:4000], [*drawn, *foot])


def _slope(points: Sequence[tuple[dt.date, float]], a_year: float) -> list[tuple[dt.date, float]]:
    """The line of Theil and Sen through the middle of the days and of the amounts."""
    days = [day.toordinal() for day, _ in points]
    middle, amount = median(days), median(value for _, value in points)
    first, last = min(days), max(days)
    steps = [first + (last - first) * at // 40 for at in range(41)]
    return [(dt.date.fromordinal(day), amount + a_year * (day - middle) / YEAR) for day in dict.fromkeys(steps)]
