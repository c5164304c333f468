"""The recommendation: triggered, not triggered or undetermined, with its reasons and what is still open."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal

from screening.closure.assess import Assessment
from screening.decision.actions import actions
from screening.decision.reviewed import review_notes
from screening.decision.words import amount_text, place_text
from screening.screen.outcomes import Outcome
from screening.site.site_file import SiteFile
from screening.store.snapshot import WaitingRow

CAUTION = (
    "A screening aid for the decision of a licensed professional, who must read the current rule: levels, deadlines and "
    "local codes may differ from what is stored here. It does not say that a place is safe to enter, dig, heat or drink "
    "from. Treat tank, pit and product as an explosive atmosphere until a qualified person has measured it; shore, slope "
    "and locate utilities before anyone enters an excavation; where drinking water may be reached, tell the agency and "
    "the well owners without waiting for further results."
)
"""Printed with every recommendation."""

BEFORE_COVERAGE = ("free_product", "sheen")
"""Signs that triggered in runs made before the rules of the place were read; those runs are made again as they were."""


@dataclass(frozen=True)
class Reason:
    """Why the status is what it is: kind is exceedance, field_sign, open, held or gap."""

    kind: str
    text: str


@dataclass(frozen=True)
class Recommendation:
    """status is triggered, not_triggered or undetermined; open_items are listed whatever the status.

    ``actions`` are the smallest set of acts that would close them, each once.
    """

    status: str
    reasons: tuple[Reason, ...]
    open_items: tuple[Reason, ...]
    notes: tuple[str, ...]
    actions: tuple[str, ...] = ()
    caution: str = CAUTION


def recommend(
    site: SiteFile,
    outcomes: Sequence[Outcome],
    waiting: Sequence[WaitingRow],
    gaps: Sequence[str] = (),
    closure: Assessment | None = None,
    near_times: Decimal | None = None,
) -> Recommendation:
    """Join chemistry, field signs and gaps. Anything open, held or missing rules out 'not triggered'.

    ``gaps`` are what the store knows to be missing (asked for on a custody record and not delivered); ``closure`` is
    what the rules of the place make of the site, None for a run made before they were read; ``near_times`` is how near
    the level a biased value is named.
    """
    heaps = set(closure.coverage.out_of_the_ground) if closure else set()
    causes = [Reason("exceedance", _exceedance(item, heaps)) for item in outcomes if item.outcome == "exceeds"]
    if closure is None:
        signs = [sign for sign in site.field.signs if sign in BEFORE_COVERAGE]
        causes += [Reason("field_sign", f"{sign.replace('_', ' ')} was seen in the field") for sign in signs]
    else:
        causes += [Reason("field_sign", seen.text) for seen in closure.signs if seen.triggers]
    unsettled = [Reason("open", _open(item)) for item in outcomes if item.outcome == "open"]
    unsettled += [
        Reason("held", f"{row.file}, {_sheet(row)}row {row.row}: {row.sample_id} {row.analyte} is held back: {row.reason}")
        for row in waiting
    ]
    own = _gaps(site, outcomes, closure is None)
    found = [gap.text for gap in closure.gaps] if closure else []
    unsettled += [Reason("gap", text) for text in (*own, *gaps, *found)]
    if causes:
        status = "triggered"
    elif unsettled:
        status = "undetermined"
    else:
        status = "not_triggered"
    notes = [*_notes(outcomes), *review_notes(outcomes, near_times)]
    if closure is not None:
        notes += [seen.text for seen in closure.signs if not seen.triggers and seen.gap is None]
        notes += closure.coverage.offered
    acts = actions(outcomes, waiting, gaps, closure.gaps if closure else ())
    return Recommendation(status, tuple(causes or unsettled), tuple(unsettled), tuple(notes), acts)


def _sheet(row: WaitingRow) -> str:
    return f"sheet '{row.sheet}', " if row.sheet else ""


def _exceedance(item: Outcome, heaps: Collection[str]) -> str:
    told = vars(item)
    heap = "; soil taken out, not soil that remains" if item.sample_id in heaps else ""
    return (
        f"{item.analyte} {amount_text(told, flag=True)} in {item.medium.replace('_', ' ')} at {place_text(told)} is "
        f"{item.ratio or 'above'} times the level {item.level} {item.level_unit} of {item.table}{heap}"
    )


def _open(item: Outcome) -> str:
    told = vars(item)
    return f"{item.analyte} {amount_text(told)} in {item.medium.replace('_', ' ')} at {place_text(told)}: {item.because}"


def _gaps(site: SiteFile, outcomes: Sequence[Outcome], water_too: bool) -> list[str]:
    gaps = []
    if not any(item.outcome in ("exceeds", "does_not_exceed") for item in outcomes):
        gaps.append("no result could be compared with a level")
    if water_too and site.field.groundwater_met and not any(item.medium == "groundwater" for item in outcomes):
        gaps.append("groundwater was met, and no groundwater result is there")
    return gaps


def _notes(outcomes: Sequence[Outcome]) -> list[str]:
    unlisted = [item for item in outcomes if item.outcome == "no_level" and item.detected]
    if not unlisted:
        return []
    one = len(unlisted) == 1
    return [
        f"{len(unlisted)} detected result{'' if one else 's'} {'has' if one else 'have'} no level in this set; a level not listed is not a pass"
    ]
