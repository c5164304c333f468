"""What the closure report must hold: each entry of the place's list and of common practice, held or missing, and checks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from screening.closure.deadlines import Deadline, Verdict
from screening.closure.events import day_of, first_known
from screening.closure.library import GENERAL, Library, Taken
from screening.closure.rules import PaperRow, RuleFile
from screening.closure.situation import signs
from screening.site.records import Paper
from screening.site.site_file import SiteFile


@dataclass(frozen=True)
class Entry:
    """One thing that the report must hold. ``applies`` is None where no run decides yet."""

    document: str
    item: str
    held: bool
    papers: tuple[str, ...]
    applies: bool | None
    citation: str
    transcription: str
    answer_with: str
    because: str = ""


@dataclass(frozen=True)
class Check:
    """A question on papers and dates: passes is None where a fact is missing."""

    what: str
    passes: bool | None
    text: str


def entries(site: SiteFile, library: Library, taken: Taken, verdict: Verdict, custody_held: bool) -> list[Entry]:
    """Every entry of the lists taken, and of common practice beside them."""
    files = list(taken.files)
    if all(file.name != GENERAL for file in files):
        files.append(library.general("papers"))
    return [_entry(site, file, row, verdict, custody_held) for file in files for row in file.rows]


def _entry(site: SiteFile, file: RuleFile, row: PaperRow, verdict: Verdict, custody_held: bool) -> Entry:
    key = f"{file.name}/{row.id}"
    papers = [
        _named(paper) for paper in site.paper if (paper.kind in row.kinds and paper.kind != "narrative") or key in paper.answers
    ]
    if "custody_record" in row.kinds and custody_held:
        papers.append("custody record in the store or the site file")
    if "atmosphere_log" in row.kinds and site.atmosphere:
        papers.append(f"{len(site.atmosphere)} readings in the site file")
    kinds = [kind for kind in row.kinds if kind != "narrative"]
    answer = " or ".join([*(f'[[paper]] kind = "{kind}"' for kind in kinds[:1]), f'answers = ["{key}"]'])
    applies = _applies(site, row, verdict)
    return Entry(row.document, row.item, bool(papers), tuple(papers), applies, row.citation, row.status, answer, row.note)


def _named(paper: Paper) -> str:
    parts = [paper.title or paper.kind.replace("_", " "), paper.number, paper.date.isoformat() if paper.date else ""]
    return " ".join(part for part in parts if part)


def _applies(site: SiteFile, row: PaperRow, verdict: Verdict) -> bool | None:
    if row.applies == "triggered":
        return {"triggered": True, "not_triggered": False}.get(verdict.status or "")
    hauled = site.quantities.hauled_cubic_yards
    facts = {
        "always": True,
        "removed": any(tank.closure == "removed" for tank in site.tank),
        "in_place": any(tank.closure == "in_place" for tank in site.tank),
        "free_product": "free_product" in signs(site),
        "soil_hauled": bool(hauled) or any(paper.kind == "soil_disposal" for paper in site.paper),
    }
    return facts[row.applies]


def checks(site: SiteFile, deadlines: Sequence[Deadline]) -> list[Check]:
    """The contractor's certificate on the day of the work, and notices in time."""
    work = first_known(site, ("work_begun", "removed", "filled"))
    day = day_of(work[1]) if work else None
    made = [_certificate(paper, day) for paper in site.paper if paper.kind == "contractor_certificate"]
    for one in deadlines:
        if one.applies and one.span.endswith("before"):
            passes = {"met": True, "overdue": False}.get(one.status)
            told = one.note if one.due is None or one.note else f"due by {one.due}"
            due = f", due by {one.due}" if one.due else ""
            made.append(Check(one.what, passes, f"{one.what}{due}: {one.status}{'; ' + told if told else ''} ({one.citation})"))
    return made


def _certificate(paper: Paper, day: dt.date | None) -> Check:
    what = "contractor's certificate in force on the day of the work"
    name = _named(paper)
    if day is None:
        return Check(what, None, f"{name}: the day of the work is not stated in [events]")
    if paper.valid_until is None:
        return Check(what, None, f"{name}: valid_until is not stated")
    if day > paper.valid_until or (paper.valid_from is not None and day < paper.valid_from):
        span = f"{paper.valid_from or '...'} to {paper.valid_until}"
        return Check(what, False, f"{name}: good from {span}, the work was on {day}")
    return Check(what, True, f"{name}: good until {paper.valid_until}, the work was on {day}")
