"""Clocks of the place and of the site file: start event, due date, whether it applies on a verdict, where it stands."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from screening.closure.events import day_of, first_known, local, unknown_events, written
from screening.closure.library import Taken
from screening.closure.rules import UNREAD, DeadlineRow
from screening.closure.situation import release_found, signs
from screening.closure.spans import end_of_span
from screening.site.parts import Moment
from screening.site.site_file import SiteFile

VERDICT = {
    "triggered": "only where corrective action is triggered",
    "clean": "clean closures only",
    "suspected": "only where a release is suspected or found",
    "free_product": "only where free product was found",
    "groundwater": "only where groundwater is contaminated",
    "removed": "only where a tank is removed",
    "in_place": "only where a tank stays in place",
    "stockpile": "only where soil is heaped on the site",
    "temporary": "only for temporary closure",
    "event": "only where its event happens",
}


@dataclass(frozen=True)
class Verdict:
    """What the clocks take from a run: its recommendation, and whether it shows contaminated groundwater."""

    run: str | None
    status: str | None
    groundwater: bool = False


@dataclass(frozen=True)
class Deadline:
    """One clock. ``due`` is None where its event is unknown or it has no date; ``applies`` is None where no run decides."""

    what: str
    due: str | None
    counted_from: str
    span: str
    applies: bool | None
    because: str
    status: str
    citation: str
    transcription: str
    to: str
    rule_file: str
    note: str


def clocks(site: SiteFile, taken: Taken, verdict: Verdict, today: dt.date) -> tuple[list[Deadline], list[str]]:
    """Every clock, the dated and applicable ones first, and notes."""
    zone = ZoneInfo(site.site.time_zone) if site.site.time_zone else None
    products = {product for tank in site.tank for product in (tank.product, *tank.previous_products)}
    rows = [
        (file.name, row) for file in taken.files for row in file.rows if not row.products or products & set(row.products)
    ]  # fmt: skip
    rows += [("site file", row) for row in _own(site)]
    made = [_clock(site, name, row, verdict, today, zone) for name, row in rows]
    rank = {True: 0, None: 1, False: 2}
    made.sort(key=lambda one: (rank[one.applies], one.due is None, one.due or "", one.what))
    notes = [f"deadline rules: {', '.join(file.name for file in taken.files) or 'none'} ({taken.because})"]
    notes += [f"{file.name}: {text}" for file in taken.files for text in (file.incomplete, file.note) if text]
    notes.append("a deadline that is not listed may exist all the same: only what was read or recalled is stored")
    notes += unknown_events(site)
    if zone is None:
        notes.append("the site file states no time_zone: hours are counted on the clock times as written")
    return made, notes


def _own(site: SiteFile) -> list[DeadlineRow]:
    made = []
    for number, clock in enumerate(site.clock, start=1):
        unit, span = next(
            (name, value)
            for name, value in (("days", clock.days), ("hours", clock.hours), ("months", clock.months), ("years", clock.years))
            if value is not None
        )
        made.append(
            DeadlineRow.read(
                {
                    "id": f"clock-{number}",
                    "what": clock.what,
                    "counted_from": (clock.counted_from,),
                    "span": span,
                    "unit": unit,
                    "before": clock.before,
                    "applies": clock.applies,
                    "citation": clock.citation,
                    "status": "read",
                    "source": "the site file",
                    "met_by": (clock.met_by,) if clock.met_by else (),
                }
            )
        )
    return made


def _clock(site: SiteFile, name: str, row: DeadlineRow, verdict: Verdict, today: dt.date, zone: ZoneInfo | None) -> Deadline:
    applies, because = _applies(site, row, verdict)
    notes = [row.note.rstrip(".")] if row.note else []
    if row.status in UNREAD:
        notes.append(f"{UNREAD[row.status]}; check it")
    due: Moment | None = None
    events = " or ".join(event.replace("_", " ") for event in row.counted_from)
    counted, status = events or "no event: a duty without a date", "undated" if not row.counted_from else "unknown"
    start = first_known(site, row.counted_from)
    if start is not None and row.span is not None:
        begin = local(start[1], zone)
        counted = f"{start[0].replace('_', ' ')}, {written(begin)}"
        due = end_of_span(start[1], row.span, row.unit, before=row.before, zone=zone)
        status, more = _standing(site, row, due, today, zone)
        notes += more
        if row.unit == "hours" and not isinstance(start[1], dt.datetime):
            notes.append("the event states no time: counted from the first moment of its day")
        if row.unit == "working_days":
            notes.append("Saturdays and Sundays are left out; holidays are not known here")
        elif day_of(due).weekday() > 4 and row.unit != "hours":
            notes.append(f"a {day_of(due):%A}; no rule that moves it was read")
        if row.counted_from and start[0] != row.counted_from[0]:
            notes.append(f"{row.counted_from[0].replace('_', ' ')} is not stated: counted from {start[0].replace('_', ' ')}")
    elif row.counted_from:
        notes.append(f"no clock: the event {events} is not stated in [events]")
    if applies is False and status in ("running", "overdue"):
        status = "does_not_apply"
    if row.or_agency:
        notes.append("the agency may set another time")
    return Deadline(
        row.what, written(due) if due is not None else None, counted, _span_text(row), applies, because, status, row.citation,
        "as the site file states" if name == "site file" else row.status, row.to, name, "; ".join(notes),
    )  # fmt: skip


def _span_text(row: DeadlineRow) -> str:
    if row.span is None:
        return ""
    unit = row.unit.replace("_", " ")
    return f"{row.span} {unit[:-1] if row.span == 1 else unit} {'before' if row.before else 'after'}"


def _standing(site: SiteFile, row: DeadlineRow, due: Moment, today: dt.date, zone: ZoneInfo | None) -> tuple[str, list[str]]:
    done = first_known(site, row.met_by)
    if done is not None:
        at = local(done[1], zone)
        late = _after(at, due)
        told = f"{done[0].replace('_', ' ')} {written(at)}"
        if late:
            days = (day_of(at) - day_of(due)).days
            return "overdue", [f"done late: {told}" + (f", {days} day{'' if days == 1 else 's'} after" if days else "")]
        return "met", [told]
    if row.at_least:
        return ("running" if today <= day_of(due) else "met"), []
    return ("overdue" if today > day_of(due) else "running"), []


def _after(done: Moment, due: Moment) -> bool:
    """Whether one moment is later; by the day where either states no time."""
    if isinstance(done, dt.datetime) and isinstance(due, dt.datetime) and (done.tzinfo is None) == (due.tzinfo is None):
        return done > due
    return day_of(done) > day_of(due)


def _applies(site: SiteFile, row: DeadlineRow, verdict: Verdict) -> tuple[bool | None, str]:
    """Whether a clock applies, and why; None where no run, or an undecided one, leaves it open."""
    word = VERDICT.get(row.applies, "")
    facts: dict[str, bool] = {
        "removed": any(tank.closure == "removed" for tank in site.tank),
        "in_place": any(tank.closure == "in_place" for tank in site.tank),
        "stockpile": bool(site.stockpile),
        "temporary": first_known(site, ("temporary_closure",)) is not None,
        "event": first_known(site, row.counted_from) is not None,
        "free_product": "free_product" in signs(site),
    }
    if row.applies == "always":
        return True, "always"
    if row.applies in facts:
        holds = facts[row.applies]
        return holds, word if holds else f"{word} - does not apply"
    decided = verdict.status in ("triggered", "not_triggered")
    if row.applies == "suspected" and release_found(site):
        return True, word
    if row.applies == "groundwater" and verdict.groundwater:
        return True, word
    if not decided:
        of = f"run {verdict.run} is undetermined" if verdict.run else "the site has no run yet"
        return None, f"{word}; {of}"
    holds = (verdict.status == "not_triggered") == (row.applies == "clean") and row.applies != "groundwater"
    return holds, word if holds else f"{word} - does not apply"
